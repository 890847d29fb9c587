/* lua_dump.c - Lua values as the bytes of wire.h.
 *
 * Tables are read raw, once, and copied: no line of script runs meanwhile, and what a table says
 * later makes no difference. */
#include "sequence/lua_sandbox.h"

#include "base/text.h"

#include <lauxlib.h>
#include <stdlib.h>
#include <string.h>

enum { HEIGHT_MAX = 8, KEY_BYTES_MAX = 200, OUT_FIRST_BYTES = 1 << 14 };

static const char inner_name[] = "bw.inner";

/* An inner node (`torque{...}`), dumped when it was made. */
typedef struct inner {
    int height;
    size_t len;
    uint8_t bytes[];
} inner;

/* ---- bytes ---- */

static void stop_output(lua_State *L, bw_sequence_limit limit) {
    bw_lua *lua = bw_lua_of(L);
    lua->host.stop(lua->host.ctx, limit, bw_lua_spot(L));
    (void)luaL_error(L, "stopped");
}

static void make_room(lua_State *L, size_t n) {
    bw_lua *lua = bw_lua_of(L);
    if (n > BW_RUN_OUTPUT_BYTES - lua->out_len) {
        stop_output(L, BW_LIMIT_OUTPUT);
    }
    if (lua->out_len + n <= lua->out_size) {
        return;
    }
    size_t size = lua->out_size == 0 ? OUT_FIRST_BYTES : lua->out_size;
    while (size < lua->out_len + n) {
        size *= 2;
    }
    uint8_t *larger = realloc(lua->out, size);
    if (larger == NULL) {
        stop_output(L, BW_LIMIT_MEMORY);
    }
    lua->out = larger;
    lua->out_size = size;
}

static void put(lua_State *L, const void *bytes, size_t n) {
    make_room(L, n);
    bw_lua *lua = bw_lua_of(L);
    if (n > 0) {
        memcpy(lua->out + lua->out_len, bytes, n);
    }
    lua->out_len += n;
}

static void put_number(lua_State *L, uint64_t value, size_t bytes) {
    uint8_t little[8];
    for (size_t i = 0; i < bytes; i++) {
        little[i] = (uint8_t)(value >> (8 * i));
    }
    put(L, little, bytes);
}

static void put_tag(lua_State *L, char tag) {
    put(L, &tag, 1);
}

static void put_double(lua_State *L, double value) {
    uint64_t bits = 0;
    memcpy(&bits, &value, sizeof bits);
    put_number(L, bits, 8);
}

static void put_text(lua_State *L, const char *text, size_t len) {
    put_number(L, len, 4);
    put(L, text, len);
}

static void put_name(lua_State *L, const char *name) {
    size_t len = strlen(name);
    put_number(L, len, 1);
    put(L, name, len);
}

static void put_spot(lua_State *L, bw_spot spot) {
    put_number(L, spot.source, 2);
    put_number(L, spot.line, 4);
}

/* ---- tables ---- */

static int higher(int a, int b) {
    return a > b ? a : b;
}

static bool is_short_key(lua_State *L, int index) {
    size_t len = 0;
    const char *text = lua_tolstring(L, index, &len);
    return len <= KEY_BYTES_MAX && strlen(text) == len;
}

/* True for the keys 1 to list_n. */
static bool is_list_key(lua_State *L, int index, lua_Integer list_n) {
    lua_Integer key = lua_isinteger(L, index) ? lua_tointeger(L, index) : 0;
    return key >= 1 && key <= list_n;
}

static int by_bytes(const void *a, const void *b) {
    return strcmp(*(const char *const *)a, *(const char *const *)b);
}

/* Pushes a block with the table's word keys, sorted; any key that has no place is described in
 * odd. */
static const char **push_words(lua_State *L, int index, lua_Integer list_n, size_t *word_n,
                               char *odd, size_t odd_size) {
    size_t n = 0;
    for (lua_pushnil(L); lua_next(L, index) != 0; lua_pop(L, 1)) {
        n++;
    }
    const char **word = lua_newuserdatauv(L, (n + 1) * sizeof *word, 0);
    *word_n = 0;
    for (lua_pushnil(L); lua_next(L, index) != 0; lua_pop(L, 1)) {
        if (lua_type(L, -2) == LUA_TSTRING && is_short_key(L, -2)) {
            word[(*word_n)++] = lua_tostring(L, -2);
        } else if (!is_list_key(L, -2, list_n)) {
            (void)bw_lua_describe(L, -2, odd, odd_size);
        }
    }
    qsort(word, *word_n, sizeof *word, by_bytes);
    return word;
}

