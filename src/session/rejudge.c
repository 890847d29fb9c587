/* rejudge.c - see rejudge.h. */
#include "session/rejudge.h"

#include "base/text.h"
#include "judge/judge.h"
#include "sequence/sequence.h"
#include "session/session_int.h"
#include "trade/trace.h"

#include <stdlib.h>
#include <string.h>

enum { SOURCES_MAX = 64, FINDING_MAX = 400 };

/* The longest that a record takes, as text and as samples. */
static const size_t trace_limit_bytes = (size_t)512 << 20;

/* One build on its way through the audit. */
typedef struct build {
    struct build *next;
    bw_arena *arena;
    char *id;
    bw_source source[SOURCES_MAX];
    size_t source_n;
    uint64_t adopted;        /* entry that adopted another text, to be loaded; 0: none */
    bool tried;              /* the sequence was loaded, or could not be */
    bw_session *session;     /* NULL until then, or where it could not be */
    char trace[BW_HASH_HEX]; /* of the newest pull */
    uint64_t pull_entry;
    bool complete;
    int64_t samples;
    double peak_Nm;
    bool has_turn;
    double turn_deg;
    bw_terms terms; /* of the wrench that made it */
} build;

/* A sequence that was loaded: builds have it in common, and loading it takes a process of its own.
 */
typedef struct loaded_plan {
    struct loaded_plan *next;
    const bw_source *source; /* all in the arena of the build that was the first to have it */
    size_t source_n;
    const bw_plan *plan;
} loaded_plan;

struct bw_rejudger {
    bool judges; /* else it is only looked whether builds are complete */
    build *head;
    loaded_plan *plans;
};

bw_rejudger *bw_rejudger_new(bool judges) {
    bw_rejudger *rejudger = calloc(1, sizeof *rejudger);
    if (rejudger != NULL) {
        rejudger->judges = judges;
    }
    return rejudger;
}

void bw_rejudger_free(bw_rejudger *rejudger) {
    for (build *b = rejudger != NULL ? rejudger->head : NULL; b != NULL;) {
        build *next = b->next;
        bw_arena_free(b->arena);
        free(b);
        b = next;
    }
    free(rejudger);
}

static build *find_build(bw_rejudger *r, const char *id) {
    for (build *b = r->head; b != NULL; b = b->next) {
        if (strcmp(b->id, id) == 0) {
            return b;
        }
    }
    build *b = calloc(1, sizeof *b);
    bw_arena *arena = bw_arena_new(0);
    char *copy = arena != NULL ? bw_arena_text(arena, id) : NULL;
    if (b == NULL || copy == NULL) {
        bw_arena_free(arena);
        free(b);
        return NULL;
    }
    b->arena = arena;
    b->id = copy;
    b->next = r->head;
    r->head = b;
    return b;
}

static const char *finding(bw_arena *arena, const char *format, ...) BW_PRINTF(2, 3);

static const char *finding(bw_arena *arena, const char *format, ...) {
    char line[FINDING_MAX];
    bw_text text = bw_text_on(line, sizeof line);
    va_list args;
    va_start(args, format);
    bw_text_add_v(&text, format, args);
    va_end(args);
    return bw_arena_text(arena, line);
}

static const char *keep_source(build *b, const bw_entry *e, bw_arena *arena) {
    if (e->kind == BW_KIND_SEQUENCE_ADOPTED && b->tried) {
        b->source_n = 0;
        b->tried = false;
        b->session = NULL;
        b->adopted = e->number;
    }
    if (b->source_n == SOURCES_MAX) {
        return finding(arena, "more than %d texts of sequences", SOURCES_MAX);
    }
    bw_source *source = &b->source[b->source_n++];
    source->name = bw_arena_text(b->arena, bw_entry_text(e, BW_M_FILE, "sequence"));
    source->text = bw_arena_text(b->arena, bw_entry_text(e, BW_M_TEXT, ""));
    source->len = source->text != NULL ? strlen(source->text) : 0;
    return NULL;
}

static bool same_sources(const loaded_plan *a, const build *b) {
    bool same = a->source_n == b->source_n;
    for (size_t i = 0; same && i < a->source_n; i++) {
        same = strcmp(a->source[i].name, b->source[i].name) == 0 &&
               strcmp(a->source[i].text, b->source[i].text) == 0;
    }
    return same;
}

