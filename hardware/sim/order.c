/* order.c - the lines that adapter-sim takes. */
#include "order.h"

#include "base/decimal.h"

#include <string.h>

enum { WORDS_MOST = 4 };

typedef struct words {
    const char *at[WORDS_MOST];
    size_t len[WORDS_MOST];
    size_t n;
} words;

static const struct {
    const char *name;
    size_t at;
} faults[] = {
    {"converter-silent", offsetof(ad_faults, converter_silent)},
    {"converter-stuck", offsetof(ad_faults, converter_stuck)},
    {"bridge-open", offsetof(ad_faults, bridge_open)},
    {"gyro-absent", offsetof(ad_faults, gyro_absent)},
    {"gyro-stuck", offsetof(ad_faults, gyro_stuck)},
    {"hang", offsetof(ad_faults, hang)},
    {"line-noise", offsetof(ad_faults, line_noise)},
    {"line-cut", offsetof(ad_faults, line_cut)},
};

static bool split(const char *line, words *out) {
    out->n = 0;
    for (line += strspn(line, " "); *line != '\0'; line += strspn(line, " ")) {
        if (out->n == WORDS_MOST) {
            return false;
        }
        out->at[out->n] = line;
        out->len[out->n] = strcspn(line, " ");
        line += out->len[out->n++];
    }
    return true;
}

static bool is(const words *from, size_t i, const char *word) {
    return strlen(word) == from->len[i] && memcmp(word, from->at[i], from->len[i]) == 0;
}

static bool number(const words *from, size_t i, double least, double most, double *out) {
    bw_decimal read;
    if (bw_decimal_parse(from->at[i], from->len[i], &read, NULL) != BW_OK || read.value < least ||
        read.value > most) {
        return false;
    }
    *out = read.value;
    return true;
}

static bool go(const words *from, ad_order *out) {
    return number(from, 1, 0, 3600, &out->for_s) && number(from, 2, -1e4, 1e4, &out->torque_Nm) &&
           number(from, 3, -1e6, 1e6, &out->turn_deg);
}

static bool speed(const words *from, ad_order *out) {
    return number(from, 1, 0, 1000, &out->speed);
}

static bool fault(const words *from, ad_order *out) {
    size_t i = 0;
    while (i < sizeof faults / sizeof faults[0] && !is(from, 1, faults[i].name)) {
        i++;
    }
    if (i == sizeof faults / sizeof faults[0] || !(is(from, 2, "0") || is(from, 2, "1"))) {
        return false;
    }
    out->fault = faults[i].at;
    out->on = is(from, 2, "1");
    return true;
}

static bool jumper(const words *from, ad_order *out) {
    out->on = is(from, 1, "1");
    return out->on || is(from, 1, "0");
}

static const struct {
    const char *word;
    size_t words;
    ad_order_kind kind;
    bool (*read)(const words *from, ad_order *out);
} orders[] = {
    {"go", 4, AD_ORDER_GO, go},
    {"speed", 2, AD_ORDER_SPEED, speed},
    {"fault", 3, AD_ORDER_FAULT, fault},
    {"brown-out", 1, AD_ORDER_BROWN_OUT, NULL},
    {"jumper", 2, AD_ORDER_JUMPER, jumper},
    {"unplug", 1, AD_ORDER_UNPLUG, NULL},
    {"plug", 1, AD_ORDER_PLUG, NULL},
    {"tell", 1, AD_ORDER_TELL, NULL},
    {"quit", 1, AD_ORDER_QUIT, NULL},
};

ad_order ad_order_read(const char *line) {
    words got;
    ad_order out = {.kind = AD_ORDER_UNKNOWN};
    if (!split(line, &got)) {
        return out;
    }
    if (got.n == 0) {
        return (ad_order){.kind = AD_ORDER_NONE};
    }
    for (size_t i = 0; i < sizeof orders / sizeof orders[0]; i++) {
        if (is(&got, 0, orders[i].word) && got.n == orders[i].words &&
            (orders[i].read == NULL || orders[i].read(&got, &out))) {
            out.kind = orders[i].kind;
        }
    }
    return out;
}
