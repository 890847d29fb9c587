/* point_map_test.c - what is found out of a plan's points, and that each point has one spot. */
#include "cmocka_all.h"

#include "face/point_map.h"

#include <string.h>

enum { POINTS_MAX = 24 };

typedef struct bench {
    const char *at[POINTS_MAX];
    bw_reading_set set[2];
    bw_derived derived;
    size_t of[2];
    bw_step step;
} bench;

/* Labels parted by commas, for every set. */
static void set_up(bench *b, char *labels, size_t set_n, const char *say, const char *formula) {
    size_t n = 0;
    *b = (bench){.of = {0, 1}};
    for (char *at = labels; at != NULL && n < POINTS_MAX;) {
        char *comma = strchr(at, ',');
        b->at[n++] = at;
        at = comma != NULL ? comma + 1 : NULL;
        if (comma != NULL) {
            *comma = '\0';
        }
    }
    for (size_t i = 0; i < 2; i++) {
        b->set[i] = (bw_reading_set){.id = i == 0 ? "a" : "b", .say = say, .at_n = n, .at = b->at};
    }
    b->derived = (bw_derived){
        .id = "v", .say = "v", .formula = bw_formula_find(formula), .of_n = set_n, .of = b->of};
    b->step = (bw_step){.id = "s",
                        .say = "Measure.",
                        .set_n = set_n,
                        .set = b->set,
                        .derived_n = 1,
                        .derived = &b->derived};
    assert_non_null(b->derived.formula);
}

typedef struct row {
    const char *labels, *say, *formula;
    size_t set_n, parts, rows, columns;
    bw_body body;
    bool lies;
} row;

static const row rows[] = {
    {"top,middle,bottom", "bore", "taper", 1, 1, 3, 1, BW_BODY_BORE, false},
    {"top,middle,bottom", "bore", "worst_taper", 2, 1, 3, 2, BW_BODY_BORE, false},
    {"front,rear", "journal diameter", "worst_out_of_round", 2, 1, 2, 2, BW_BODY_SHAFT, true},
    {"front,rear", "bearing bore", "taper", 1, 1, 2, 1, BW_BODY_BORE, true},
    {"front,rear", "deck", "deck_height", 1, 1, 2, 1, BW_BODY_NONE, true},
    {"1,2,3", "Bohrung", "taper", 1, 1, 3, 1, BW_BODY_NONE, false},
    {"1 top,1 foot,2 top,2 foot", "bore", "largest", 1, 2, 2, 1, BW_BODY_BORE, false},
    {"1 top x,1 top y,1 foot x,1 foot y,2 top x,2 top y,2 foot x,2 foot y", "bore", "largest", 1, 2,
     2, 2, BW_BODY_BORE, false},
    {"1 inlet,1 exhaust,2 inlet,2 exhaust", "height", "largest", 1, 1, 2, 2, BW_BODY_NONE, false},
    {"along,across,diagonal 1,diagonal 2", "gap", "largest", 1, 1, 4, 1, BW_BODY_FACE, false},
    {"top,right,bottom,left", "gap", "range", 1, 1, 4, 1, BW_BODY_ROUND, false},
    {"first,second", "dial", "end_float", 1, 1, 2, 1, BW_BODY_FLOAT, false},
    {"1", "gap of the ring", "mean", 1, 1, 1, 1, BW_BODY_END_GAP, false},
    {"1", "spring", "mean", 1, 1, 1, 1, BW_BODY_NONE, false},
    /* nearly a product, and none */
    {"1 top,1 foot,2 top,2 rear", "bore", "largest", 1, 1, 4, 1, BW_BODY_NONE, false},
    {"1 top,1 foot,2 top", "bore", "largest", 1, 1, 3, 1, BW_BODY_NONE, false},
    {"a b,a c", "bore", "largest", 1, 1, 2, 1, BW_BODY_NONE, false},
    {" , x,y ", "bore", "largest", 1, 1, 3, 1, BW_BODY_NONE, false},
};