/* The plan of the build's sources; NULL with why not. */
static const bw_plan *find_plan(bw_rejudger *r, build *b, bw_arena *arena, const char **why) {
    bw_loaded loaded = {0};
    bw_err err = {0};
    for (const loaded_plan *one = r->plans; one != NULL; one = one->next) {
        if (same_sources(one, b)) {
            return one->plan;
        }
    }
    if (bw_sequence_load_sources(b->source, b->source_n, b->arena, &loaded, &err) != BW_OK) {
        *why = finding(arena, "the recorded sequence can't be loaded: %s", err.text);
        return NULL;
    }
    if (loaded.plan == NULL) {
        *why = finding(arena, "the recorded sequence has mistakes: line %d: %s",
                       loaded.mistake[0].where.line, loaded.mistake[0].text);
        return NULL;
    }
    loaded_plan *one = bw_arena_alloc(b->arena, 1, sizeof *one);
    bw_source *source = bw_arena_alloc(b->arena, b->source_n, sizeof *source);
    if (one != NULL && source != NULL) { /* else it is loaded once more when it is met again */
        memcpy(source, b->source, b->source_n * sizeof *source);
        *one = (loaded_plan){r->plans, source, b->source_n, loaded.plan};
        r->plans = one;
    }
    return loaded.plan;
}

static const char *load(bw_rejudger *r, build *b, const bw_entry *e, bw_arena *arena) {
    bw_session_identity identity = {.build = b->id, .bench = e->bench, .rehearsal = e->rehearsal};
    const char *why = NULL;
    b->tried = true;
    const bw_plan *plan = find_plan(r, b, arena, &why);
    if (plan == NULL) {
        return why;
    }
    b->session = bw_session_new(plan, &identity, b->arena);
    return b->session == NULL ? finding(arena, "no memory to judge again") : NULL;
}

typedef struct catching_up {
    build *b;
    uint64_t until; /* number of the first entry that is still to come */
} catching_up;

static bool catch_up_one(void *ctx, const bw_entry *e, const char *json, size_t len) {
    catching_up *c = ctx;
    (void)json;
    (void)len;
    if (e->number >= c->until) {
        return false;
    }
    if (e->build != NULL && strcmp(e->build, c->b->id) == 0) {
        bw_session_apply(c->b->session, e);
    }
    return true;
}

/* What was done by the text before stands by the new one as well. */
static const char *catch_up(build *b, const bw_origin *origin, const bw_entry *e, bw_arena *arena) {
    catching_up c = {.b = b, .until = e->number};
    bw_err err = {0};
    if (b->adopted == 0 || b->session == NULL) {
        return NULL;
    }
    b->adopted = 0;
    if (origin->each(origin->ctx, b->id, catch_up_one, &c, &err) != BW_OK) {
        return finding(arena, "what was done before the new text can't be read: %s", err.text);
    }
    return bw_session_misfits(b->session) > 0
               ? finding(arena, "what was done before does not fit the text that was adopted")
               : NULL;
}

/* Of the wrench that is in use when the pull comes: its verdict may be waited for, and another
 * wrench may be taken up meanwhile. */
static void keep_pull(build *b, const bw_entry *e) {
    b->terms = bw_session_terms(b->session);
    (void)bw_text_copy(b->trace, sizeof b->trace, bw_entry_text(e, BW_M_TRACE, ""));
    b->pull_entry = e->number;
    b->complete = bw_entry_flag(e, BW_M_COMPLETE, false);
    b->samples = bw_entry_whole(e, BW_M_SAMPLES, 0);
    b->peak_Nm = bw_entry_number(e, BW_M_PEAK_NM, 0);
    b->has_turn = e->value[BW_M_TURN_DEG].type == BW_VALUE_NUMBER;
    b->turn_deg = bw_entry_number(e, BW_M_TURN_DEG, 0);
}

static bw_status judge_trace(const build *b, const bw_origin *origin, const bw_stage *stage,
                             const bw_standing *standing, bw_arena *arena, bw_verdict *out,
                             bw_err *err) {
    const void *data = NULL;
    size_t len = 0;
    const bw_sample *sample = NULL;
    size_t n = 0;
    bw_status status = origin->read(origin->ctx, b->trace, arena, &data, &len, err);
    if (status == BW_OK) {
        status = bw_trace_read(data, len, arena, &sample, &n, err);
    }
    if (status != BW_OK) {
        return status;
    }
    bw_judge judge;
    bw_judge_begin(&judge, stage, standing, &b->terms);
    for (size_t i = 0; i < n; i++) {
        (void)bw_judge_sample(&judge, &sample[i]);
    }
    *out = bw_judge_end(&judge, b->complete);
    return BW_OK;
}

/* One trace at a time is in memory. */
static bw_status judge_pull(const build *b, const bw_origin *origin, const bw_stage *stage,
                            const bw_standing *standing, bw_verdict *out, bw_err *err) {
    if (b->samples == 0) {
        *out = bw_judge_result(stage, standing, &b->terms, b->peak_Nm, b->has_turn, b->turn_deg);
        return BW_OK;
    }
    bw_arena *arena = bw_arena_new(trace_limit_bytes);
    bw_status status = arena == NULL ? bw_fail(err, BW_E_MEM, "no memory for a trace")
                                     : judge_trace(b, origin, stage, standing, arena, out, err);
    bw_arena_free(arena);
    return status;
}

