/* lua_driver.c - see lua_driver.h.
 *
 * The text runs once and calls driver { ... }; its functions are called later with one frame at a
 * time.  A mistake in one of them costs that frame, which is then one that was not understood: it
 * is kept, counted and told with the line of the mistake.  Text that runs on is the deadline's
 * affair. */
#include "sequence/lua_driver_int.h"

#include "base/decimal.h"
#include "base/text.h"
#include "sequence/lua_sandbox.h"

#include <lauxlib.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { READINGS_MAX = 256 };

static bw_lua_driver *of_state(const void *state) {
    bw_lua_driver *d = NULL;
    memcpy(&d, state, sizeof d);
    return d;
}

static void *allocate(void *ctx, void *block, size_t old_size, size_t size) {
    bw_lua_driver *d = ctx;
    size_t held = block == NULL ? 0 : old_size;
    if (size == 0) {
        free(block);
        d->memory_bytes -= held;
        return NULL;
    }
    if (size > held && size - held > BW_LUA_DRIVER_MEMORY - d->memory_bytes) {
        _exit(BW_LUA_DRIVER_EXIT); /* a refusal could be caught by pcall */
    }
    void *fresh = realloc(block, size);
    if (fresh != NULL) {
        d->memory_bytes = d->memory_bytes - held + size;
    }
    return fresh;
}

/* ---- calling its functions ---- */

/* What a failed call left on the stack, told and taken off. */
static void tell_error(lua_State *L, const bw_driver_host *host) {
    const char *text = lua_type(L, -1) == LUA_TSTRING ? lua_tostring(L, -1) : "stopped by error()";
    host->say(host->ctx, text);
    lua_pop(L, 1);
}

/* Pushes the declared function; false, and nothing pushed, where there is none. */
static bool push_function(lua_State *L, const char *key) {
    (void)lua_getfield(L, LUA_REGISTRYINDEX, BW_LUA_DECLARED);
    bool there = lua_getfield(L, -1, key) == LUA_TFUNCTION;
    lua_remove(L, -2);
    if (!there) {
        lua_pop(L, 1);
    }
    return there;
}

static void push_settings(lua_State *L) {
    (void)lua_getfield(L, LUA_REGISTRYINDEX, BW_LUA_DECLARED);
    (void)lua_getfield(L, -1, "settings");
    lua_remove(L, -2);
}

static bool send_text(lua_State *L, int index, const bw_driver_host *host) {
    size_t len = 0;
    const char *bytes = lua_type(L, index) == LUA_TSTRING ? lua_tolstring(L, index, &len) : NULL;
    return bytes != NULL && len > 0 && host->send(host->ctx, (const uint8_t *)bytes, len) == 0;
}

/* A number, or a text that is a plain decimal one.  False where it is neither. */
static bool number_at(lua_State *L, int index, const char *key, double *out, bool *there) {
    int type = lua_getfield(L, index, key);
    bool good = true;
    *there = type != LUA_TNIL;
    if (type == LUA_TNUMBER) {
        *out = lua_tonumber(L, -1);
        good = isfinite(*out);
    } else if (type == LUA_TSTRING) {
        size_t len = 0;
        bw_decimal value = {.value = 0};
        const char *text = lua_tolstring(L, -1, &len);
        good = bw_decimal_parse(text, len, &value, NULL) == BW_OK;
        *out = value.value;
    } else {
        good = type == LUA_TNIL;
    }
    lua_pop(L, 1);
    return good;
}

/* Its `unit`; N.m where it has none. */
static bool unit_at(lua_State *L, int index, bw_unit *out) {
    size_t len = 0;
    int type = lua_getfield(L, index, "unit");
    const char *text = type == LUA_TSTRING ? lua_tolstring(L, -1, &len) : NULL;
    *out = BW_UNIT_NM;
    bool good = type == LUA_TNIL || (text != NULL && bw_unit_find(text, len, out) &&
                                     bw_unit_of(*out)->dimension == BW_DIM_TORQUE);
    lua_pop(L, 1);
    return good;
}

/* { torque = "+0012.34", unit = "N.m", angle = 45, time = 1.2, result = true } */
static bool read_reading(lua_State *L, int index, bw_reading *out) {
    bool torque = false;
    bool angle = false;
    bool time = false;
    double value = 0;
    bw_unit unit = BW_UNIT_NM;
    *out = (bw_reading){.size = sizeof *out};
    if (!number_at(L, index, "torque", &value, &torque) || !torque || !unit_at(L, index, &unit) ||
        !number_at(L, index, "angle", &out->angle_deg, &angle) ||
        !number_at(L, index, "time", &out->time_s, &time)) {
        return false;
    }
    out->torque_Nm = bw_to_base(value, unit);
    (void)lua_getfield(L, index, "result");
    out->has = BW_HAS_TORQUE | (angle ? BW_HAS_ANGLE : 0u) | (time ? BW_HAS_TIME : 0u) |
               (lua_toboolean(L, -1) != 0 ? BW_HAS_RESULT : 0u);
    lua_pop(L, 1);
    return true;
}

