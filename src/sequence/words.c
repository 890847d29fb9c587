/* words.c - see words.h. */
#include "sequence/words.h"

#include "trade/calc.h"
#include "trade/units.h"

#include <stdint.h>
#include <string.h>

static const bw_word words[] = {
    {"sequence", true, "title engine edition document revision invented torque_unit rule", NULL},
    {"caution", true, "id say why after when", NULL},
    {"confirm", true, "id say why after when position moves since most buries", NULL},
    {"note", true, "id say why after when", NULL},
    {"ask", true, "id say why after when answers", NULL},
    {"wait", true, "id say why after when since least", NULL},
    {"choose", true, "id say why after when row column parts of stock within", NULL},
    {"fit", true, "id say why after when position moves since most buries part to marks as", NULL},
    {"forbid", true, "say why from to", NULL},
    {"group", true,
     "name say thread class joint lubricant washers new_each_time reuse reuse_check cycles places order reversed "
     "mirrored document revision",
     NULL},
    {"measure", true,
     "id say why gauge temperature after when position moves buries readings derive", NULL},
    {"tighten", true,
     "id say why group after when position moves since most buries trial continues order reversed stages due",
     NULL},
    {"grid", false, "rows columns dx dy labels", NULL},
    {"circle", false, "n diameter labels", NULL},
    {"places", false, "", "places such as {label = \"1\", x = mm(0), y = mm(0)}"},
    {"labels", false, "", "labels such as \"1 left\""},
    {"points", false, "", "lists of labels such as {\"top\", \"foot\"}"},
    {"reading", false, "id say unit decimals at plausible repeats spread", NULL},
    {"value", false, "id say formula of unit decimals low high when_low when_high", NULL},
    {"torque", false, "low high within least_turn again above_prevailing document revision",
     "the torque, such as Nm(60)"},
    {"torque_angle", false, "snug low high within floor ceiling above_prevailing document revision",
     "the angle, such as deg(90)"},
    {"angle", false, "low high within floor ceiling from above_prevailing document revision",
     "the angle, such as deg(90)"},
    {"back_off", false, "low high within until_loose document revision",
     "the angle, such as deg(90)"},
    {"yield", false, "share snug low high most_turn above_prevailing document revision", NULL},
    {"stretch", false, "low high within about ceiling document revision",
     "the growth, such as mm(0.15)"},
    {"slot", false, "low high slots above_prevailing document revision", NULL},
    {"check", false, "low high most_turn above_prevailing document revision", NULL},
    {"prevailing", false, "low high least_turn document revision", NULL},
    {"rotating", false, "low high least_turn document revision", NULL},
    {"creep", false, "low high least_turn document revision", NULL},
};

static const char *const lua_names[] = {
    "assert", "both",     "error",    "getmetatable", "ipairs", "math",         "pairs",
    "pcall",  "rawequal", "rawlen",   "require",      "select", "setmetatable", "string",
    "table",  "to",       "tonumber", "tostring",     "type",   "utf8",
};

const bw_word *bw_word_at(size_t index) {
    return index < sizeof words / sizeof words[0] ? &words[index] : NULL;
}

const bw_word *bw_word_find(const char *word) {
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++) {
        if (strcmp(words[i].word, word) == 0) {
            return &words[i];
        }
    }
    return NULL;
}

const char *bw_lua_name_at(size_t index) {
    return index < sizeof lua_names / sizeof lua_names[0] ? lua_names[index] : NULL;
}

const char *bw_name_in(const char *names, size_t index, size_t *len) {
    for (size_t i = 0; *names != '\0'; i++) {
        *len = strcspn(names, " ");
        if (i == index) {
            return names;
        }
        names += *len + strspn(names + *len, " ");
    }
    return NULL;
}

bool bw_name_among(const char *names, const char *name) {
    size_t len = 0;
    const char *known = NULL;
    for (size_t i = 0; (known = bw_name_in(names, i, &len)) != NULL; i++) {
        if (strlen(name) == len && memcmp(name, known, len) == 0) {
            return true;
        }
    }
    return false;
}

/* ---- nearest ---- */

void bw_nearest_offer_names(bw_nearest *nearest, const char *names) {
    size_t len = 0;
    const char *name = NULL;
    for (size_t i = 0; (name = bw_name_in(names, i, &len)) != NULL; i++) {
        bw_nearest_offer(nearest, name, len);
    }
}

void bw_nearest_offer_words(bw_nearest *nearest) {
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++) {
        bw_nearest_offer(nearest, words[i].word, strlen(words[i].word));
    }
    for (bw_unit unit = BW_UNIT_NM; unit < BW_UNIT_COUNT; unit++) {
        const char *word = bw_unit_of(unit)->word;
        bw_nearest_offer(nearest, word, strlen(word));
    }
    for (size_t i = 0; bw_calc_at(i) != NULL; i++) {
        bw_nearest_offer(nearest, bw_calc_at(i)->name, strlen(bw_calc_at(i)->name));
    }
    for (size_t i = 0; i < sizeof lua_names / sizeof lua_names[0]; i++) {
        bw_nearest_offer(nearest, lua_names[i], strlen(lua_names[i]));
    }
}
