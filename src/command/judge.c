/* judge.c - boltwright judge: one trace from a file, judged as if it came from the wrench. */
#include "command/command.h"

#include "base/decimal.h"
#include "face/figures.h"
#include "face/plot.h"
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

enum { OPT_SEQUENCE, OPT_GROUP, OPT_STAGE, OPT_STANDING, OPT_PLOT };

enum { PULLS_MAX = 64 };

static const double standing_most_Nm = 1e5;
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

/* Alone, a trace does not say what came before it; where nobody else does, the fastener is taken to
 * stand at the target of the last torque stage. */
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

/* A trace with what was made of it. */
typedef struct judged {
    const char *path;
    const bw_plan *plan;
    const bw_plan_stage *stage;
    const bw_sample *sample;
    size_t n;
    bw_standing standing;
    bw_judge judge;
    bw_verdict verdict;
    bw_plot_span pull[PULLS_MAX]; /* the first ones */
} judged;

static void note_pull(judged *j, bw_pull_event event, double time_s) {
    uint32_t *pulls = &j->verdict.pulls;
    *pulls += event == BW_PULL_BEGAN ? 1 : 0;
    if (event == BW_PULL_REST || *pulls > PULLS_MAX) {
        return;
    }
    bw_plot_span *pull = &j->pull[*pulls - 1];
    pull->from_s = event == BW_PULL_BEGAN ? time_s : pull->from_s;
    pull->to_s = time_s;
}