/* { serial = "A47" }, with a reading or without.  True where it says who the device is. */
static bool take_serial(lua_State *L, int index, const bw_driver_host *host) {
    size_t len = 0;
    const char *serial = lua_getfield(L, index, "serial") == LUA_TSTRING
                             ? lua_tolstring(L, -1, &len)
                             : NULL;
    bool good = serial != NULL && len >= 1 && len <= 60 && strlen(serial) == len;
    if (good) {
        host->identify(host->ctx, serial);
    }
    lua_pop(L, 1);
    return good;
}

/* The answer at index: true, a reading, or a list of readings, all of them good or none taken. */
static bool take_answer(lua_State *L, int index, const bw_driver_host *host) {
    if (lua_isboolean(L, index)) {
        return lua_toboolean(L, index) != 0;
    }
    if (!lua_istable(L, index)) {
        return false;
    }
    size_t n = (size_t)lua_rawlen(L, index);
    bw_reading reading[READINGS_MAX];
    bool told = take_serial(L, index, host);
    bool bare = lua_getfield(L, index, "torque") == LUA_TNIL;
    lua_pop(L, 1);
    if (told && bare && n == 0) {
        return true;
    }
    bool good = n > 0 ? n <= READINGS_MAX : read_reading(L, index, &reading[0]);
    for (size_t i = 0; i < n && good; i++) {
        (void)lua_rawgeti(L, index, (lua_Integer)i + 1);
        good = lua_istable(L, -1) && read_reading(L, lua_gettop(L), &reading[i]);
        lua_pop(L, 1);
    }
    for (size_t i = 0; good && i < (n > 0 ? n : 1); i++) {
        host->emit(host->ctx, &reading[i]);
    }
    return good;
}

typedef struct decoding {
    const bw_driver_host *host;
    const uint8_t *bytes;
    size_t n;
    bool understood;
} decoding;

/* Protected, for even pushing the frame can run out of memory.  stack: decoding */
static int call_decode(lua_State *L) {
    decoding *job = lua_touserdata(L, 1);
    (void)push_function(L, "decode");
    (void)lua_pushlstring(L, (const char *)job->bytes, job->n);
    push_settings(L);
    lua_call(L, 2, 2);
    job->understood = take_answer(L, 2, job->host);
    (void)send_text(L, 3, job->host);
    return 0;
}

/* ---- the driver ---- */

static bw_scan lua_scan(const void *state, const uint8_t *buf, size_t len, size_t *frame_len) {
    return bw_framing_scan(&of_state(state)->framing, buf, len, frame_len);
}

/* Lines and COBS: what comes before the first end may be the tail of a frame. */
static bool passed_over(bw_lua_driver *d, const uint8_t *frame, size_t len) {
    bool ends = d->framing.kind == BW_FRAMING_LINES || d->framing.kind == BW_FRAMING_COBS;
    bool at_end = frame[len - 1] == (d->framing.kind == BW_FRAMING_COBS ? 0 : '\n') ||
                  (d->framing.kind == BW_FRAMING_LINES && frame[len - 1] == '\r');
    bool tail = ends && !d->in_step;
    d->in_step = !ends || at_end;
    return tail || (ends && at_end && len == 1);
}

static bw_decode lua_decode(void *state, const bw_driver_host *host, const uint8_t *frame,
                            size_t len) {
    bw_lua_driver *d = of_state(state);
    decoding job = {.host = host, .bytes = d->opened};
    if (passed_over(d, frame, len)) {
        return BW_DECODE_OK;
    }
    if (!d->in_step || !bw_framing_open(&d->framing, frame, len, d->opened, &job.n)) {
        return BW_DECODE_UNKNOWN;
    }
    lua_pushcfunction(d->L, call_decode);
    lua_pushlightuserdata(d->L, &job);
    if (lua_pcall(d->L, 1, 0, 0) != LUA_OK) {
        tell_error(d->L, host);
        return BW_DECODE_UNKNOWN;
    }
    return job.understood ? BW_DECODE_OK : BW_DECODE_UNKNOWN;
}

static void lua_event_of(void *state, const bw_driver_host *host, bw_device_event event) {
    static const char *const words[] = {[BW_DEVICE_OPENED] = "opened",
                                        [BW_DEVICE_SILENT] = "silent",
                                        [BW_DEVICE_LOST] = "lost",
                                        [BW_DEVICE_BROKEN] = "broken"};
    bw_lua_driver *d = of_state(state);
    d->in_step = event == BW_DEVICE_SILENT;
    if (push_function(d->L, "event")) {
        lua_pushstring(d->L, words[event]);
        if (lua_pcall(d->L, 1, 1, 0) != LUA_OK) {
            tell_error(d->L, host);
            return;
        }
        (void)send_text(d->L, -1, host);
        lua_pop(d->L, 1);
    }
}

static void lua_tick(void *state, const bw_driver_host *host, uint64_t now_ns) {
    bw_lua_driver *d = of_state(state);
    if (d->asked_ns == 0 || now_ns - d->asked_ns >= d->every_ns) {
        d->asked_ns = now_ns;
        (void)host->send(host->ctx, d->ask, d->ask_len);
    }
}

