/* calc.c - boltwright calc: one expression in the sequences' own sandbox. */
#include "command/command.h"

#include "sequence/sequence.h"

#include <jansson.h>
#include <stdio.h>
#include <string.h>

/* One value: its text; a table: a line for each member. */
static void print_answer(const char *json) {
    json_t *answer = json_loads(json, 0, NULL);
    const char *text = json_string_value(json_object_get(answer, "text"));
    const char *key = NULL;
    json_t *member = NULL;
    if (text != NULL) {
        (void)printf("%s\n", text);
    } else {
        json_object_foreach(answer, key, member) {
            const char *one = json_string_value(json_object_get(member, "text"));
            (void)printf("%s = %s\n", key, one != NULL ? one : "?");
        }
    }
    json_decref(answer);
}

static int calc(const bw_args *args) {
    bw_arena *arena = bw_arena_new(0);
    const char *json = NULL;
    bw_err err = {0};
    if (arena == NULL) {
        bw_complain("no memory");
        return BW_EXIT_MACHINE;
    }
    bw_status status = bw_sequence_calc(args->word[0], arena, &json, &err);
    int code = BW_EXIT_YES;
    if (status == BW_E_DATA) {
        bw_complain("%s", err.text);
        code = BW_EXIT_USAGE;
    } else if (status != BW_OK) {
        code = bw_exit_of(status, &err);
    } else if (args->json) {
        (void)printf("%s\n", json);
    } else {
        print_answer(json);
    }
    bw_arena_free(arena);
    return code;
}

static const bw_option_row options[] = {{NULL, NULL, NULL}};

const bw_command bw_command_calc = {
    .name = "calc",
    .usage = "'EXPRESSION'",
    .says = "computes with units and the trade's formulas",
    .more = "Examples:\n"
            "  boltwright calc 'to(lbf_ft(28), \"N.m\")'\n"
            "  boltwright calc 'mm(55.012) - mm(54.967)'",
    .least_words = 1,
    .most_words = 1,
    .option = options,
    .run = calc,
};
