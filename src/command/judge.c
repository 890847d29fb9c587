/* judge.c - boltwright judge: one trace from a file, judged as if it came from the wrench. */
#include "command/command.h"
#include "command/judge_answer.h"
#include "command/whole_file.h"
#include "command/which.h"

#include "base/decimal.h"
#include "face/plot.h"
#include "judge/pull.h"
#include "sequence/sequence.h"
#include "trade/trace.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
    OPT_SEQUENCE,
    OPT_GROUP,
    OPT_STAGE,
    OPT_STANDING,
    OPT_PREVAILING,
    OPT_RANGE,
    OPT_UNCERTAINTY,
    OPT_ANGLE_UNCERTAINTY,
    OPT_PLOT
};

enum { PULLS_MAX = 64 };

static const double torque_most_Nm = 1e5;
static const size_t trace_bytes_max = (size_t)256 << 20;

/* The whole file, NUL-ended, to be freed; NULL after a complaint. */
static char *read_file(const char *path, size_t *len) {
    if (bw_is_folder_instead(path, "a trace")) {
        return NULL;
    }
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
 * stand at what the stages before aim for.  Backed off, it stands at nothing that is known. */
static double standing_before_Nm(const bw_step *step, size_t stage) {
    double standing_Nm = 0;
    for (size_t i = 0; i < stage; i++) {
        const bw_stage *s = &step->stage[i].stage;
        const bw_stage_traits *traits = bw_stage_traits_of(s->kind);
        double aim_Nm = s->target_Nm > 0 ? s->target_Nm : s->snug_Nm;
        if (traits->loosens) {
            standing_Nm = 0;
        } else if (traits->tightens && aim_Nm > 0) {
            standing_Nm = aim_Nm;
        }
    }
    return standing_Nm;
}

/* The pulls of a trace, the first ones. */
typedef struct pull_list {
    uint32_t n; /* all */
    bw_plot_span span[PULLS_MAX];
} pull_list;

static void note_pull(pull_list *pulls, bw_pull_event event, double time_s) {
    pulls->n += event == BW_PULL_BEGAN ? 1 : 0;
    if (event == BW_PULL_REST || pulls->n > PULLS_MAX) {
        return;
    }
    bw_plot_span *pull = &pulls->span[pulls->n - 1];
    pull->from_s = event == BW_PULL_BEGAN ? time_s : pull->from_s;
    pull->to_s = time_s;
}

static void judge_trace(bw_judged *j, pull_list *pulls) {
    bw_pull_watch watch = {.rest_s = 0.3};
    bw_judge_begin(&j->judge, &j->as, &j->standing, &j->terms);
    bw_pull_arm(&watch, bw_judge_threshold_Nm(&j->as, &j->standing));
    for (size_t i = 0; i < j->n; i++) {
        (void)bw_judge_sample(&j->judge, &j->sample[i]);
        note_pull(pulls, bw_pull_sample(&watch, &j->sample[i]), j->sample[i].time_s);
    }
    j->verdict = bw_judge_end(&j->judge, true);
    j->verdict.pulls = pulls->n;
}

static void find_question(bw_judged *j) {
    double other_Nm[BW_PLAN_STAGES_MAX];
    size_t n = 0;
    for (size_t i = 0; i < j->step->stage_n; i++) {
        if (&j->step->stage[i] != j->stage) {
            other_Nm[n++] = j->step->stage[i].stage.target_Nm;
        }
    }
    bw_question_facts facts = {.stage = &j->as,
                               .verdict = &j->verdict,
                               .unit = j->plan->torque_unit,
                               .other_Nm = other_Nm,
                               .other_n = n,
                               .peaks_apart_s = bw_judge_peaks_apart_s(&j->judge)};
    j->question = bw_judge_question(&facts, j->question_text, sizeof j->question_text);
}

/* Turn limits stand where the torque first rose through the mark from which turn counts; with
 * several strokes there is no one place for them. */
static bool counted_from(const bw_judged *j, double *angle_deg) {
    const bw_stage_traits *traits = bw_stage_traits_of(j->as.kind);
    double snug_Nm = traits->limits_turn ? j->as.snug_Nm : 0;
    double mark_Nm = snug_Nm > 0 ? snug_Nm : bw_judge_threshold_Nm(&j->as, &j->standing);
    double sign = traits->loosens ? -1 : 1;
    size_t rises = 0;
    for (size_t i = 1; i < j->n; i++) {
        if (sign * j->sample[i - 1].torque_Nm < mark_Nm &&
            sign * j->sample[i].torque_Nm >= mark_Nm) {
            *angle_deg = rises == 0 ? j->sample[i].angle_deg : *angle_deg;
            rises++;
        }
    }
    return traits->limits_turn && rises == 1;
}

/* The points that decided; the peak where nothing did. */
static size_t points_of(const bw_judged *j, bw_plot_point *point) {
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

static bool draw(const bw_judged *j, const pull_list *pulls, const char *path) {
    bw_plot_point point[BW_REASON_COUNT + 1];
    char title[256];
    bw_text text = bw_text_on(title, sizeof title);
    bw_text_add(&text, "%s: %s", j->path, bw_outcome_word(j->verdict.outcome));
    bw_plot plot = {.title = title,
                    .sample = j->sample,
                    .n = j->n,
                    .stage = &j->as,
                    .threshold_Nm = bw_judge_threshold_Nm(&j->as, &j->standing),
                    .pull = pulls->span,
                    .pull_n = pulls->n < PULLS_MAX ? pulls->n : PULLS_MAX,
                    .point = point};
    plot.counted = counted_from(j, &plot.counted_from_deg);
    plot.point_n = points_of(j, point);
    bw_whole_file file;
    return bw_whole_file_begin(&file, path) &&
           bw_whole_file_end(&file, bw_plot_svg(&plot, file.out), NULL);
}

/* ---- what was typed ---- */

/* A number of at least 0 and at most `most`; where none was typed it stays as it is. */
static bool read_number(const bw_args *args, int option, double most, const char *says,
                        double *out) {
    const char *typed = args->value[option];
    bw_decimal number = {0};
    if (typed == NULL) {
        return true;
    }
    bool good = bw_decimal_parse(typed, strlen(typed), &number, NULL) == BW_OK &&
                number.value >= 0 && number.value <= most;
    if (good) {
        *out = number.value;
    } else {
        bw_complain("%s", says);
    }
    return good;
}

static bool read_range(const bw_args *args, bw_terms *terms) {
    const char *typed = args->value[OPT_RANGE];
    const char *dots = typed != NULL ? strstr(typed, "..") : NULL;
    bw_decimal low = {0};
    bw_decimal high = {0};
    if (typed == NULL) {
        return true;
    }
    bool good = dots != NULL &&
                bw_decimal_parse(typed, (size_t)(dots - typed), &low, NULL) == BW_OK &&
                bw_decimal_parse(dots + 2, strlen(dots + 2), &high, NULL) == BW_OK &&
                low.value >= 0 && low.value < high.value && high.value <= torque_most_Nm;
    if (!good) {
        bw_complain("--range is what the wrench is calibrated for in N.m, such as --range 20..200");
    }
    terms->range_low_Nm = low.value;
    terms->range_high_Nm = high.value;
    return good;
}

static bool read_terms(const bw_args *args, const bw_plan *plan, bw_terms *terms) {
    double per_cent = 0;
    *terms = (bw_terms){.rule = plan->rule};
    bool good = read_range(args, terms) &&
                read_number(args, OPT_UNCERTAINTY, 100,
                            "--uncertainty is the wrench's expanded uncertainty in per cent of the "
                            "torque, such as --uncertainty 1.5",
                            &per_cent) &&
                read_number(
                    args, OPT_ANGLE_UNCERTAINTY, 360,
                    "--angle-uncertainty is the wrench's expanded uncertainty of an angle in "
                    "degrees, such as --angle-uncertainty 1",
                    &terms->uncertainty_deg);
    terms->uncertainty_share = per_cent / 100;
    return good;
}

/* What came before the trace and what the wrench is: as told; the stages before otherwise. */
static bool read_typed(const bw_args *args, size_t stage, bw_judged *j) {
    double prevailing_Nm = 0;
    j->standing.torque_Nm = standing_before_Nm(j->step, stage);
    bool good = read_number(
                    args, OPT_STANDING, torque_most_Nm,
                    "--standing is the torque in N.m that it stood at before, 0 for a loose one, "
                    "such as --standing 40",
                    &j->standing.torque_Nm) &&
                read_number(args, OPT_PREVAILING, torque_most_Nm,
                            "--prevailing is the torque of its locking feature in N.m, such as "
                            "--prevailing 2.5",
                            &prevailing_Nm) &&
                read_terms(args, j->plan, &j->terms);
    j->as = bw_stage_for(&j->stage->stage, prevailing_Nm);
    if (good && prevailing_Nm > 0 && !j->stage->stage.adds_prevailing) {
        bw_complain("--prevailing: this stage adds no prevailing torque to its own");
        good = false;
    }
    return good;
}

static bool read_samples(bw_judged *j, bw_arena *arena) {
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

static bool find_stage(const bw_args *args, const bw_step *step, size_t *stage) {
    const char *typed = args->value[OPT_STAGE];
    bw_decimal number = {0};
    bool good = bw_decimal_parse(typed, strlen(typed), &number, NULL) == BW_OK &&
                number.decimals == 0 && number.value >= 1 && number.value <= (double)step->stage_n;
    if (!good) {
        bw_complain("--stage is 1 to %zu for this group", step->stage_n);
        return false;
    }
    *stage = (size_t)number.value - 1;
    return true;
}

static void complain_group(const bw_plan *plan, const char *typed) {
    char names[400];
    bw_text text = bw_text_on(names, sizeof names);
    for (size_t i = 0; i < plan->step_n; i++) {
        const bw_step *step = &plan->step[i];
        const char *name = step->kind == BW_STEP_TIGHTEN ? plan->group[step->group].name : NULL;
        if (name != NULL && find_step(plan, name) == step) {
            bw_text_add(&text, "%s%s", text.len > 0 ? ", " : "", name);
        }
    }
    bw_complain("the sequence tightens no group %s; it tightens %s", typed,
                text.len > 0 ? names : "none");
}

static int judge_loaded(const bw_args *args, const bw_plan *plan, bw_arena *arena) {
    const bw_step *step = find_step(plan, args->value[OPT_GROUP]);
    size_t stage = 0;
    if (step == NULL) {
        complain_group(plan, args->value[OPT_GROUP]);
        return BW_EXIT_USAGE;
    }
    if (!find_stage(args, step, &stage)) {
        return BW_EXIT_USAGE;
    }
    bw_judged j = {.path = args->word[0], .plan = plan, .step = step, .stage = &step->stage[stage]};
    pull_list pulls = {0};
    if (!read_typed(args, stage, &j) || !read_samples(&j, arena)) {
        return BW_EXIT_USAGE;
    }
    judge_trace(&j, &pulls);
    find_question(&j);
    if (args->json) {
        bw_judge_answer_json(&j);
    } else {
        bw_judge_answer_text(&j);
    }
    if (args->value[OPT_PLOT] != NULL && !draw(&j, &pulls, args->value[OPT_PLOT])) {
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
    const char *plot = args->value[OPT_PLOT];
    size_t len = plot != NULL ? strlen(plot) : 0;
    if (plot != NULL && (len < 5 || strcmp(plot + len - 4, ".svg") != 0)) {
        bw_complain("--plot draws SVG: its file's name ends with .svg, not %s", plot);
        return BW_EXIT_USAGE;
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
    [OPT_PREVAILING] = {"--prevailing", "NM", "torque in N.m of its locking feature"},
    [OPT_RANGE] = {"--range", "A..B", "N.m for which the wrench is calibrated"},
    [OPT_UNCERTAINTY] = {"--uncertainty", "PERCENT", "its expanded uncertainty, of the torque"},
    [OPT_ANGLE_UNCERTAINTY] = {"--angle-uncertainty", "DEG",
                               "its expanded uncertainty of an angle"},
    [OPT_PLOT] = {"--plot", "FILE.svg", "draws torque over angle and over time"},
    {NULL, NULL, NULL},
};

const bw_command bw_command_judge = {
    .name = "judge",
    .usage = "TRACE --sequence SEQUENCE --group NAME --stage N [--standing NM] "
             "[--prevailing NM] [--range A..B] [--uncertainty PERCENT] [--angle-uncertainty DEG] "
             "[--plot FILE.svg]",
    .says = "judges one torque-angle trace, and says why",
    .more = "TRACE is CSV with the heading time_s,torque_Nm,angle_deg; angle_deg may be empty.\n"
            "The decision rule is the sequence's own.",
    .least_words = 1,
    .most_words = 1,
    .option = options,
    .run = judge,
};
