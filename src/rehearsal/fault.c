/* fault.c - see fault.h. */
#include "rehearsal/fault.h"

#include "base/decimal.h"
#include "base/text.h"

#include <string.h>

#define ON(kind) (1u << BW_STAGE_##kind)

/* Kinds of stages, as bits. */
enum {
    TIGHTENED = ON(TORQUE) | ON(TORQUE_ANGLE) | ON(ANGLE) | ON(YIELD) | ON(STRETCH) | ON(SLOT),
    LOADED = TIGHTENED | ON(BACK_OFF) | ON(CHECK),
    OF_FASTENERS = LOADED | ON(PREVAILING),
    OF_SHAFTS = ON(ROTATING) | ON(CREEP),
    ALL = OF_FASTENERS | OF_SHAFTS
};

static const struct {
    bw_fault_kind kind;
    bw_fault_at at;
    unsigned fits; /* which kinds of stages */
    const char *word;
    const char *says;
} rows[] = {
    {BW_FAULT_SHORT, BW_FAULT_AT_HAND, ALL, "short", "stops well below the target"},
    {BW_FAULT_OVER, BW_FAULT_AT_HAND, LOADED, "over", "passes the upper limit"},
    /* What is measured at the fastener is measured at the one that was pulled. */
    {BW_FAULT_REHIT, BW_FAULT_AT_HAND, TIGHTENED & ~ON(STRETCH), "rehit",
     "pulls one that is tight already: torque without turn"},
    {BW_FAULT_MISSED, BW_FAULT_AT_HAND, OF_FASTENERS, "missed",
     "passes over this one and pulls the next"},
    {BW_FAULT_WRONG, BW_FAULT_AT_HAND, OF_FASTENERS, "wrong", "pulls the one before once more"},
    {BW_FAULT_SPIKE, BW_FAULT_AT_HAND, ALL, "spike",
     "something knocks on the handle: one sample far too high"},
    {BW_FAULT_OVERCREPT, BW_FAULT_AT_HAND, ON(CREEP), "overcrept",
     "tightens a crush sleeve by one bit too many"},
    {BW_FAULT_DRY, BW_FAULT_AT_FASTENER, OF_FASTENERS, "dry", "no lubricant on thread and head"},
    {BW_FAULT_CROSSED, BW_FAULT_AT_FASTENER, OF_FASTENERS, "crossed",
     "crossed thread: rising, rough torque before the head is down"},
    {BW_FAULT_BOTTOMED, BW_FAULT_AT_FASTENER, OF_FASTENERS, "bottomed",
     "its end meets the bottom of the hole: steep torque, no clamping"},
    {BW_FAULT_GASKET, BW_FAULT_AT_FASTENER, OF_FASTENERS, "gasket",
     "soft gasket: a long soft start, and it relaxes"},
    {BW_FAULT_YIELDING, BW_FAULT_AT_FASTENER, OF_FASTENERS, "yielding",
     "a weaker bolt, which yields early"},
    {BW_FAULT_STRIPPED, BW_FAULT_AT_FASTENER, OF_FASTENERS, "stripped",
     "the thread gives way: torque falls while it turns on"},
    {BW_FAULT_SEIZED, BW_FAULT_AT_FASTENER, OF_FASTENERS, "seized",
     "rusted in: does not turn at all"},
    {BW_FAULT_RELAXED, BW_FAULT_AT_FASTENER, LOADED, "relaxed",
     "lets go of half its preload once the hand is off"},
    {BW_FAULT_WEAK_LOCK, BW_FAULT_AT_FASTENER, OF_FASTENERS, "weak_lock",
     "its locking feature is worn: hardly any prevailing torque"},
    {BW_FAULT_UNPLUG, BW_FAULT_AT_WRENCH, ALL, "unplug",
     "the wrench goes away in the middle of the pull"},
    {BW_FAULT_BATTERY, BW_FAULT_AT_WRENCH, ALL, "battery",
     "the wrench falls silent in the middle of the pull, until its battery is changed"},
    {BW_FAULT_NOISE, BW_FAULT_AT_WRENCH, ALL, "noise", "the wrench has twenty times its noise"},
    {BW_FAULT_LOST, BW_FAULT_AT_WRENCH, ALL, "lost", "half a second of samples never arrives"},
    {BW_FAULT_PEAK, BW_FAULT_AT_WRENCH, ALL, "peak",
     "the wrench is in peak mode: a result, no samples"},
};

enum { ROWS = sizeof rows / sizeof rows[0] };

const char *bw_fault_word(bw_fault_kind kind) {
    for (size_t i = 0; i < ROWS; i++) {
        if (rows[i].kind == kind) {
            return rows[i].word;
        }
    }
    return NULL;
}

const char *bw_fault_says(bw_fault_kind kind) {
    for (size_t i = 0; i < ROWS; i++) {
        if (rows[i].kind == kind) {
            return rows[i].says;
        }
    }
    return NULL;
}

/* A stretch of the list's text. */
typedef struct span {
    const char *at;
    size_t len;
} span;

/* Takes what stands before the first `mark` off the front of rest; all of it where there is none.
 */
