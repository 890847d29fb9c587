/* lua_declare.c - what the text of a Lua driver declares, read once.  See lua_driver.h. */
#include "sequence/lua_driver_int.h"

#include "base/decimal.h"
#include "base/text.h"
#include "sequence/lua_sandbox.h"

#include <lauxlib.h>
#include <string.h>

/* ---- what a text declares ---- */

bw_lua_driver *bw_lua_driver_of(lua_State *L) {
    (void)lua_getfield(L, LUA_REGISTRYINDEX, BW_LUA_SELF);
    bw_lua_driver *d = lua_touserdata(L, -1);
    lua_pop(L, 1);
    return d;
}

/* The text of a field of the table at 1 into out; fallback where there is none. */
static void take_text(lua_State *L, const char *key, char *out, size_t size, const char *fallback) {
    int type = lua_getfield(L, 1, key);
    const char *text = type == LUA_TSTRING ? lua_tostring(L, -1) : fallback;
    if ((type != LUA_TSTRING && type != LUA_TNIL) || text == NULL || text[0] == '\0' ||
        !bw_text_printable(text, strlen(text), false) || !bw_text_copy(out, size, text)) {
        (void)luaL_error(L, "`%s` is a line of text, at most %d bytes", key, (int)size - 1);
    }
    lua_pop(L, 1);
}

/* A whole number of a field of the table at index, fallback where there is none. */
static size_t whole_at(lua_State *L, int index, const char *key, size_t fallback, size_t most) {
    int type = lua_getfield(L, index, key);
    int whole = 0;
    lua_Integer value = lua_tointegerx(L, -1, &whole);
    lua_pop(L, 1);
    if (type == LUA_TNIL) {
        return fallback;
    }
    if (type != LUA_TNUMBER || !whole || value < 0 || (lua_Unsigned)value > most) {
        (void)luaL_error(L, "`%s` is a whole number from 0 to %d", key, (int)most);
    }
    return (size_t)value;
}

static void take_line(lua_State *L, bw_line_settings *line) {
    static const char right[] = "`line` is a speed and the bits, as in \"9600 8N1\"";
    *line = (bw_line_settings){9600, 8, 'N', 1};
    if (lua_getfield(L, 1, "line") == LUA_TSTRING) {
        const char *text = lua_tostring(L, -1);
        size_t digits = strspn(text, "0123456789");
        double baud = 0;
        bool good = bw_number_parse(text, digits, &baud, NULL) == BW_OK && baud <= 4e6 &&
                    text[digits] == ' ' && strlen(text + digits) == 4;
        if (!good) {
            (void)luaL_error(L, right);
        }
        line->baud = (uint32_t)baud;
        line->bits = (uint8_t)(text[digits + 1] - '0');
        line->parity = text[digits + 2];
        line->stops = (uint8_t)(text[digits + 3] - '0'); /* the host checks what they may be */
    } else if (!lua_isnil(L, -1)) {
        (void)luaL_error(L, right);
    }
    lua_pop(L, 1);
}

static bw_check_kind check_at(lua_State *L, int index) {
    int type = lua_getfield(L, index, "check");
    const char *word = type == LUA_TSTRING ? lua_tostring(L, -1) : "none";
    bw_check_kind check = BW_CHECK_NONE;
    while (check < BW_CHECK_COUNT && strcmp(bw_check_word(check), word) != 0) {
        check++;
    }
    lua_pop(L, 1);
    if (check == BW_CHECK_COUNT || (type != LUA_TSTRING && type != LUA_TNIL)) {
        (void)luaL_error(L, "`check` is sum8, xor8, crc16_modbus, crc16_ccitt or crc32");
    }
    return check;
}

static void take_framing(lua_State *L, int index, bw_framing *f);

/* ask { send = "READ\r", every_ms = 100, frame = lines {} } */
static void take_ask(lua_State *L, int index, bw_framing *f) {
    bw_lua_driver *d = bw_lua_driver_of(L);
    size_t len = 0;
    (void)lua_getfield(L, index, "send");
    const char *send = lua_tolstring(L, -1, &len);
    if (send == NULL || len == 0 || len > SEND_MAX) {
        (void)luaL_error(L, "ask needs what to send, 1 to %d bytes", SEND_MAX);
        return;
    }
    memcpy(d->ask, send, len);
    d->ask_len = len;
    d->every_ns = (uint64_t)whole_at(L, index, "every_ms", 100, 60000) * 1000000;
    lua_pop(L, 1);
    (void)lua_getfield(L, index, "frame");
    take_framing(L, lua_gettop(L), f);
    lua_pop(L, 1);
}