/* What was measured or seen at the fastener behind the pull stands in the record. */
static bw_status judge_again(const build *b, const bw_origin *origin, const bw_spot *spot,
                             bw_verdict *out, bw_err *err) {
    bw_stage stage = bw_spot_aim(b->session, spot);
    bw_standing standing = bw_spot_standing(b->session, spot);
    bw_status status = judge_pull(b, origin, &stage, &standing, out, err);
    if (status == BW_OK) {
        *out = bw_judge_seen(&stage, out, &b->session->seen);
    }
    return status;
}

static bool same_bits(double a, double b) {
    uint64_t a_bits = 0;
    uint64_t b_bits = 0;
    a += 0.0; /* a record writes minus zero as 0 */
    b += 0.0;
    memcpy(&a_bits, &a, sizeof a_bits);
    memcpy(&b_bits, &b, sizeof b_bits);
    return a_bits == b_bits;
}

/* A figure that the trace gives, and the record's. */
typedef struct figure {
    const char *what;
    bw_member member;
    bool has;
    double value;
} figure;

static const char *compare_figures(const bw_entry *e, const bw_verdict *v, bw_arena *arena) {
    const figure figures[] = {
        {"peak", BW_M_PEAK_NM, true, v->peak_Nm},
        {"turn", BW_M_FINAL_DEG, v->has_turn, v->turn_deg},
        {"torque to judge", BW_M_JUDGED_NM, v->has_judged, v->judged_Nm},
        {"uncertainty", BW_M_UNCERTAINTY_NM, v->uncertainty_Nm > 0, v->uncertainty_Nm},
        {"slope", BW_M_SLOPE, v->slope_Nm_per_deg > 0, v->slope_Nm_per_deg},
        {"stretch", BW_M_STRETCH_MM, v->has_stretch, v->stretch_mm},
    };
    for (size_t i = 0; i < sizeof figures / sizeof figures[0]; i++) {
        const figure *f = &figures[i];
        bool has = e->value[f->member].type == BW_VALUE_NUMBER;
        double said = bw_entry_number(e, f->member, 0);
        if (has != f->has || (has && !same_bits(said, f->value))) {
            return finding(arena, "the trace gives %s %s (%s) of %.6f, the record says %.6f",
                           f->has ? "a" : "no", f->what, bw_member_name(f->member),
                           f->has ? f->value : 0, said);
        }
    }
    return NULL;
}

static const char *compare(const bw_entry *e, const bw_verdict *v, bw_arena *arena) {
    char words[FINDING_MAX];
    const char *outcome = bw_entry_text(e, BW_M_VERDICT, "");
    const char *reasons = bw_entry_text(e, BW_M_REASONS, "");
    (void)bw_reasons_text(v->reasons, words, sizeof words);
    if (strcmp(outcome, bw_outcome_word(v->outcome)) != 0 || strcmp(reasons, words) != 0) {
        return finding(arena, "the trace gives %s (%s), the record says %s (%s)",
                       bw_outcome_word(v->outcome), words, outcome, reasons);
    }
    if (bw_entry_flag(e, BW_M_MORE, false) != v->more) {
        return finding(arena, "the trace and the record differ on whether to pull again");
    }
    if (bw_entry_flag(e, BW_M_LOOSE, false) != v->loose) {
        return finding(arena, "the trace and the record differ on whether it came loose");
    }
    const char *rule = bw_entry_text(e, BW_M_RULE, "");
    if (strcmp(rule, bw_rule_word(v->rule)) != 0) {
        return finding(arena, "judged by the rule %s, the record says %s", bw_rule_word(v->rule),
                       rule);
    }
    return compare_figures(e, v, arena);
}

static const char *compare_cycle(const build *b, const bw_spot *spot, const bw_entry *e,
                                 bw_arena *arena) {
    int cycle = bw_cycle_with(b->session, spot);
    int64_t said = bw_entry_whole(e, BW_M_CYCLE, 0);
    bool counts = b->session->plan->group[b->session->plan->step[spot->step].group].cycles > 0;
    return !counts || said == cycle
               ? NULL
               : finding(arena,
                         "the record makes it cycle %d of this fastener, the verdict says %lld",
                         cycle, (long long)said);
}