static void judge_trace(judged *j) {
    const bw_stage *stage = &j->stage->stage;
    bw_pull_watch watch = {.rest_s = 0.3};
    bw_judge_begin(&j->judge, stage, &j->standing, &(bw_terms){0});
    bw_pull_arm(&watch, bw_judge_threshold_Nm(stage, &j->standing));
    for (size_t i = 0; i < j->n; i++) {
        (void)bw_judge_sample(&j->judge, &j->sample[i]);
        note_pull(j, bw_pull_sample(&watch, &j->sample[i]), j->sample[i].time_s);
    }
    uint32_t pulls = j->verdict.pulls;
    j->verdict = bw_judge_end(&j->judge, true);
    j->verdict.pulls = pulls;
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

/* What limit a reason stands for, in the manual's words; nothing where it has none. */
static void add_limit(const judged *j, bw_reason reason, bw_text *text) {
    const bw_plan_stage *stage = j->stage;
    bool torque = stage->stage.kind == BW_STAGE_TORQUE;
    const char *word = NULL;
    bw_quantity limit = {0};
    switch (reason) {
    case BW_REASON_BELOW_LIMIT:
        word = "at least";
        limit = torque ? stage->low : stage->floor;
        break;
    case BW_REASON_ABOVE_LIMIT:
        word = "at most";
        limit = torque ? stage->high : stage->ceiling;
        break;
    case BW_REASON_ANGLE_SHORT:
        word = "at least";
        limit = stage->low;
        break;
    case BW_REASON_ANGLE_OVER:
        word = "at most";
        limit = stage->high;
        break;
    default:
        return;
    }
    bw_text_add(text, "; allowed: %s ", word);
    bw_figure_add(text, limit);
}

static const bw_sample *sample_at(const judged *j, double time_s) {
    size_t i = 0;
    while (i + 1 < j->n && j->sample[i].time_s < time_s) {
        i++;
    }
    return &j->sample[i];
}

static void print_reason(const judged *j, size_t index) {
    char line[1024];
    double time_s = 0;
    bw_reason reason = (bw_reason)(1u << index);
    bw_text text = bw_text_on(line, sizeof line);
    bw_text_add(&text, "  %s: %s\n", bw_reason_word(index), bw_reason_says(index));
    if (bw_judge_when(&j->judge, reason, &time_s)) {
        const bw_sample *at = sample_at(j, time_s);
        bw_text_add(&text, "    In the trace: at %.3f s, ", at->time_s);
        bw_torque_add(&text, at->torque_Nm, j->plan->torque_unit);
        if (at->has_angle) {
            bw_text_add(&text, ", handle at %.1f°", at->angle_deg);
        }
        add_limit(j, reason, &text);
        bw_text_add(&text, "\n");
    }
    bw_text_add(&text, "    On the bench: %s\n", bw_reason_look(index));
    (void)fputs(line, stdout);
}

static void print_text(const judged *j) {
    char line[1024];
    const bw_verdict *v = &j->verdict;
    bw_text text = bw_text_on(line, sizeof line);
    bw_text_add(&text, "Asked for: ");
    bw_target_add(&text, j->stage);
    if (j->standing.torque_Nm > 0) {
        bw_text_add(&text, "\nTaken to stand before at: ");
        bw_torque_add(&text, j->standing.torque_Nm, j->plan->torque_unit);
    }
    bw_text_add(&text, "\nSeen: peak ");
    bw_torque_add(&text, v->peak_Nm, j->plan->torque_unit);
    if (v->has_turn) {
        bw_text_add(&text, ", turn %.1f°", v->turn_deg);
    }
    bw_text_add(&text, ", %u %s\nVerdict: %s\n", v->pulls, v->pulls == 1 ? "pull" : "pulls",
                bw_outcome_word(v->outcome));
    (void)fputs(line, stdout);
    for (size_t i = 0; bw_reason_word(i) != NULL; i++) {
        if ((v->reasons >> i & 1u) != 0) {
            print_reason(j, i);
        }
    }
}

/* Turn limits stand where the torque first rose through the mark from which turn counts; with
 * several strokes there is no one place for them. */
static bool counted_from(const judged *j, double *angle_deg) {
    const bw_stage *stage = &j->stage->stage;
    double mark_Nm = stage->kind == BW_STAGE_TORQUE_ANGLE
                         ? stage->snug_Nm
                         : bw_judge_threshold_Nm(stage, &j->standing);
    size_t rises = 0;
    for (size_t i = 1; i < j->n; i++) {
        if (j->sample[i - 1].torque_Nm < mark_Nm && j->sample[i].torque_Nm >= mark_Nm) {
            *angle_deg = rises == 0 ? j->sample[i].angle_deg : *angle_deg;
            rises++;
        }
    }
    return stage->kind != BW_STAGE_TORQUE && rises == 1;
}

/* The points that decided; the peak where nothing did. */
static size_t points_of(const judged *j, bw_plot_point *point) {
    size_t n = 0;
    for (size_t i = 0; i < BW_REASON_COUNT; i++) {
        double time_s = 0;
        bool given = (j->verdict.reasons >> i & 1u) != 0;
        if (given && bw_judge_when(&j->judge, (bw_reason)(1u << i), &time_s)) {
            point[n++] = (bw_plot_point){time_s, bw_reason_word(i)};
        }
    }
    if (n == 0 && j->n > 0) {
        point[n++] = (bw_plot_point){j->judge.peak_s, "peak"};
    }
    return n;
}

static bool draw(const judged *j, const char *path) {
    bw_plot_point point[BW_REASON_COUNT + 1];
    char title[256];
    bw_text text = bw_text_on(title, sizeof title);
    bw_text_add(&text, "%s: %s", j->path, bw_outcome_word(j->verdict.outcome));
    bw_plot plot = {.title = title,
                    .sample = j->sample,
                    .n = j->n,
                    .stage = &j->stage->stage,
                    .threshold_Nm = bw_judge_threshold_Nm(&j->stage->stage, &j->standing),
                    .pull = j->pull,
                    .pull_n = j->verdict.pulls < PULLS_MAX ? j->verdict.pulls : PULLS_MAX,
                    .point = point};
    plot.counted = counted_from(j, &plot.counted_from_deg);
    plot.point_n = points_of(j, point);
    FILE *out = fopen(path, "w");
    bool drawn = out != NULL && bw_plot_svg(&plot, out);
    int why = errno;
    bool closed = out == NULL || fclose(out) == 0;
    if (!drawn || !closed) {
        bw_complain("the drawing %s can't be written: %s", path, strerror(drawn ? errno : why));
    }
    return drawn && closed;
}

/* The torque that the fastener stood at before, as told; from the stages before otherwise. */
static bool find_standing(const bw_args *args, const bw_step *step, size_t stage,
                          bw_standing *standing) {
    const char *typed = args->value[OPT_STANDING];
    bw_decimal number = {0};
    *standing = standing_before(step, stage);
    if (typed == NULL) {
        return true;
    }
    bool good = bw_decimal_parse(typed, strlen(typed), &number, NULL) == BW_OK &&
                number.value >= 0 && number.value <= standing_most_Nm;
    if (!good) {
        bw_complain("--standing is the torque in N.m that it stood at before, 0 for a loose one, "
                    "such as --standing 40");
    }
    standing->torque_Nm = number.value;
    return good;
}

static bool read_samples(judged *j, bw_arena *arena) {
    size_t len = 0;
    bw_err err = {0};
    char *data = read_file(j->path, &len);
    if (data == NULL) {
        return false;
    }
    bw_status status = bw_trace_read(data, len, arena, &j->sample, &j->n, &err);
    free(data);
    if (status != BW_OK) {
        bw_complain("%s: %s", j->path, err.text);
    }
    return status == BW_OK;
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
    judged j = {.path = args->word[0], .plan = plan, .stage = &step->stage[stage]};
    if (!find_standing(args, step, stage, &j.standing) || !read_samples(&j, arena)) {
        return BW_EXIT_USAGE;
    }
    judge_trace(&j);
    if (args->json) {
        print_json(&j.verdict);
    } else {
        print_text(&j);
    }
    if (args->value[OPT_PLOT] != NULL && !draw(&j, args->value[OPT_PLOT])) {
        return BW_EXIT_MACHINE;
    }
    return j.verdict.outcome == BW_VERDICT_PASS ? BW_EXIT_YES : BW_EXIT_NO;
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
    [OPT_STANDING] = {"--standing", "NM", "torque in N.m that it stands at before; 0: loose"},
    [OPT_PLOT] = {"--plot", "FILE.svg", "draws torque over angle and over time"},
    {NULL, NULL, NULL},
};

const bw_command bw_command_judge = {
    .name = "judge",
    .usage = "TRACE --sequence SEQUENCE --group NAME --stage N [--standing NM] "
             "[--plot FILE.svg]",
    .says = "judges one torque-angle trace, and says why",
    .more = "TRACE is CSV with the heading time_s,torque_Nm,angle_deg; angle_deg may be empty.",
    .least_words = 1,
    .most_words = 1,
    .option = options,
    .run = judge,
};
