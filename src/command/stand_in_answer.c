/* stand_in_answer.c - what the stand-in answers to each prompt. */
#include "command/stand_in_int.h"

#include "base/text.h"
#include "command/command.h"
#include "rehearsal/answer.h"
#include "rehearsal/joint.h"

#include <stdio.h>
#include <string.h>

enum {
    UNHEARD_MOST = 20, /* lines of which none comes into the record: it does not get on */
    LENGTHS_MOST = 6,  /* a bolt that is no longer after so many pulls will not get there */
    AGAIN_MOST = 2,    /* a value outside its limits is measured again so often, then overridden */
    ATTEMPTS_MOST = 4  /* what a fastener is loosened for so often is overridden */
};

void bw_stand_in_type(bw_stand_in *s, const char *line) {
    bw_err err = {0};
    if (s->unheard++ == UNHEARD_MOST) {
        bw_complain("the simulated builder: %s does not get on: \"%s\" is no answer that helps",
                    s->prompt.step != NULL ? s->prompt.step->id : "the build", line);
        line = "pause";
    }
    if (s->echo != NULL) {
        (void)fprintf(s->echo, "%s\n", line);
    }
    if (bw_turn_push_line(s->turn, line, &err) != BW_OK) {
        bw_complain("the simulated builder: %s", err.text);
    }
}

static void read_gauge(bw_stand_in *s) {
    const bw_prompt *p = &s->prompt;
    char number[64];
    bw_answer_set set = {.step = p->step->id,
                         .set = p->set->id,
                         .unit = p->set->unit,
                         .decimals = p->set->decimals,
                         .least = p->set->least,
                         .most = p->set->most};
    bw_stand_in_type(s, bw_answer_reading(s->seed, &set, p->set->at[p->at], number, sizeof number));
}

static void decide_value(bw_stand_in *s) {
    bw_stand_in_type(s, s->again++ < AGAIN_MOST ? "again" : "override");
}

static bool offers(const bw_prompt *p, const char *word) {
    size_t i = 0;
    while (i < p->option_n && strcmp(p->option[i].word, word) != 0) {
        i++;
    }
    return i < p->option_n;
}

/* Begun anew, until it is enough; a word that is not offered is no way. */
static const char *anew(const bw_prompt *p) {
    bool enough = p->attempt >= ATTEMPTS_MOST;
    return !enough && offers(p, "loosen")    ? "loosen"
           : !enough && offers(p, "replace") ? "replace"
                                             : "override";
}

/* Where nothing turned, another fastener was pulled: this one is asked for again, once.  Anything
 * else, and what is no better for it, begins anew. */
static void decide_verdict(bw_stand_in *s) {
    bool again = offers(&s->prompt, "repeat") && !bw_memory_repeated(&s->memory);
    bw_stand_in_type(s, again ? "repeat" : anew(&s->prompt));
}

static bw_fastener as_it_stands(const bw_stand_in *s) {
    const bw_prompt *p = &s->prompt;
    return bw_joint_fastener(s->memory.joint[p->step->group], p->place, p->step->id, p->attempt);
}

/* A bolt that does not grow is looked at instead of measured again. */
static void read_length(bw_stand_in *s) {
    const bw_prompt *p = &s->prompt;
    const bw_joint *joint = s->memory.joint[p->step->group];
    bw_fastener f = as_it_stands(s);
    uint64_t key = bw_chance_key_number(bw_joint_key(joint, p->place), (uint64_t)p->attempt);
    char number[64];
    if (p->tightened && p->standing.pulls >= LENGTHS_MOST && offers(p, anew(p))) {
        bw_stand_in_type(s, anew(p));
        return;
    }
    key = bw_chance_key_number(key, p->tightened ? p->verdict.pulls : 0);
    bw_stand_in_type(
        s, bw_answer_length(key, bw_joint_new_mm(joint, p->place) + bw_fastener_growth_mm(&f),
                            p->length_unit, number, sizeof number));
}

