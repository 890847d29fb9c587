/* bench_plan.c - the plan of bench.h. */
#include "bench.h"

#include <math.h>

#define NM(v)                                                                                      \
    { .value = (v), .unit = BW_UNIT_NM, .decimals = 0 }
#define DEG(v)                                                                                     \
    { .value = (v), .unit = BW_UNIT_DEG, .decimals = 0 }

#define TORQUE_STAGE(low_, target_, high_, turn_)                                                  \
    {                                                                                              \
        .stage = {.kind = BW_STAGE_TORQUE,                                                         \
                  .target_Nm = (target_),                                                          \
                  .low_Nm = (low_),                                                                \
                  .high_Nm = (high_),                                                              \
                  .low_deg = -INFINITY,                                                            \
                  .high_deg = INFINITY,                                                            \
                  .least_turn_deg = (turn_)},                                                      \
        .target = NM(target_), .low = NM(low_), .high = NM(high_)                                  \
    }

#define ANGLE_STAGE(low_, target_, high_)                                                          \
    {                                                                                              \
        .stage = {.kind = BW_STAGE_ANGLE,                                                          \
                  .low_Nm = -INFINITY,                                                             \
                  .high_Nm = INFINITY,                                                             \
                  .target_deg = (target_),                                                         \
                  .low_deg = (low_),                                                               \
                  .high_deg = (high_)},                                                            \
        .target = DEG(target_), .low = DEG(low_), .high = DEG(high_)                               \
    }

static const bw_place cap_places[] = {
    {.label = "1 left"}, {.label = "1 right"}, {.label = "2 left"}, {.label = "2 right"}};
static const size_t cap_order[] = {1, 2, 0, 3};
static const bw_place rod_places[] = {{.label = "1"}, {.label = "2"}};
static const size_t rod_order[] = {0, 1};

static const bw_group groups[] = {
    {.name = "caps",
     .say = "main cap bolts",
     .lubricant = "engine oil",
     .place_n = 4,
     .place = cap_places,
     .order = cap_order},
    {.name = "rods",
     .say = "rod bolts",
     .lubricant = "moly paste",
     .place_n = 2,
     .place = rod_places,
     .order = rod_order},
};

static const char *const ends[] = {"front", "rear"};
static const bw_reading_set sets[] = {
    {.id = "bore",
     .say = "bore of the shells",
     .unit = BW_UNIT_MM,
     .decimals = 3,
     .least = 50,
     .most = 51,
     .at_n = 2,
     .at = ends},
    {.id = "journal",
     .say = "journal diameter",
     .unit = BW_UNIT_MM,
     .decimals = 3,
     .least = 50,
     .most = 51,
     .at_n = 2,
     .at = ends},
};

static const size_t both[] = {0, 1};
static const size_t bore_only[] = {0};
static const size_t journal_only[] = {1};

static const size_t after_hot[] = {HOT};
static const size_t after_clean_and_bearings[] = {CLEAN, BEARINGS};
static const size_t after_caps[] = {CAPS};
static const size_t after_rods[] = {RODS};

static const bw_plan_stage cap_stages[] = {TORQUE_STAGE(28, 30, 32, 5),
                                           TORQUE_STAGE(57, 60, 63, 0)};
static const bw_plan_stage rod_stages[] = {TORQUE_STAGE(19, 20, 21, 5), ANGLE_STAGE(86, 90, 94)};

/* The formulas are found by name, so this table can't be const data of the file. */
typedef struct plan_store {
    bw_derived derived[3];
    bw_step step[STEPS];
    bw_plan plan;
} plan_store;

static void fill(plan_store *store) {
    store->derived[0] = (bw_derived){.id = "clearance",
                                     .say = "oil clearance",
                                     .formula = bw_formula_find("oil_clearance_least"),
                                     .of_n = 2,
                                     .of = both,
                                     .unit = BW_UNIT_MM,
                                     .decimals = 3,
                                     .low = 0.03,
                                     .high = 0.08};
    store->derived[1] = (bw_derived){.id = "bore_taper",
                                     .say = "taper of the bore",
                                     .formula = bw_formula_find("taper"),
                                     .of_n = 1,
                                     .of = bore_only,
                                     .unit = BW_UNIT_MM,
                                     .decimals = 3,
                                     .low = -INFINITY,
                                     .high = 0.01};
    store->derived[2] = (bw_derived){.id = "taper",
                                     .say = "taper of the journal",
                                     .formula = bw_formula_find("taper"),
                                     .of_n = 1,
                                     .of = journal_only,
                                     .unit = BW_UNIT_MM,
                                     .decimals = 3,
                                     .low = -INFINITY,
                                     .high = 0.01};
    bw_step *step = store->step;
    step[HOT] = (bw_step){.kind = BW_STEP_CAUTION, .id = "hot", .say = "The oven is hot."};
    step[BLOCK] = (bw_step){.kind = BW_STEP_NOTE, .id = "block", .say = "Number on the block"};
    step[CLEAN] = (bw_step){.kind = BW_STEP_CONFIRM,
                            .id = "clean",
                            .say = "Threads are clean.",
                            .after_n = 1,
                            .after = after_hot};
    step[BEARINGS] = (bw_step){.kind = BW_STEP_MEASURE,
                               .id = "bearings",
                               .say = "Measure shells and journals.",
                               .gauge = "bore gauge",
                               .set_n = 2,
                               .set = sets,
                               .derived_n = 3,
                               .derived = store->derived};
    step[CAPS] = (bw_step){.kind = BW_STEP_TIGHTEN,
                           .id = "caps",
                           .say = "Tighten the main caps.",
                           .after_n = 2,
                           .after = after_clean_and_bearings,
                           .group = 0,
                           .stage_n = 2,
                           .stage = cap_stages};
    step[RODS] = (bw_step){.kind = BW_STEP_TIGHTEN,
                           .id = "rods",
                           .say = "Tighten the rods.",
                           .after_n = 1,
                           .after = after_caps,
                           .group = 1,
                           .stage_n = 2,
                           .stage = rod_stages};
    step[TURN] = (bw_step){.kind = BW_STEP_CONFIRM,
                           .id = "turn",
                           .say = "The crank turns by hand.",
                           .after_n = 1,
                           .after = after_rods};
    store->plan = (bw_plan){.title = "Plover 2 bottom end",
                            .engine = "Plover 2",
                            .edition = "1",
                            .document = "Harbour pilot service, manual 7",
                            .revision = "C",
                            .invented = true,
                            .torque_unit = BW_UNIT_NM,
                            .group_n = 2,
                            .group = groups,
                            .step_n = STEPS,
                            .step = step};
}

const bw_plan *bench_plan(void) {
    static plan_store store;
    if (store.plan.step_n == 0) {
        fill(&store);
    }
    return &store.plan;
}