static const char *rejudge_verdict(build *b, const bw_origin *origin, const bw_entry *e,
                                   bw_arena *arena) {
    bw_spot spot = {0};
    bw_verdict verdict = {0};
    bw_err err = {0};
    if (!bw_session_entry_spot(b->session, e, &spot)) {
        return finding(arena, "the verdict names a fastener that the recorded sequence has not");
    }
    if ((uint64_t)bw_entry_whole(e, BW_M_OF, 0) != b->pull_entry) {
        return finding(arena, "the verdict is not about the pull before it");
    }
    if (judge_again(b, origin, &spot, &verdict, &err) != BW_OK) {
        return finding(arena, "can't be judged again: %s", err.text);
    }
    const char *found = compare(e, &verdict, arena);
    return found != NULL ? found : compare_cycle(b, &spot, e, arena);
}

static const char *rejudge_derived(build *b, const bw_entry *e, bw_arena *arena) {
    size_t step = 0;
    size_t derived = 0;
    double value = 0;
    bw_err err = {0};
    if (!bw_session_entry_derived(b->session, e, &step, &derived)) {
        return finding(arena, "the value is not one of the recorded sequence");
    }
    const bw_derived *d = &b->session->plan->step[step].derived[derived];
    if (bw_session_value(b->session, step, derived, SIZE_MAX, 0, &value, &err) != BW_OK) {
        bool told = strcmp(bw_entry_text(e, BW_M_TEXT, ""), err.text) == 0;
        return told ? NULL : finding(arena, "can't be computed again: %s", err.text);
    }
    if (e->value[BW_M_TEXT].type != BW_VALUE_NONE) {
        return finding(arena, "the readings give %.6f, the record says that they give none",
                       bw_from_base(value, d->unit));
    }
    if (!same_bits(bw_from_base(value, d->unit), bw_entry_number(e, BW_M_VALUE, 0))) {
        return finding(arena, "the readings give %.6f, the record says %.6f",
                       bw_from_base(value, d->unit), bw_entry_number(e, BW_M_VALUE, 0));
    }
    const char *verdict = bw_session_value_verdict(d, value);
    if (strcmp(verdict, bw_entry_text(e, BW_M_VERDICT, "")) != 0) {
        return finding(arena, "the readings give %s, the record says %s", verdict,
                       bw_entry_text(e, BW_M_VERDICT, ""));
    }
    return NULL;
}

static const char *judge_entry(build *b, const bw_origin *origin, const bw_entry *e,
                               bw_arena *arena, uint64_t *rejudged) {
    if (e->kind == BW_KIND_VERDICT) {
        ++*rejudged;
        return rejudge_verdict(b, origin, e, arena);
    }
    if (e->kind == BW_KIND_DERIVED) {
        ++*rejudged;
        return rejudge_derived(b, e, arena);
    }
    if (e->kind == BW_KIND_PULL && bw_entry_flag(e, BW_M_ASKED, false)) {
        keep_pull(b, e);
    }
    return NULL;
}

/* A build that was closed as complete, held against its own sequence. */
static const char *check_complete(const build *b, const bw_entry *e, bw_arena *arena) {
    bw_tally tally;
    if (e->kind != BW_KIND_BUILD_CLOSED ||
        strcmp(bw_entry_text(e, BW_M_OUTCOME, ""), "complete") != 0) {
        return NULL;
    }
    bw_session_tally(b->session, &tally);
    if (tally.accepted + tally.overridden >= tally.fasteners) {
        return NULL;
    }
    return finding(arena,
                   BW_FINDING_INCOMPLETE "the recorded sequence asks for %zu fastener stages, %zu "
                                         "are accepted and %zu overridden",
                   tally.fasteners, tally.accepted, tally.overridden);
}

const char *bw_rejudge_entry(void *ctx, const bw_origin *origin, const bw_entry *entry,
                             bw_arena *arena, uint64_t *rejudged) {
    bw_rejudger *r = ctx;
    build *b = find_build(r, entry->build);
    if (b == NULL) {
        return finding(arena, "no memory to judge again");
    }
    bool text = entry->kind == BW_KIND_SEQUENCE_ADOPTED || entry->kind == BW_KIND_MODULE_ADOPTED;
    if (text) {
        return keep_source(b, entry, arena);
    }
    const char *found = NULL;
    if (!b->tried && b->source_n > 0) {
        found = load(r, b, entry, arena);
        found = found != NULL ? found : catch_up(b, origin, entry, arena);
        if (found != NULL && !r->judges) {
            found = finding(arena, BW_FINDING_INCOMPLETE "whether it is can't be told: %s", found);
        }
    }
    if (b->session == NULL) {
        return found;
    }
    uint64_t misfits = bw_session_misfits(b->session);
    const char *judged = r->judges ? judge_entry(b, origin, entry, arena, rejudged) : NULL;
    bw_session_apply(b->session, entry);
    if (r->judges && judged == NULL && bw_session_misfits(b->session) != misfits) {
        judged = finding(arena, "the entry does not fit the recorded sequence");
    }
    if (judged == NULL) {
        judged = check_complete(b, entry, arena);
    }
    return found != NULL ? found : judged;
}