static int lua_wish(void *state, const bw_driver_host *host, const bw_wish *wish) {
    static const char *const words[] = {[BW_WISH_READ] = "read",
                                        [BW_WISH_ZERO] = "zero",
                                        [BW_WISH_TARGET] = "target",
                                        [BW_WISH_SHUNT] = "shunt"};
    bw_lua_driver *d = of_state(state);
    if (wish->kind < BW_WISH_READ || wish->kind > BW_WISH_SHUNT || !push_function(d->L, "wish")) {
        return -1;
    }
    lua_pushstring(d->L, words[wish->kind]);
    lua_pushnumber(d->L, wish->torque_Nm);
    if (lua_pcall(d->L, 2, 1, 0) != LUA_OK) {
        tell_error(d->L, host);
        return -1;
    }
    bool sent = send_text(d->L, -1, host);
    lua_pop(d->L, 1);
    return sent ? 0 : -1;
}

static const char *lua_configure(void *state, const char *key, const char *value) {
    bw_lua_driver *d = of_state(state);
    lua_State *L = d->L;
    push_settings(L);
    if (lua_getfield(L, -1, key) == LUA_TSTRING) {
        lua_pushstring(L, value);
        lua_setfield(L, -3, key);
        lua_pop(L, 2);
        return NULL;
    }
    lua_pop(L, 1);
    bw_text text = bw_text_on(d->fault, sizeof d->fault);
    bw_text_add(&text, "the driver %s has ", d->name);
    size_t n = bw_lua_push_keys(L, lua_gettop(L));
    bw_text_add(&text, n == 0 ? "no settings" : "the settings");
    for (size_t i = 0; i < n; i++) {
        (void)lua_rawgeti(L, -1, (lua_Integer)i + 1);
        bw_text_add(&text, "%s %s", i > 0 ? "," : "", lua_tostring(L, -1));
        lua_pop(L, 1);
    }
    lua_pop(L, 2);
    return d->fault;
}

/* ---- making one ---- */

/* stack: text as light userdata, len */
typedef struct source {
    const char *text;
    size_t len;
} source;

static int run(lua_State *L) {
    const source *s = lua_touserdata(L, 1);
    char name[64];
    bw_text text = bw_text_on(name, sizeof name);
    bw_text_add(&text, "=%s.lua", bw_lua_driver_of(L)->name);
    if (s->len > 0 && s->text[0] == LUA_SIGNATURE[0]) {
        return luaL_error(L, "this is compiled Lua: a driver must be text");
    }
    if (luaL_loadbufferx(L, s->text, s->len, name, "t") != LUA_OK) {
        return lua_error(L);
    }
    (void)bw_lua_driver_env(L);
    (void)lua_setupvalue(L, -2, 1);
    lua_call(L, 0, 0);
    if (!bw_lua_driver_of(L)->declared) {
        return luaL_error(L, "%s.lua has no driver { ... }", bw_lua_driver_of(L)->name);
    }
    return 0;
}

static bw_driver driver_of(const bw_lua_driver *d) {
    return (bw_driver){
        .abi = BW_DRIVER_ABI,
        .size = sizeof(bw_driver),
        .name = d->name,
        .version = d->version,
        .says = d->says,
        .source = d->source,
        .line = d->line,
        .state_size = sizeof(bw_lua_driver *),
        .frame_max = d->framing.max,
        .configure = lua_configure,
        .scan = lua_scan,
        .decode = lua_decode,
        .event = lua_event_of,
        .tick = d->ask_len > 0 ? lua_tick : NULL,
        .can = (d->framing.check != BW_CHECK_NONE ? BW_CAN_CHECKSUM : 0u) |
               (d->ask_len > 0 ? BW_CAN_ASKED : 0u) | d->can,
        .wish = lua_wish,
    };
}

bw_status bw_lua_driver_make(const char *name, const char *text, size_t len, bw_driver *out,
                             void **self, bw_err *err) {
    bw_lua_driver *d = calloc(1, sizeof *d);
    if (d != NULL) {
        d->L = lua_newstate(allocate, d);
    }
    if (d == NULL || d->L == NULL) {
        free(d);
        return bw_fail(err, BW_E_MEM, "out of memory");
    }
    (void)bw_text_copy(d->name, sizeof d->name, name);
    source s = {text, len};
    lua_pushlightuserdata(d->L, d);
    lua_setfield(d->L, LUA_REGISTRYINDEX, BW_LUA_SELF);
    lua_pushcfunction(d->L, run);
    lua_pushlightuserdata(d->L, &s);
    if (lua_pcall(d->L, 1, 0, 0) != LUA_OK) {
        const char *why = lua_type(d->L, -1) == LUA_TSTRING ? lua_tostring(d->L, -1)
                                                            : "stopped by error()";
        (void)bw_fail(err, BW_E_DATA, "%s", why);
        bw_lua_driver_free(d);
        return BW_E_DATA;
    }
    *out = driver_of(d);
    *self = d;
    return BW_OK;
}

void bw_lua_driver_free(void *self) {
    bw_lua_driver *d = self;
    if (d != NULL) {
        lua_close(d->L);
        free(d);
    }
}
