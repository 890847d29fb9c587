/* test_arena.c - memory that is given back all at once. */
#include "cmocka_all.h"

#include "base/arena.h"

#include <stdalign.h>
#include <stdbool.h>
#include <string.h>

static void test_zeroed_aligned_apart(void **state) {
    (void)state;
    enum { N = 2000 };
    bw_arena *arena = bw_arena_new(0);
    unsigned char *item[N];
    for (size_t i = 0; i < N; i++) {
        size_t size = i % 97 + 1;
        item[i] = bw_arena_alloc(arena, size, 1);
        assert_non_null(item[i]);
        assert_int_equal((uintptr_t)item[i] % alignof(max_align_t), 0);
        for (size_t k = 0; k < size; k++) {
            assert_int_equal(item[i][k], 0);
        }
        memset(item[i], (int)(i % 251) + 1, size);
    }
    for (size_t i = 0; i < N; i++) {
        for (size_t k = 0; k < i % 97 + 1; k++) {
            assert_int_equal(item[i][k], i % 251 + 1);
        }
    }
    bw_arena_free(arena);
}

static void test_size_overflow(void **state) {
    (void)state;
    bw_arena *arena = bw_arena_new(0);
    assert_null(bw_arena_alloc(arena, SIZE_MAX, 2));
    assert_null(bw_arena_alloc(arena, 2, SIZE_MAX));
    assert_null(bw_arena_alloc(arena, SIZE_MAX / 16 + 1, 16));
    assert_null(bw_arena_alloc(arena, SIZE_MAX, 1));
    assert_null(bw_arena_copy(arena, "x", SIZE_MAX));
    assert_non_null(bw_arena_alloc(arena, 1, 1));
    bw_arena_free(arena);
}

/* Gets nearly all of what it may hold in small pieces, and no more. */
static void test_limit(void **state) {
    (void)state;
    static const size_t limits[] = {100, 4096, 20000, 100000, 1 << 20};
    for (size_t l = 0; l < sizeof limits / sizeof limits[0]; l++) {
        bw_arena *arena = bw_arena_new(limits[l]);
        size_t got = 0;
        while (bw_arena_alloc(arena, 1, 48) != NULL) {
            got += 48;
            assert_true(got <= limits[l]);
        }
        assert_true(got + 48 * (limits[l] / 16384 + 1) + 16 > limits[l]);
        bw_arena_free(arena);
    }
}

static void test_one_piece_up_to_the_limit(void **state) {
    (void)state;
    bw_arena *arena = bw_arena_new(100000);
    assert_null(bw_arena_alloc(arena, 100001, 1));
    assert_non_null(bw_arena_alloc(arena, 100000, 1));
    assert_null(bw_arena_alloc(arena, 1, 1));
    bw_arena_free(arena);
}

static void test_nothing_at_all(void **state) {
    (void)state;
    bw_arena *arena = bw_arena_new(0);
    assert_non_null(bw_arena_alloc(arena, 0, 8));
    assert_non_null(bw_arena_alloc(arena, 8, 0));
    assert_null(bw_arena_text(arena, NULL));
    assert_string_equal(bw_arena_text(arena, ""), "");
    bw_arena_free(arena);
    bw_arena_free(NULL);
}

static void test_copies(void **state) {
    (void)state;
    bw_arena *arena = bw_arena_new(0);
    char text[] = "main cap";
    char *whole = bw_arena_text(arena, text);
    char *part = bw_arena_copy(arena, text, 4);
    char *with_nul = bw_arena_copy(arena, "a\0b", 3);
    text[0] = 'x';
    assert_string_equal(whole, "main cap");
    assert_string_equal(part, "main");
    assert_memory_equal(with_nul, "a\0b", 4);
    bw_arena_free(arena);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_zeroed_aligned_apart),
        cmocka_unit_test(test_size_overflow),
        cmocka_unit_test(test_limit),
        cmocka_unit_test(test_one_piece_up_to_the_limit),
        cmocka_unit_test(test_nothing_at_all),
        cmocka_unit_test(test_copies),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