/* The table that a framing's word gave, at index. */
static void take_framing(lua_State *L, int index, bw_framing *f) {
    if (!lua_istable(L, index) || lua_getfield(L, index, "framing") != LUA_TSTRING) {
        (void)luaL_error(L, "`frame` is lines {}, fixed(8), between {...}, counted {...}, cobs {} "
                            "or ask {...}");
        return;
    }
    const char *word = lua_tostring(L, -1);
    if (strcmp(word, "ask") == 0) {
        take_ask(L, index, f);
        lua_pop(L, 1);
        return;
    }
    *f = (bw_framing){.kind = BW_FRAMING_LINES};
    while (strcmp(bw_framing_word(f->kind), word) != 0) {
        f->kind++;
    }
    lua_pop(L, 1);
    f->check = check_at(L, index);
    f->check_from = whole_at(L, index, "check_from", 0, 64);
    f->check_gap = whole_at(L, index, "check_gap", 0, 64);
    f->max = whole_at(L, index, "max", 256, BW_FRAMED_MAX);
    f->size = whole_at(L, index, "size", 0, BW_FRAMED_MAX);
    f->has_first = lua_getfield(L, index, "first") != LUA_TNIL;
    lua_pop(L, 1);
    f->first = (uint8_t)whole_at(L, index, "first", 0, 255);
    f->last = (uint8_t)whole_at(L, index, "last", 0, 255);
    f->at = whole_at(L, index, "at", 0, 64);
    f->bytes = whole_at(L, index, "bytes", 1, 2);
    f->adds = whole_at(L, index, "adds", 0, BW_FRAMED_MAX);
    (void)lua_getfield(L, index, "big_endian");
    f->big_endian = lua_toboolean(L, -1) != 0;
    lua_pop(L, 1);
    const char *fault = bw_framing_fault(f);
    if (fault != NULL) {
        (void)luaL_error(L, "%s", fault);
    }
}

static void check_function(lua_State *L, const char *key, bool must) {
    int type = lua_getfield(L, 1, key);
    if (type != LUA_TFUNCTION && (must || type != LUA_TNIL)) {
        (void)luaL_error(L, "`%s` is a function%s", key, must ? ", and must be there" : "");
    }
    lua_pop(L, 1);
}

/* Every setting has a default, a text. */
static void check_settings(lua_State *L) {
    if (lua_getfield(L, 1, "settings") == LUA_TNIL) {
        lua_newtable(L);
        lua_setfield(L, 1, "settings");
    } else if (!lua_istable(L, -1)) {
        (void)luaL_error(L, "`settings` is a table of names and their defaults");
    }
    lua_pop(L, 1);
    (void)lua_getfield(L, 1, "settings");
    lua_pushnil(L);
    while (lua_next(L, -2) != 0) {
        if (lua_type(L, -2) != LUA_TSTRING || lua_type(L, -1) != LUA_TSTRING) {
            (void)luaL_error(L,
                             "a setting's default is a text, as in settings = { unit = \"N.m\" }");
        }
        lua_pop(L, 1);
    }
    lua_pop(L, 1);
}

/* can = { "target", "resends" }: what the host cannot see by itself. */
static uint32_t take_can(lua_State *L) {
    static const struct {
        const char *word;
        uint32_t bit;
    } rows[] = {{"stream", BW_CAN_STREAM}, {"result", BW_CAN_RESULT}, {"angle", BW_CAN_ANGLE},
                {"serial", BW_CAN_SERIAL}, {"read", BW_CAN_READ},     {"zero", BW_CAN_ZERO},
                {"target", BW_CAN_TARGET}, {"shunt", BW_CAN_SHUNT},   {"resends", BW_CAN_RESENDS}};
    uint32_t can = 0;
    int type = lua_getfield(L, 1, "can");
    size_t n = type == LUA_TTABLE ? (size_t)lua_rawlen(L, -1) : 0;
    for (size_t i = 0; i < n; i++) {
        const char *word = lua_rawgeti(L, -1, (lua_Integer)i + 1) == LUA_TSTRING
                               ? lua_tostring(L, -1)
                               : "";
        size_t k = 0;
        while (k < sizeof rows / sizeof rows[0] && strcmp(rows[k].word, word) != 0) {
            k++;
        }
        type = k == sizeof rows / sizeof rows[0] ? LUA_TNONE : type;
        can |= type == LUA_TTABLE ? rows[k].bit : 0;
        lua_pop(L, 1);
    }
    if (type != LUA_TTABLE && type != LUA_TNIL) {
        (void)luaL_error(L, "`can` is a list of the words stream, result, angle, serial, read, "
                            "zero, target, shunt and resends");
    }
    lua_pop(L, 1);
    return can;
}

