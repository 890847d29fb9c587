/* kit.h - what the tests of sequences share. */
#ifndef BW_TESTS_SEQUENCE_KIT_H
#define BW_TESTS_SEQUENCE_KIT_H

#include "base/arena.h"
#include "sequence/sequence.h"

#include <stdbool.h>
#include <stddef.h>

/* The main of a test program that is its own worker: use as `return kit_main(argc, argv, tests)`
 * through KIT_MAIN. */
#define KIT_MAIN(tests)                                                                            \
    int main(int argc, char *argv[]) {                                                             \
        return kit_is_worker(argc, argv) ? bw_sequence_worker_main()                               \
                                         : cmocka_run_group_tests(tests, NULL, NULL);              \
    }
bool kit_is_worker(int argc, char *argv[]);

/* ---- texts ---- */

/* A loaded text and what it lives in; ended by kit_end. */
typedef struct kit_run {
    bw_arena *arena;
    bw_loaded loaded;
} kit_run;

/* Loads a text under the name "test.lua", without a file; fails the test where that does not
 * return BW_OK. */
kit_run kit_load(const char *text);
void kit_end(kit_run *run);

/* A line that every sequence needs, so that a text's own lines begin at 2. */
#define KIT_HEAD "sequence{title = 'T', engine = 'E', document = 'D'}\n"

/* A group "g" with two places and a step that tightens it: one line each. */
#define KIT_GROUP "group{name = 'g', say = 's', lubricant = 'oil', places = labels{'a', 'b'}}\n"
#define KIT_TIGHTEN                                                                                \
    "tighten{id = 't', say = 's', group = 'g', stages = {torque{Nm(60), within = percent(5)}}}\n"

/* Stages over that group, beginning in line 4. */
#define KIT_STAGE(stages)                                                                          \
    KIT_HEAD KIT_GROUP "tighten{id = 't', say = 's', group = 'g', stages = {\n" stages "\n}}\n"

/* Fails the test with all mistakes shown unless there is a plan. */
void kit_assert_plan(const kit_run *run);

/* Fails unless the mistakes are exactly one, at this line, with this in its text. */
void kit_assert_one(const kit_run *run, int line, const char *part);

/* Texts of which each holds exactly one mistake. */
typedef struct kit_row {
    const char *text;
    int line;
    const char *part;
} kit_row;

void kit_check_rows(const kit_row *rows, size_t n);
#define KIT_CHECK(rows) kit_check_rows(rows, sizeof(rows) / sizeof *(rows))

/* Fails unless some mistake is at this line, with this in its text. */
void kit_assert_has(const kit_run *run, int line, const char *part);

/* All mistakes as "file:line: text\n"; free it. */
char *kit_mistakes_text(const bw_loaded *loaded);

/* A plan as text, every member of it; free it. */
char *kit_plan_text(const bw_plan *plan);

/* Fails unless everything in the plan is as plan.h promises. */
void kit_assert_sound(const bw_plan *plan);

/* ---- files ---- */

/* A new empty folder; kit_folder_remove takes it away with all that is in it. */
char *kit_folder(void);
void kit_folder_remove(char *folder);

/* Writes folder/name, making folders on the way. */
void kit_write(const char *folder, const char *name, const void *data, size_t len);
void kit_write_text(const char *folder, const char *name, const char *text);

/* folder/name; free it. */
char *kit_path(const char *folder, const char *name);

/* A whole file, NUL-ended; free it. */
char *kit_read(const char *path, size_t *len);

#endif
