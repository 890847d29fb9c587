/* kinds_plan.c - a plan with the kinds of stage that the plan of bench.c lacks; see bench.h. */
#include "bench.h"

#include <math.h>

#define NM(v)                                                                                      \
    { .value = (v), .unit = BW_UNIT_NM, .decimals = 0 }
#define DEG(v)                                                                                     \
    { .value = (v), .unit = BW_UNIT_DEG, .decimals = 0 }
#define MM(v)                                                                                      \
    { .value = (v), .unit = BW_UNIT_MM, .decimals = 2 }
#define NO_TURN_LIMITS   .low_deg = -INFINITY, .high_deg = INFINITY
#define NO_TORQUE_LIMITS .low_Nm = -INFINITY, .high_Nm = INFINITY

static const bw_plan_stage nut_stages[] = {
    {.stage = {.kind = BW_STAGE_PREVAILING,
               .low_Nm = 1,
               .high_Nm = 8,
               NO_TURN_LIMITS,
               .least_turn_deg = 360},
     .low = NM(1),
     .high = NM(8)},
    {.stage = {.kind = BW_STAGE_TORQUE,
               .adds_prevailing = true,
               .target_Nm = 40,
               .low_Nm = 38,
               .high_Nm = 42,
               NO_TURN_LIMITS,
               .least_turn_deg = 5},
     .target = NM(40),
     .low = NM(38),
     .high = NM(42)},
};

static const bw_plan_stage stud_stages[] = {
    {.stage =
         {.kind = BW_STAGE_TORQUE, .target_Nm = 20, .low_Nm = 18, .high_Nm = 22, NO_TURN_LIMITS},
     .target = NM(20),
     .low = NM(18),
     .high = NM(22)},
    {.stage = {.kind = BW_STAGE_STRETCH,
               .target_Nm = 45,
               .low_Nm = -INFINITY,
               .high_Nm = 60,
               NO_TURN_LIMITS,
               .target_mm = 0.15,
               .low_mm = 0.13,
               .high_mm = 0.17},
     .target = MM(0.15),
     .low = MM(0.13),
     .high = MM(0.17),
     .about = NM(45),
     .has_ceiling = true,
     .ceiling = NM(60)},
};

static const bw_plan_stage castle_stages[] = {
    {.stage = {.kind = BW_STAGE_SLOT,
               .target_Nm = 60,
               .low_Nm = 60,
               .high_Nm = 90,
               .low_deg = -INFINITY,
               .high_deg = 60},
     .low = NM(60),
     .high = NM(90),
     .slots = 6},
};

static const bw_plan_stage head_stages[] = {
    {.stage =
         {.kind = BW_STAGE_TORQUE, .target_Nm = 60, .low_Nm = 57, .high_Nm = 63, NO_TURN_LIMITS},
     .target = NM(60),
     .low = NM(57),
     .high = NM(63)},
    {.stage = {.kind = BW_STAGE_BACK_OFF,
               NO_TORQUE_LIMITS,
               .target_deg = 90,
               .low_deg = 75,
               .high_deg = 105},
     .target = DEG(90),
     .low = DEG(75),
     .high = DEG(105)},
    {.stage = {.kind = BW_STAGE_BACK_OFF, .until_loose = true, NO_TORQUE_LIMITS, NO_TURN_LIMITS}},
    {.stage = {.kind = BW_STAGE_YIELD,
               .snug_Nm = 40,
               .low_Nm = 70,
               .high_Nm = 110,
               .low_deg = -INFINITY,
               .high_deg = 120,
               .slope_share = 0.5},
     .low = NM(70),
     .high = NM(110),
     .snug = NM(40)},
};

static const bw_plan_stage check_stages[] = {
    {.stage =
         {.kind = BW_STAGE_CHECK, .low_Nm = 50, .high_Nm = 75, .low_deg = -INFINITY, .high_deg = 5},
     .low = NM(50),
     .high = NM(75)},
};

static const bw_plan_stage shaft_stages[] = {
    {.stage = {.kind = BW_STAGE_ROTATING,
               .low_Nm = 2,
               .high_Nm = 6,
               NO_TURN_LIMITS,
               .least_turn_deg = 360},
     .low = NM(2),
     .high = NM(6)},
};

