/* scene.h - a driver's capture on the stage: played whole, in parts, and damaged.
 *
 * The driver is compiled into the test and run by the feed that the worker uses. */
#ifndef BW_TESTS_DEVICE_SCENE_H
#define BW_TESTS_DEVICE_SCENE_H

#include "log.h"

#include <stdbool.h>

enum { SCENE_PARTS_MAX = 64, SCENE_READS_MAX = 1024 };

/* An event, or all bytes between two events. */
typedef struct scene_part {
    bw_device_event event; /* 0: bytes */
    size_t from, to;       /* in bytes */
} scene_part;

typedef struct scene {
    char name[64];
    uint8_t *bytes; /* of all reads */
    size_t len;
    scene_part part[SCENE_PARTS_MAX];
    size_t part_n;
    size_t read_end[SCENE_READS_MAX]; /* where each read ended */
    size_t read_n;
    char settings[256]; /* "KEY=VALUE,KEY=VALUE" */
    char *expected;
} scene;

/* How the bytes of a scene are divided into reads. */
typedef enum scene_division { SCENE_AS_CAPTURED, SCENE_IN_TWO, SCENE_BYTE_BY_BYTE } scene_division;

/* FOLDER/NAME.txt and FOLDER/NAME.expected; freed by scene_free. */
scene scene_read(const char *folder, const char *name);
void scene_free(scene *s);

/* A feed of the driver with the scene's settings.  self: see bw_feed_put_self, or NULL. */
bw_feed *scene_feed(const bw_driver *driver, void *self, const char *settings);

/* Plays it anew into log; at: where IN_TWO divides each part that it lies in. */
void scene_play(const scene *s, const bw_driver *driver, void *self, scene_division division,
                size_t at, test_log *log);

typedef enum scene_damage { SCENE_FLIP, SCENE_DROP, SCENE_DOUBLE } scene_damage;

/* A copy with one byte damaged; bit: of FLIP.  Shares `expected`; freed with free(copy.bytes). */
scene scene_damaged(const scene *s, scene_damage how, size_t at, int bit);

/* Calls check for each flipped bit, dropped and doubled byte, with what was read of it. */
void scene_each_damage(const scene *s, const bw_driver *driver, void *self,
                       void (*check)(const scene *damaged, const test_log *log));

/* For each NAME.txt in the folder; fails where there is none. */
void scene_each(const char *folder, void (*play)(void *ctx, const scene *s), void *ctx);

size_t scene_lines(const char *text);

/* ---- checks that hold for every driver ---- */

/* As expected, whatever the division into reads. */
void scene_assert_expected(const scene *s, const bw_driver *driver, void *self);

/* Every reading of the log is one of the expected, in their order: what was damaged may be missing,
 * nothing else was accepted.  For drivers whose frames carry a checksum. */
void scene_assert_nothing_wrong(const scene *s, const test_log *log);

/* Where one byte is damaged, no more than its own line is, and where it was a line's end, the next
 * one too: all others read as before.  For drivers without a checksum, whose damaged line itself
 * nobody can check. */
void scene_assert_only_here(const scene *s, const test_log *log);

#endif