static void check_words(lua_State *L) {
    static const char *const words[] = {"says",     "version", "source", "line", "frame",
                                        "settings", "decode",  "event",  "wish", "can"};
    lua_pushnil(L);
    while (lua_next(L, 1) != 0) {
        const char *key = lua_type(L, -2) == LUA_TSTRING ? lua_tostring(L, -2) : "";
        size_t i = 0;
        while (i < sizeof words / sizeof words[0] && strcmp(words[i], key) != 0) {
            i++;
        }
        if (i == sizeof words / sizeof words[0]) {
            (void)luaL_error(L,
                             "a driver has no `%s`: it has says, version, source, line, frame, "
                             "settings, decode, event, wish and can",
                             key);
        }
        lua_pop(L, 1);
    }
}

/* driver { ... } */
static int declare(lua_State *L) {
    bw_lua_driver *d = bw_lua_driver_of(L);
    if (!lua_istable(L, 1) || d->declared) {
        return luaL_error(L, d->declared ? "a text has one driver { ... }"
                                         : "driver takes one table: driver { ... }");
    }
    lua_settop(L, 1);
    char from[SAYS_MAX];
    bw_text text = bw_text_on(from, sizeof from);
    bw_text_add(&text, "%s.lua", d->name);
    check_words(L);
    take_text(L, "says", d->says, sizeof d->says, NULL);
    take_text(L, "version", d->version, sizeof d->version, "1");
    take_text(L, "source", d->source, sizeof d->source, from);
    take_line(L, &d->line);
    d->can = take_can(L);
    (void)lua_getfield(L, 1, "frame");
    take_framing(L, 2, &d->framing);
    lua_settop(L, 1);
    check_settings(L);
    check_function(L, "decode", true);
    check_function(L, "event", false);
    check_function(L, "wish", false);
    lua_setfield(L, LUA_REGISTRYINDEX, BW_LUA_DECLARED);
    d->declared = true;
    return 0;
}

/* lines {}, fixed(8) ...: the table with the word in it.  Upvalue: the word. */
static int framing_word(lua_State *L) {
    lua_settop(L, 1);
    if (lua_isinteger(L, 1)) {
        lua_newtable(L);
        lua_insert(L, 1);
        lua_setfield(L, 1, "size");
    } else if (lua_isnil(L, 1)) {
        lua_newtable(L);
        lua_replace(L, 1);
    }
    luaL_checktype(L, 1, LUA_TTABLE);
    lua_pushvalue(L, lua_upvalueindex(1));
    lua_setfield(L, 1, "framing");
    return 1;
}

/* decimal("+0012,34") is 12.34; nil for anything that is no plain decimal number. */
static int read_decimal(lua_State *L) {
    size_t len = 0;
    bw_decimal value;
    const char *text = luaL_checklstring(L, 1, &len);
    if (bw_decimal_parse(text, len, &value, NULL) != BW_OK) {
        lua_pushnil(L);
    } else {
        lua_pushnumber(L, value.value);
    }
    return 1;
}

int bw_lua_driver_env(lua_State *L) {
    lua_newtable(L);
    bw_lua_add_library(L);
    lua_pushnil(L);
    lua_setfield(L, -2, "require"); /* a driver is one text */
    for (bw_framing_kind kind = 0; kind < BW_FRAMING_COUNT; kind++) {
        lua_pushstring(L, bw_framing_word(kind));
        lua_pushcclosure(L, framing_word, 1);
        lua_setfield(L, -2, bw_framing_word(kind));
    }
    lua_pushliteral(L, "ask");
    lua_pushcclosure(L, framing_word, 1);
    lua_setfield(L, -2, "ask");
    lua_pushcfunction(L, declare);
    lua_setfield(L, -2, "driver");
    lua_pushcfunction(L, read_decimal);
    lua_setfield(L, -2, "decimal");
    return 1;
}