static span take(span *rest, char mark) {
    const char *end = memchr(rest->at, mark, rest->len);
    span taken = {rest->at, end == NULL ? rest->len : (size_t)(end - rest->at)};
    size_t used = taken.len + (end == NULL ? 0 : 1);
    rest->at += used;
    rest->len -= used;
    return taken;
}

static bool find_kind(span word, bw_fault_kind *kind) {
    for (size_t i = 0; i < ROWS; i++) {
        if (strlen(rows[i].word) == word.len && memcmp(rows[i].word, word.at, word.len) == 0) {
            *kind = rows[i].kind;
            return true;
        }
    }
    return false;
}

static bw_status unknown_kind(span word, bw_err *err) {
    char known[BW_ERR_TEXT_MAX];
    bw_text text = bw_text_on(known, sizeof known);
    for (size_t i = 0; i < ROWS; i++) {
        bw_text_add(&text, "%s%s", i == 0 ? "" : i + 1 == ROWS ? " and " : ", ", rows[i].word);
    }
    return bw_fail(err, BW_E_DATA, "there is no fault \"%.*s\": known are %s",
                   (int)(word.len < 40 ? word.len : 40), word.at, known);
}

static bool copy(char out[BW_FAULT_NAME_MAX], span text) {
    if (text.len == 0 || text.len >= BW_FAULT_NAME_MAX) {
        return false;
    }
    memcpy(out, text.at, text.len);
    out[text.len] = '\0';
    return true;
}

static bool read_stage(span text, int *stage) {
    bw_decimal number;
    if (bw_decimal_parse(text.at, text.len, &number, NULL) != BW_OK || number.decimals != 0 ||
        number.value < 1 || number.value > 1000) {
        return false;
    }
    *stage = (int)number.value;
    return true;
}

static bw_status parse_one(span text, bw_fault *out, bw_err *err) {
    span rest = text;
    span word = take(&rest, ':');
    span group = take(&rest, ':');
    span place = take(&rest, '@');
    bool staged = place.at + place.len < text.at + text.len;
    bw_fault fault = {.stage = 1};
    if (!find_kind(word, &fault.kind)) {
        return unknown_kind(word, err);
    }
    if (!copy(fault.group, group) || !copy(fault.place, place) ||
        (staged && !read_stage(rest, &fault.stage))) {
        return bw_fail(err, BW_E_DATA,
                       "a fault is written FAULT:GROUP:FASTENER or FAULT:GROUP:FASTENER@STAGE, "
                       "such as over:main:3; not \"%.*s\"",
                       (int)(text.len < 80 ? text.len : 80), text.at);
    }
    *out = fault;
    return BW_OK;
}

bw_status bw_fault_parse(const char *text, bw_fault_list *out, bw_err *err) {
    bw_fault_list list = {0};
    span rest = {text, strlen(text)};
    bool more = rest.len > 0;
    while (more) {
        if (list.n == BW_FAULTS_MAX) {
            return bw_fail(err, BW_E_DATA, "at most %d faults can be asked for", BW_FAULTS_MAX);
        }
        more = memchr(rest.at, ',', rest.len) != NULL;
        bw_status status = parse_one(take(&rest, ','), &list.fault[list.n], err);
        if (status != BW_OK) {
            return status;
        }
        list.n++;
    }
    *out = list;
    return BW_OK;
}

bw_fault_at bw_fault_is_at(bw_fault_kind kind) {
    bw_fault_at at = BW_FAULT_AT_HAND;
    for (size_t i = 0; i < ROWS; i++) {
        at = rows[i].kind == kind ? rows[i].at : at;
    }
    return at;
}

bool bw_fault_fits(bw_fault_kind fault, bw_stage_kind stage) {
    unsigned fits = fault == BW_FAULT_NONE ? ALL : 0;
    for (size_t i = 0; i < ROWS; i++) {
        fits |= rows[i].kind == fault ? rows[i].fits : 0;
    }
    return (fits >> stage & 1u) != 0;
}

bool bw_fault_mistakes(bw_fault_kind kind) {
    return kind == BW_FAULT_MISSED || kind == BW_FAULT_WRONG;
}

static bool is_for(const bw_fault *fault, const char *group, size_t fastener, int stage) {
    return bw_fault_is_at(fault->kind) != BW_FAULT_AT_FASTENER && fault->fastener == fastener &&
           fault->stage == stage && strcmp(fault->group, group) == 0;
}

bw_fault_kind bw_fault_of_pull(const bw_fault_list *list, const char *group, size_t fastener,
                               int stage, int attempt, unsigned pulls) {
    for (size_t i = 0; i < list->n && attempt == 1 && pulls == 0; i++) {
        const bw_fault *fault = &list->fault[i];
        if (!fault->happened && is_for(fault, group, fastener, stage)) {
            return fault->kind;
        }
    }
    return BW_FAULT_NONE;
}

/* All of them: of two faults ordered for one pull the first is made, the other never. */
void bw_fault_happened(bw_fault_list *list, const char *group, size_t fastener, int stage) {
    for (size_t i = 0; i < list->n; i++) {
        bw_fault *fault = &list->fault[i];
        fault->happened = fault->happened || is_for(fault, group, fastener, stage);
    }
}
