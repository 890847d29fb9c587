/* judge.c - boltwright judge: one trace from a file, judged as if it came from the wrench. */
#include "command/command.h"

#include "base/decimal.h"
#include "face/figures.h"
#include "judge/judge.h"
#include "judge/pull.h"
#include "sequence/sequence.h"
#include "trade/trace.h"

#include <errno.h>
#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { OPT_SEQUENCE, OPT_GROUP, OPT_STAGE };

static const size_t trace_bytes_max = (size_t)256 << 20;

/* The whole file, NUL-ended, to be freed; NULL after a complaint. */
static char *read_file(const char *path, size_t *len) {
    FILE *in = fopen(path, "rb");
    char *data = NULL;
    size_t room = 0;
    size_t n = 0;
    if (in == NULL) {
        bw_complain("the trace %s can't be read: %s", path, strerror(errno));
        return NULL;
    }
    do {
        room = room == 0 ? 65536 : 2 * room;
        char *more = room <= trace_bytes_max ? realloc(data, room) : NULL;
        if (more == NULL) {
            bw_complain("the trace %s is too long", path);
            free(data);
            (void)fclose(in);
            return NULL;
        }
        data = more;
        n += fread(data + n, 1, room - n, in);
    } while (n == room);
    bool bad = ferror(in) != 0;
    (void)fclose(in);
    if (bad) {
        bw_complain("the trace %s can't be read", path);
        free(data);
        return NULL;
    }
    *len = n;
    return data;
}

static const bw_step *find_step(const bw_plan *plan, const char *group) {
    for (size_t i = 0; i < plan->step_n; i++) {
        const bw_step *step = &plan->step[i];
        if (step->kind == BW_STEP_TIGHTEN && strcmp(plan->group[step->group].name, group) == 0) {
            return step;
        }
    }
    return NULL;
}

/* Alone, a trace does not say what came before it: the fastener is taken to stand at the target
 * of the last torque stage. */
static bw_standing standing_before(const bw_step *step, size_t stage) {
    bw_standing standing = {0};
    for (size_t i = 0; i < stage; i++) {
        const bw_stage *s = &step->stage[i].stage;
        if (s->kind == BW_STAGE_TORQUE) {
            standing.torque_Nm = s->target_Nm;
        } else if (s->kind == BW_STAGE_TORQUE_ANGLE) {
            standing.torque_Nm = s->snug_Nm;
        }
    }
    return standing;
}

static bw_verdict judge_trace(const bw_stage *stage, const bw_standing *standing,
                              const bw_sample *sample, size_t n) {
    bw_judge judge;
    bw_pull_watch watch = {.rest_s = 0.3};
    uint32_t pulls = 0;
    bw_judge_begin(&judge, stage, standing, 0.0);
    bw_pull_arm(&watch, bw_judge_threshold_Nm(stage, standing));
    for (size_t i = 0; i < n; i++) {
        (void)bw_judge_sample(&judge, &sample[i]);
        pulls += bw_pull_sample(&watch, &sample[i]) == BW_PULL_BEGAN ? 1 : 0;
    }
    bw_verdict verdict = bw_judge_end(&judge, true);
    verdict.pulls = pulls;
    return verdict;
}

static void print_json(const bw_verdict *v) {
    json_t *reasons = json_array();
    for (size_t i = 0; bw_reason_word(i) != NULL; i++) {
        if ((v->reasons >> i & 1u) != 0) {
            (void)json_array_append_new(reasons, json_string(bw_reason_word(i)));
        }
    }
    json_t *all = json_object();
    (void)json_object_set_new(all, "verdict", json_string(bw_outcome_word(v->outcome)));
    (void)json_object_set_new(all, "peak_torque_Nm", json_real(v->peak_Nm));
    (void)json_object_set_new(all, "final_angle_deg",
                              v->has_turn ? json_real(v->turn_deg) : json_null());
    (void)json_object_set_new(all, "reasons", reasons);
    (void)json_object_set_new(all, "pulls", json_integer(v->pulls));
    (void)json_dumpf(all, stdout, JSON_COMPACT);
    (void)printf("\n");
    json_decref(all);
}