static const bw_plan_stage sleeve_stages[] = {
    {.stage = {.kind = BW_STAGE_CREEP,
               .low_Nm = 2.0,
               .high_Nm = 2.6,
               NO_TURN_LIMITS,
               .least_turn_deg = 360},
     .low = {.value = 2.0, .unit = BW_UNIT_NM, .decimals = 1},
     .high = {.value = 2.6, .unit = BW_UNIT_NM, .decimals = 1}},
};

static const bw_plan_stage hook_stages[] = {
    {.stage = {.kind = BW_STAGE_TORQUE,
               .needs_trace = true,
               .target_Nm = 20,
               .low_Nm = 18,
               .high_Nm = 22,
               NO_TURN_LIMITS},
     .target = NM(20),
     .low = NM(18),
     .high = NM(22)},
};

static const bw_place places[] = {{.label = "1"}, {.label = "2"}, {.label = "3"},
                                  {.label = "4"}, {.label = "5"}, {.label = "6"}};
static const size_t in_turn[] = {0, 1, 2, 3, 4, 5};

#define GROUP(name_, say_, n)                                                                      \
    {                                                                                              \
        .name = (name_), .say = (say_), .lubricant = "engine oil", .place_n = (n),                 \
        .place = places, .order = in_turn                                                          \
    }

enum {
    NUTS_GROUP,
    STUDS_GROUP,
    CASTLE_GROUP,
    HEAD_GROUP,
    SHAFT_GROUP,
    SLEEVE_GROUP,
    HOOK_GROUP,
    GROUPS
};

static const bw_group groups[GROUPS] = {
    [NUTS_GROUP] = GROUP("nuts", "locking nuts", 3),
    [STUDS_GROUP] = GROUP("studs", "rod studs", 2),
    [CASTLE_GROUP] = GROUP("castle", "castle nuts", 2),
    [HEAD_GROUP] = GROUP("head", "head bolts", 6),
    [SHAFT_GROUP] = GROUP("shaft", "shaft", 1),
    [SLEEVE_GROUP] = GROUP("sleeve", "sleeve", 1),
    [HOOK_GROUP] = {.name = "hook",
                    .say = "hook bolt",
                    .lubricant = "engine oil",
                    .joint_class = 'A',
                    .place_n = 1,
                    .place = places,
                    .order = in_turn},
};

static const char *const cover_to[] = {"1"};
static const char *const cover_mark[] = {"C1"};
static const char *const answers[] = {"yes", "no"};

#define STEP(id_, group_, stages)                                                                  \
    {                                                                                              \
        .kind = BW_STEP_TIGHTEN, .id = (id_), .say = "Do it.", .group = (group_),                  \
        .stage_n = sizeof(stages) / sizeof(stages)[0], .stage = (stages)                           \
    }

static const bw_step steps[KINDS] = {
    [NUTS] = STEP("nuts", NUTS_GROUP, nut_stages),
    [STUDS] = STEP("studs", STUDS_GROUP, stud_stages),
    [CASTLE] = STEP("castle", CASTLE_GROUP, castle_stages),
    [HEAD] = STEP("head", HEAD_GROUP, head_stages),
    [CHECKED] = STEP("checked", HEAD_GROUP, check_stages),
    [SHAFT] = STEP("shaft", SHAFT_GROUP, shaft_stages),
    [SLEEVE] = STEP("sleeve", SLEEVE_GROUP, sleeve_stages),
    [QUESTION] = {.kind = BW_STEP_ASK,
                  .id = "question",
                  .say = "Is it so?",
                  .answer_n = 2,
                  .answer = answers},
    [TOP] = {.kind = BW_STEP_CONFIRM,
             .id = "top",
             .say = "Do it.",
             .position = "cylinder 1 at the top"},
    [HOOK] = STEP("hook", HOOK_GROUP, hook_stages),
    [COVER] = {.kind = BW_STEP_FIT,
               .id = "cover",
               .say = "Do it.",
               .fits = "cover",
               .to_n = 1,
               .to = cover_to,
               .mark = cover_mark},
};

static const bw_plan kinds_plan = {.title = "Plover 2 odd jobs",
                                   .engine = "Plover 2",
                                   .edition = "1",
                                   .document = "Harbour pilot service, manual 7",
                                   .revision = "C",
                                   .invented = true,
                                   .torque_unit = BW_UNIT_NM,
                                   .group_n = GROUPS,
                                   .group = groups,
                                   .step_n = KINDS,
                                   .step = steps};

const bw_plan *bench_kinds_plan(void) {
    return &kinds_plan;
}