static int dump_value(lua_State *L, int index);

/* The body of the table at index (absolute).  Each dump returns how deep its value is nested. */
static int dump_body(lua_State *L, int index) {
    luaL_checkstack(L, 8, "a table nested too deep");
    int height = 0;
    lua_Integer list_n = 0;
    while (lua_rawgeti(L, index, list_n + 1) != LUA_TNIL) {
        lua_pop(L, 1);
        list_n++;
    }
    lua_pop(L, 1);
    put_number(L, (uint64_t)list_n, 4);
    for (lua_Integer i = 1; i <= list_n; i++) {
        (void)lua_rawgeti(L, index, i);
        height = higher(height, dump_value(L, -1));
        lua_pop(L, 1);
    }
    char odd[BW_DESCRIBE_MAX] = "";
    size_t word_n = 0;
    const char **word = push_words(L, index, list_n, &word_n, odd, sizeof odd);
    put_number(L, word_n, 4);
    for (size_t i = 0; i < word_n; i++) {
        put_text(L, word[i], strlen(word[i]));
        lua_pushstring(L, word[i]);
        (void)lua_rawget(L, index);
        height = higher(height, dump_value(L, -1));
        lua_pop(L, 1);
    }
    lua_pop(L, 1);
    put_name(L, odd);
    return height + 1;
}

/* ---- values ---- */

static int dump_table(lua_State *L, int index) {
    bw_lua *lua = bw_lua_of(L);
    if (lua->dump_depth == HEIGHT_MAX) {
        put_tag(L, 'o');
        put_name(L, "table nested too deep, or in itself");
        return 0;
    }
    put_tag(L, 'T');
    lua->dump_depth++;
    int height = dump_body(L, index);
    lua->dump_depth--;
    return height;
}

static int dump_inner(lua_State *L, const inner *node) {
    if (bw_lua_of(L)->dump_depth + node->height > HEIGHT_MAX) {
        put_tag(L, 'o');
        put_name(L, "nest of words that is too deep");
        return 0;
    }
    put(L, node->bytes, node->len);
    return node->height;
}

static int dump_userdata(lua_State *L, int index) {
    const bw_lua_quantity *quantity = bw_lua_quantity_at(L, index);
    const inner *node = luaL_testudata(L, index, inner_name);
    if (node != NULL) {
        return dump_inner(L, node);
    }
    if (quantity == NULL) {
        put_tag(L, 'u');
        return 0;
    }
    put_tag(L, 'q');
    put_double(L, quantity->quantity.value);
    put_number(L, quantity->quantity.unit, 1);
    put_number(L, (uint64_t)quantity->quantity.decimals, 1);
    put_spot(L, quantity->spot);
    return 0;
}

static int dump_string(lua_State *L, int index) {
    size_t len = 0;
    const char *text = lua_tolstring(L, index, &len);
    put_tag(L, 's');
    put_text(L, text, len);
    return 0;
}

static int dump_value(lua_State *L, int index) {
    index = lua_absindex(L, index);
    switch (lua_type(L, index)) {
    case LUA_TNIL:
        put_tag(L, 'z');
        return 0;
    case LUA_TBOOLEAN:
        put_tag(L, lua_toboolean(L, index) ? 't' : 'f');
        return 0;
    case LUA_TNUMBER:
        put_tag(L, 'd');
        put_double(L, lua_tonumber(L, index));
        return 0;
    case LUA_TSTRING:
        return dump_string(L, index);
    case LUA_TTABLE:
        return dump_table(L, index);
    case LUA_TUSERDATA:
        return dump_userdata(L, index);
    default:
        put_tag(L, 'o');
        put_name(L, lua_typename(L, lua_type(L, index)));
        return 0;
    }
}

static void put_node_head(lua_State *L, const char *word, bw_spot spot) {
    put_tag(L, 'N');
    put_name(L, word);
    put_spot(L, spot);
}