static void print_text(const bw_plan *plan, const bw_plan_stage *stage, const bw_verdict *v) {
    char line[1024];
    bw_text text = bw_text_on(line, sizeof line);
    bw_text_add(&text, "Asked for: ");
    bw_target_add(&text, stage);
    bw_text_add(&text, "\nSeen: peak ");
    bw_torque_add(&text, v->peak_Nm, plan->torque_unit);
    if (v->has_turn) {
        bw_text_add(&text, ", turn %.1f°", v->turn_deg);
    }
    bw_text_add(&text, ", %u pulls\nVerdict: %s\n", v->pulls, bw_outcome_word(v->outcome));
    (void)fputs(line, stdout);
    for (size_t i = 0; bw_reason_word(i) != NULL; i++) {
        if ((v->reasons >> i & 1u) != 0) {
            (void)printf("  %s: %s\n", bw_reason_word(i), bw_reason_says(i));
        }
    }
}

static int judge_loaded(const bw_args *args, const bw_plan *plan, bw_arena *arena) {
    const bw_step *step = find_step(plan, args->value[OPT_GROUP]);
    bw_decimal number = {0};
    const char *typed = args->value[OPT_STAGE];
    if (step == NULL) {
        bw_complain("the sequence tightens no group %s", args->value[OPT_GROUP]);
        return BW_EXIT_USAGE;
    }
    bool good = bw_decimal_parse(typed, strlen(typed), &number, NULL) == BW_OK &&
                number.decimals == 0 && number.value >= 1 && number.value <= (double)step->stage_n;
    if (!good) {
        bw_complain("--stage is 1 to %zu for this group", step->stage_n);
        return BW_EXIT_USAGE;
    }
    size_t stage = (size_t)number.value - 1;
    size_t len = 0;
    char *data = read_file(args->word[0], &len);
    const bw_sample *sample = NULL;
    size_t n = 0;
    bw_err err = {0};
    if (data == NULL) {
        return BW_EXIT_USAGE;
    }
    bw_status status = bw_trace_read(data, len, arena, &sample, &n, &err);
    free(data);
    if (status != BW_OK) {
        bw_complain("%s: %s", args->word[0], err.text);
        return BW_EXIT_USAGE;
    }
    bw_standing standing = standing_before(step, stage);
    bw_verdict verdict = judge_trace(&step->stage[stage].stage, &standing, sample, n);
    if (args->json) {
        print_json(&verdict);
    } else {
        print_text(plan, &step->stage[stage], &verdict);
    }
    return verdict.outcome == BW_VERDICT_PASS ? BW_EXIT_YES : BW_EXIT_NO;
}

static int judge(const bw_args *args) {
    for (size_t i = OPT_SEQUENCE; i <= OPT_STAGE; i++) {
        if (args->value[i] == NULL) {
            bw_complain("judge needs --sequence, --group and --stage");
            return BW_EXIT_USAGE;
        }
    }
    bw_arena *arena = bw_arena_new((size_t)512 << 20);
    bw_loaded loaded = {0};
    bw_err err = {0};
    if (arena == NULL) {
        bw_complain("no memory");
        return BW_EXIT_MACHINE;
    }
    bw_status status = bw_sequence_load(args->value[OPT_SEQUENCE], arena, &loaded, &err);
    int code = BW_EXIT_USAGE;
    if (status != BW_OK) {
        bw_complain("%s", err.text);
        code = status == BW_E_ABSENT ? BW_EXIT_USAGE : BW_EXIT_MACHINE;
    } else if (loaded.plan == NULL) {
        bw_complain("%s has mistakes; boltwright check names them", args->value[OPT_SEQUENCE]);
    } else {
        code = judge_loaded(args, loaded.plan, arena);
    }
    bw_arena_free(arena);
    return code;
}

static const bw_option_row options[] = {
    [OPT_SEQUENCE] = {"--sequence", "SEQUENCE", "whose limits to judge by"},
    [OPT_GROUP] = {"--group", "NAME", "group of fasteners in it"},
    [OPT_STAGE] = {"--stage", "N", "stage of its tightening, from 1"},
    {NULL, NULL, NULL},
};

const bw_command bw_command_judge = {
    .name = "judge",
    .usage = "TRACE --sequence SEQUENCE --group NAME --stage N",
    .says = "judges one torque-angle trace, and says why",
    .more = "TRACE is CSV with the heading time_s,torque_Nm,angle_deg; angle_deg may be empty.",
    .least_words = 1,
    .most_words = 1,
    .option = options,
    .run = judge,
};
