/* pulled_test.c - which pulls have their curves shown: those of one stage, of the newest attempts.
 */
#include "cmocka_all.h"

#include "face/display/pulled.h"

#include <math.h>
#include <string.h>

typedef struct spot {
    const char *step;
    int64_t stage, fastener, attempt;
} spot;

static bw_entry entry_of(bw_kind kind, spot at) {
    bw_entry e = bw_entry_of(kind);
    bw_entry_set_text(&e, BW_M_STEP, at.step);
    bw_entry_set_whole(&e, BW_M_STAGE, at.stage);
    bw_entry_set_whole(&e, BW_M_FASTENER, at.fastener);
    bw_entry_set_whole(&e, BW_M_ATTEMPT, at.attempt);
    return e;
}

static void pull(bw_pulled *p, spot at, const char *hash) {
    bw_entry e = entry_of(BW_KIND_PULL, at);
    bw_entry_set_text(&e, BW_M_TRACE, hash);
    bw_pulled_entry(p, &e);
}

static void verdict(bw_pulled *p, spot at, const char *word) {
    bw_entry e = entry_of(BW_KIND_VERDICT, at);
    bw_entry_set_text(&e, BW_M_VERDICT, word);
    bw_pulled_entry(p, &e);
}

/* As if its trace had been read. */
static void draw(bw_pulled_place *place, bool by_time) {
    json_decref(place->curve);
    place->curve = json_pack("[[ff][ff]]", 0.0, 1.0, 2.0, 3.0);
    place->by_time = by_time;
}

static void each_place_has_the_strokes_of_its_newest_attempt(void **state) {
    bw_pulled p = {0};
    (void)state;
    for (size_t i = 0; i < BW_PULLED_STROKES + 2; i++) {
        const char hash[] = {(char)('a' + (char)i), '\0'};
        pull(&p, (spot){"t", 1, 4, 1}, hash);
    }
    assert_int_equal(p.n, 1);
    assert_int_equal(p.place[0].stroke_n, BW_PULLED_STROKES);
    assert_string_equal(p.place[0].stroke[0], "c");
    assert_string_equal(p.place[0].stroke[BW_PULLED_STROKES - 1], "j");
    pull(&p, (spot){"t", 1, 4, 2}, "k");
    assert_int_equal(p.n, 1);
    assert_int_equal(p.place[0].stroke_n, 1);
    pull(&p, (spot){"t", 1, 5, 1}, ""); /* a bare result: nothing to draw */
    assert_int_equal(p.place[1].stroke_n, 0);
    bw_pulled_free(&p);
}

static void the_oldest_gives_way_and_another_stage_begins_anew(void **state) {
    bw_pulled p = {0};
    (void)state;
    for (int64_t i = 1; i <= BW_PULLED_PLACES + 2; i++) {
        pull(&p, (spot){"t", 1, i, 1}, "a");
        draw(&p.place[p.n - 1], false);
    }
    assert_int_equal(p.n, BW_PULLED_PLACES);
    assert_int_equal(p.place[0].fastener, 3);
    assert_int_equal(p.place[p.n - 1].fastener, BW_PULLED_PLACES + 2);
    verdict(&p, (spot){"t", 2, 5, 1}, "pass"); /* of a stage that nobody pulled at here */
    assert_false(p.place[2].judged);
    pull(&p, (spot){"t", 2, 1, 1}, "a");
    assert_int_equal(p.n, 1);
    pull(&p, (spot){"u", 2, 1, 1}, "a");
    assert_int_equal(p.n, 1);
    assert_string_equal(p.step, "u");
    bw_entry taken_back = bw_entry_of(BW_KIND_CORRECTION);
    bw_pulled_entry(&p, &taken_back);
    assert_int_equal(p.n, 0);
}

static void siblings_are_the_judged_ones_drawn_alike(void **state) {
    static const char *const words[] = {"pass", "pass", "low", "pass", NULL};
    const bw_plan plan = {0};
    bw_pulled p = {.plan = &plan};
    (void)state;
    for (int64_t i = 1; i <= 5; i++) {
        pull(&p, (spot){"t", 1, i, 1}, "a");
        if (words[i - 1] != NULL) {
            verdict(&p, (spot){"t", 1, i, 1}, words[i - 1]);
        }
        draw(&p.place[i - 1], i == 4);
    }
    json_t *object = json_object();
    bw_pulled_set(&p, 9, object);
    assert_int_equal(json_object_size(object), 0);
    bw_pulled_set(&p, 1, object);
    json_t *siblings = json_object_get(object, "siblings");
    assert_true(json_is_true(json_object_get(object, "has_turn")));
    assert_int_equal(json_array_size(json_object_get(object, "curve")), 2);
    assert_int_equal(json_array_size(siblings), 2); /* 4 is over time, 5 is not judged yet */
    json_t *low = json_array_get(siblings, 1);
    assert_int_equal(json_integer_value(json_object_get(low, "place")), 3);
    assert_true(json_is_true(json_object_get(low, "odd")));
    json_decref(object);
    bw_pulled_free(&p);
}

static void without_a_trace_there_is_no_curve(void **state) {
    const bw_plan plan = {0};
    bw_pulled p = {.plan = &plan};
    (void)state;
    pull(&p, (spot){"t", 1, 1, 1}, "a");
    json_t *object = json_object();
    bw_pulled_set(&p, 1, object);
    assert_int_equal(json_object_size(object), 0);
    json_decref(object);
    bw_pulled_free(&p);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_place_has_the_strokes_of_its_newest_attempt),
        cmocka_unit_test(the_oldest_gives_way_and_another_stage_begins_anew),
        cmocka_unit_test(siblings_are_the_judged_ones_drawn_alike),
        cmocka_unit_test(without_a_trace_there_is_no_curve),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