static void each_list_of_points_has_its_map(void **state) {
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        const row *r = &rows[i];
        char labels[200];
        bench b;
        assert_true(bw_text_copy(labels, sizeof labels, r->labels));
        set_up(&b, labels, r->set_n, r->say, r->formula);
        bw_point_map map = bw_point_map_of(&b.step, 0);
        if (map.part_n != r->parts || map.row_n != r->rows || map.column_n != r->columns ||
            map.body != r->body || map.lies != r->lies) {
            fail_msg("%s: %zu parts, %zu rows, %zu columns, %s%s", r->labels, map.part_n, map.row_n,
                     map.column_n, bw_body_word(map.body), map.lies ? ", level" : "");
        }
    }
}

/* There and back: no point is lost, none stands twice. */
static void each_point_has_one_spot(void **state) {
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char labels[200];
        bench b;
        assert_true(bw_text_copy(labels, sizeof labels, rows[i].labels));
        set_up(&b, labels, rows[i].set_n, rows[i].say, rows[i].formula);
        for (size_t k = 0; k < rows[i].set_n * b.set[0].at_n; k++) {
            size_t set = k / b.set[0].at_n;
            size_t at = k % b.set[0].at_n;
            bw_point_map map = bw_point_map_of(&b.step, set);
            bw_point_spot spot = bw_point_spot_of(&map, set, at);
            size_t back_set = 9;
            size_t back_at = 999;
            assert_true(spot.part < map.part_n && spot.row < map.row_n &&
                        spot.column < map.column_n);
            bw_point_at(&map, spot, &back_set, &back_at);
            assert_int_equal(back_set, set);
            assert_int_equal(back_at, at);
        }
    }
}

static void names_and_characters(void **state) {
    char labels[] = "1 top x,1 top y,1 foot x,1 foot y,2 top x,2 top y,2 foot x,2 foot y";
    char bytes[400];
    bench b;
    bw_text text = bw_text_on(bytes, sizeof bytes);
    (void)state;
    set_up(&b, labels, 1, "bore", "largest");
    bw_point_map map = bw_point_map_of(&b.step, 0);
    bw_point_part_add(&text, &map, 1);
    bw_point_row_add(&text, &map, 1);
    bw_point_column_add(&text, &map, 1);
    assert_string_equal(bytes, "2footy");
    text = bw_text_on(bytes, sizeof bytes);
    bw_point_map_add(&text, &map, 0, 5, 2);
    assert_string_equal(bytes, "                  x    y\n"
                               "           top   .   >?<\n"
                               "          foot   .    . \n");
}

/* Two sets are told apart by the words in which they differ. */
static void columns_of_two_sets(void **state) {
    static const struct {
        const char *one, *two, *names;
    } cases[] = {
        {"bore across the engine", "bore along the engine", "across|along"},
        {"diameter, throw upright", "diameter, throw level", "upright|level"},
        {"bore", "bore now", "bore|bore now"},
        {"now bore", "bore", "now bore|bore"},
        {"same", "same", "same|same"},
        {"a b a", "a a", "b a|a"},
        {"", "x", "|x"},
    };
    (void)state;
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        char labels[] = "top,middle,bottom";
        char bytes[200];
        bench b;
        bw_text text = bw_text_on(bytes, sizeof bytes);
        set_up(&b, labels, 2, "x", "worst_taper");
        b.set[0].say = cases[i].one;
        b.set[1].say = cases[i].two;
        bw_point_map map = bw_point_map_of(&b.step, 1);
        bw_point_column_add(&text, &map, 0);
        bw_text_add(&text, "|");
        bw_point_column_add(&text, &map, 1);
        assert_string_equal(bytes, cases[i].names);
    }
}

static void a_heading_where_names_fit(void **state) {
    char labels[] = "top,middle,bottom";
    char bytes[400];
    bench b;
    bw_text text = bw_text_on(bytes, sizeof bytes);
    (void)state;
    set_up(&b, labels, 2, "bore", "worst_taper");
    b.set[0].say = "bore across the engine";
    b.set[1].say = "bore along the engine";
    bw_point_map map = bw_point_map_of(&b.step, 1);
    bw_point_map_add(&text, &map, 1, 1, 2);
    assert_string_equal(bytes, "                across   along\n"
                               "           top      .       . \n"
                               "        middle      .      >?<\n"
                               "        bottom      .       . \n");
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_list_of_points_has_its_map),
        cmocka_unit_test(each_point_has_one_spot),
        cmocka_unit_test(names_and_characters),
        cmocka_unit_test(columns_of_two_sets),
        cmocka_unit_test(a_heading_where_names_fit),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
