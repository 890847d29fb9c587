/* asked.c - see asked.h. */
#include "face/display/asked.h"

#include "base/text.h"
#include "face/display/pair.h"
#include "face/display/reply.h"
#include "face/display/view.h"
#include "face/members.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <sys/random.h>

static void new_nonce(bw_asked *a) {
    uint8_t bytes[BW_NONCE_BYTES];
    bool drawn = getrandom(bytes, sizeof bytes, 0) == (ssize_t)sizeof bytes;
    a->spent = !drawn; /* without one nothing can be answered from here */
    bw_hex(bytes, sizeof bytes, a->nonce);
}

/* What a number that is typed now would mean. */
static void keep_echo(bw_asked *a, const bw_prompt *p) {
    a->echo_of = BW_DIM_COUNT;
    if (p->state == BW_STATE_READING && p->set != NULL) {
        a->echo_unit = p->set->unit;
        a->least = p->set->least;
        a->most = p->set->most;
        a->echo_of = bw_unit_of(a->echo_unit)->dimension;
    } else if (p->state == BW_STATE_LENGTH) {
        a->echo_unit = p->length_unit;
        a->least = 0;
        a->most = INFINITY;
        a->echo_of = bw_unit_of(a->echo_unit)->dimension;
    }
}

void bw_asked_prompt(bw_asked *a, const bw_prompt *p) {
    (void)bw_text_copy(a->step, sizeof a->step, p->step != NULL ? p->step->id : "");
    keep_echo(a, p);
    new_nonce(a);
}

static unsigned take_answer(bw_asked *a, bw_turn *turn, const json_t *object) {
    const char *line = bw_reply_text(object, "line");
    size_t len = json_string_length(json_object_get(object, "line"));
    bw_err err = {0};
    if (len != strlen(line) || len >= BW_PLAN_TEXT_MAX || !bw_text_printable(line, len, false)) {
        return 400;
    }
    if (a->spent || !bw_same_secret(bw_reply_text(object, "nonce"), a->nonce) ||
        strcmp(a->step, bw_reply_text(object, "step")) != 0) {
        return 409;
    }
    if (bw_turn_answer(turn, line, &err) != BW_OK) {
        return 409;
    }
    a->spent = true;
    return 200;
}

void bw_asked_answer(bw_asked *a, bw_turn *turn, const bw_http_request *r, bw_http_answer *answer) {
    static const char *const names[] = {"line", "nonce", "step"};
    json_t *object = bw_reply_read(r, names, sizeof names / sizeof names[0]);
    unsigned status = object != NULL ? take_answer(a, turn, object) : 400;
    json_decref(object);
    if (status == 200) {
        bw_reply_json(answer, status, "{\"taken\":true}");
    } else {
        bw_reply_refuse(answer, status);
    }
}

/* What a number that is being typed would be taken for. */
static json_t *echo_of(const bw_asked *a, const char *typed) {
    bw_quantity q = {0};
    bw_err err = {0};
    json_t *out = json_object();
    bw_status status = a->echo_of == BW_DIM_COUNT
                           ? bw_fail(&err, BW_E_DATA, "no number is asked for")
                           : bw_quantity_parse(typed, strlen(typed), a->echo_of, a->echo_unit, &q,
                                               &err);
    if (status != BW_OK) {
        bw_set_text(out, "error", err.text);
        return out;
    }
    double value = bw_to_base(q.value, q.unit);
    bw_view_figure(out, "as_typed", q);
    bw_set_flag(out, "plausible", value >= a->least && value <= a->most);
    return out;
}

void bw_asked_echo(bw_asked *a, const bw_http_request *r, bw_http_answer *answer) {
    static const char *const names[] = {"text"};
    json_t *object = bw_reply_read(r, names, sizeof names / sizeof names[0]);
    json_t *out = object != NULL ? echo_of(a, bw_reply_text(object, "text")) : NULL;
    char *json = out != NULL ? json_dumps(out, JSON_COMPACT) : NULL;
    if (json != NULL && bw_text_copy(a->echo, sizeof a->echo, json)) {
        bw_reply_json(answer, 200, a->echo);
    } else {
        bw_reply_refuse(answer, 400);
    }
    free(json);
    json_decref(out);
    json_decref(object);
}