/* A slot that would need more than the highest torque is never met: another washer goes under. */
static void look_at_slot(bw_stand_in *s) {
    const bw_prompt *p = &s->prompt;
    bw_fastener f = as_it_stands(s);
    double to_deg = bw_fastener_to_slot_deg(&f, 360.0 / p->stage->slots);
    bool meets = to_deg <= 0;
    bw_fastener_turn(&f, to_deg);
    bool in_reach = bw_fastener_turning_Nm(&f) < p->aim.high_Nm;
    bw_stand_in_type(s, meets ? "yes" : in_reach || !offers(p, anew(p)) ? "no" : anew(p));
}

/* The builder sees which one was pulled instead and says so; what is free text here is no word. */
static bool own_up(bw_stand_in *s) {
    bw_state state = s->prompt.state;
    bool free_text = state == BW_STATE_NOTE || state == BW_STATE_REASON ||
                     state == BW_STATE_SECOND_PERSON;
    if (!s->memory.owns_up || free_text) {
        return false;
    }
    char line[BW_PLAN_TEXT_MAX];
    bw_text text = bw_text_on(line, sizeof line);
    bw_text_add(&text, "wrong %s",
                s->memory.plan->group[s->memory.pulled.group].place[s->memory.instead].label);
    s->memory.owns_up = false;
    bw_stand_in_type(s, line);
    return true;
}

/* Another seed answers otherwise, so that what is left out differs. */
static void answer_question(bw_stand_in *s) {
    const bw_prompt *p = &s->prompt;
    const char *word = p->option[(s->seed + p->step_number) % p->option_n].word;
    bw_stand_in_type(s, p->group != NULL && strcmp(word, "replaced") == 0 ? "replaced 1" : word);
}

/* A part that bears no mark in the sequence has one in the rehearsal. */
static void name_part(bw_stand_in *s) {
    char line[BW_PLAN_ID_MAX + 16];
    bw_text text = bw_text_on(line, sizeof line);
    if (s->prompt.mark == NULL) {
        bw_text_add(&text, "R%zu", s->prompt.to + 1);
    } else {
        bw_text_add(&text, "%s", s->prompt.mark);
    }
    bw_stand_in_type(s, line);
}

/* One line for a state whose answer never differs; a function where it does. */
static const struct {
    const char *line;
    void (*run)(bw_stand_in *s);
} answers[BW_STATE_COUNT] = {
    [BW_STATE_CONFIRM] = {"yes", NULL},
    [BW_STATE_NOTE] = {"rehearsed, nothing stamped", NULL},
    [BW_STATE_READING] = {NULL, read_gauge},
    [BW_STATE_VALUE] = {NULL, decide_value},
    [BW_STATE_PULL] = {NULL, bw_stand_in_pull},
    [BW_STATE_NO_TOOL] = {NULL, bw_stand_in_plug_again},
    [BW_STATE_LENGTH] = {NULL, read_length},
    [BW_STATE_SLOT] = {NULL, look_at_slot},
    [BW_STATE_VERDICT] = {NULL, decide_verdict},
    [BW_STATE_SECOND_PERSON] = {"second person of the rehearsal", NULL},
    [BW_STATE_REASON] = {"accepted in rehearsal only", NULL},
    [BW_STATE_ASK] = {NULL, answer_question},
    [BW_STATE_POSITION] = {"yes", NULL},
    [BW_STATE_FIT] = {NULL, name_part},
    [BW_STATE_WITNESS] = {"second person of the rehearsal", NULL},
    [BW_STATE_CLOSE] = {"close", NULL},
};

void bw_stand_in_answer(bw_stand_in *s) {
    if (own_up(s)) {
        return;
    }
    if (answers[s->prompt.state].run != NULL) {
        answers[s->prompt.state].run(s);
    } else if (answers[s->prompt.state].line != NULL) {
        bw_stand_in_type(s, answers[s->prompt.state].line);
    }
}