int bw_dump_node(lua_State *L, const char *word, int index) {
    put_node_head(L, word, bw_lua_spot(L));
    bw_lua *lua = bw_lua_of(L);
    lua->dump_depth = 1;
    int height = dump_body(L, lua_absindex(L, index));
    lua->dump_depth = 0;
    return height;
}

void bw_dump_message(lua_State *L, const char *word, bw_spot spot, const char *text, size_t len) {
    put_node_head(L, word, spot);
    put_number(L, 1, 4);
    put_tag(L, 's');
    put_text(L, text, len);
    put_number(L, 0, 4);
    put_name(L, "");
}

void bw_dump_keep_inner(lua_State *L, size_t from, int height) {
    bw_lua *lua = bw_lua_of(L);
    size_t len = lua->out_len - from;
    inner *node = lua_newuserdatauv(L, sizeof *node + len, 0);
    node->height = height;
    node->len = len;
    memcpy(node->bytes, lua->out + from, len);
    lua->out_len = from;
    (void)luaL_newmetatable(L, inner_name);
    lua_pushboolean(L, 0);
    lua_setfield(L, -2, "__metatable");
    (void)lua_setmetatable(L, -2);
}

/* ---- keys in their fixed order ---- */

typedef struct key {
    int rank; /* numbers, words, false, true */
    bool is_integer;
    lua_Integer integer;
    lua_Number number;
    const char *text;
    size_t len;
} key;

enum { RANK_NUMBER, RANK_WORD, RANK_FALSE, RANK_TRUE };

static int compare_words(const key *a, const key *b) {
    int order = memcmp(a->text, b->text, a->len < b->len ? a->len : b->len);
    return order != 0 ? order : (a->len > b->len) - (a->len < b->len);
}

static int compare_keys(const void *left, const void *right) {
    const key *a = left;
    const key *b = right;
    if (a->rank != b->rank) {
        return a->rank - b->rank;
    }
    if (a->rank == RANK_WORD) {
        return compare_words(a, b);
    }
    if (a->number != b->number) {
        return a->number < b->number ? -1 : 1;
    }
    return (a->integer > b->integer) - (a->integer < b->integer);
}

static key read_key(lua_State *L, int index) {
    key k = {0};
    switch (lua_type(L, index)) {
    case LUA_TNUMBER:
        k.rank = RANK_NUMBER;
        k.is_integer = lua_isinteger(L, index);
        k.integer = k.is_integer ? lua_tointeger(L, index) : 0;
        k.number = lua_tonumber(L, index);
        break;
    case LUA_TSTRING:
        k.rank = RANK_WORD;
        k.text = lua_tolstring(L, index, &k.len);
        break;
    case LUA_TBOOLEAN:
        k.rank = lua_toboolean(L, index) ? RANK_TRUE : RANK_FALSE;
        break;
    default:
        (void)luaL_error(L, "a table with a %s for a key has no fixed order: use words or numbers",
                         luaL_typename(L, index));
    }
    return k;
}

static void push_key(lua_State *L, const key *k) {
    if (k->rank == RANK_WORD) {
        lua_pushlstring(L, k->text, k->len);
    } else if (k->rank != RANK_NUMBER) {
        lua_pushboolean(L, k->rank == RANK_TRUE);
    } else if (k->is_integer) {
        lua_pushinteger(L, k->integer);
    } else {
        lua_pushnumber(L, k->number);
    }
}

size_t bw_lua_push_keys(lua_State *L, int index) {
    index = lua_absindex(L, index);
    size_t n = 0;
    for (lua_pushnil(L); lua_next(L, index) != 0; lua_pop(L, 1)) {
        n++;
    }
    key *keys = lua_newuserdatauv(L, (n + 1) * sizeof *keys, 0);
    size_t i = 0;
    for (lua_pushnil(L); lua_next(L, index) != 0; lua_pop(L, 1)) {
        keys[i++] = read_key(L, -2);
    }
    qsort(keys, n, sizeof *keys, compare_keys);
    lua_createtable(L, (int)n, 0);
    for (i = 0; i < n; i++) {
        push_key(L, &keys[i]);
        lua_rawseti(L, -2, (lua_Integer)i + 1);
    }
    lua_remove(L, -2);
    return n;
}
