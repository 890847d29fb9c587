/* scene.c - see scene.h. */
#include "cmocka_all.h"
#include "scene.h"

#include "base/text.h"
#include "device/capture.h"
#include "device/driver_load.h"

#include <dirent.h>
#include <stdlib.h>
#include <string.h>

enum { SCENE_BYTES_MAX = 1 << 16 };

/* ---- reading ---- */

static void add_bytes(scene *s, const bw_capture_line *line) {
    bool joins = s->part_n > 0 && s->part[s->part_n - 1].event == 0;
    assert_true(s->len + line->n <= SCENE_BYTES_MAX && s->read_n < SCENE_READS_MAX);
    if (!joins) {
        assert_true(s->part_n < SCENE_PARTS_MAX);
        s->part[s->part_n++] = (scene_part){.from = s->len};
    }
    memcpy(s->bytes + s->len, line->bytes, line->n);
    s->len += line->n;
    s->read_end[s->read_n++] = s->len;
    s->part[s->part_n - 1].to = s->len;
}

static void take_line(scene *s, const char *line, size_t len) {
    static const char spec[] = "# spec: ";
    uint8_t store[BW_CAPTURE_READ_MAX];
    bw_capture_line parsed;
    bw_err err = {.code = BW_OK};
    if (bw_capture_parse(line, len, store, &parsed, &err) != BW_OK) {
        fail_msg("%s: %s", s->name, err.text);
    }
    if (parsed.kind == BW_CAPTURE_BYTES) {
        add_bytes(s, &parsed);
    } else if (parsed.kind == BW_CAPTURE_EVENT) {
        assert_true(s->part_n < SCENE_PARTS_MAX);
        s->part[s->part_n++] = (scene_part){.event = parsed.event, .from = s->len, .to = s->len};
    } else if (len >= sizeof spec && strncmp(line, spec, sizeof spec - 1) == 0) {
        const char *comma = memchr(line, ',', len); /* behind the port */
        comma = comma != NULL ? memchr(comma + 1, ',', len - (size_t)(comma + 1 - line)) : NULL;
        if (comma != NULL) { /* behind driver=NAME */
            size_t rest = len - (size_t)(comma + 1 - line);
            assert_true(rest < sizeof s->settings);
            memcpy(s->settings, comma + 1, rest);
        }
    }
}

scene scene_read(const char *folder, const char *name) {
    scene s = {.bytes = malloc(SCENE_BYTES_MAX)};
    assert_non_null(s.bytes);
    assert_true(bw_text_copy(s.name, sizeof s.name, name));
    char path[512];
    bw_text text = bw_text_on(path, sizeof path);
    bw_text_add(&text, "%s/%s.txt", folder, name);
    size_t len = 0;
    char *capture = test_read_file(path, &len);
    for (const char *line = capture; *line != '\0';) {
        size_t line_len = strcspn(line, "\n");
        take_line(&s, line, line_len);
        line += line_len + (line[line_len] == '\n' ? 1 : 0);
    }
    free(capture);
    text = bw_text_on(path, sizeof path);
    bw_text_add(&text, "%s/%s.expected", folder, name);
    s.expected = test_read_file(path, &len);
    assert_true(s.len > 0);
    return s;
}

void scene_free(scene *s) {
    free(s->bytes);
    free(s->expected);
}

void scene_each(const char *folder, void (*play)(void *ctx, const scene *s), void *ctx) {
    DIR *dir = opendir(folder);
    assert_non_null(dir);
    size_t n = 0;
    const struct dirent *entry = NULL;
    while ((entry = readdir(dir)) != NULL) {
        size_t len = strlen(entry->d_name);
        char name[64];
        if (len > 4 && len - 4 < sizeof name && strcmp(entry->d_name + len - 4, ".txt") == 0) {
            memcpy(name, entry->d_name, len - 4);
            name[len - 4] = '\0';
            scene s = scene_read(folder, name);
            play(ctx, &s);
            scene_free(&s);
            n++;
        }
    }
    (void)closedir(dir);
    assert_true(n > 0);
}

/* ---- playing ---- */

bw_feed *scene_feed(const bw_driver *driver, void *self, const char *settings) {
    bw_feed *feed = NULL;
    bw_err err = {.code = BW_OK};
    if (bw_driver_check(driver, driver->name, &err) != BW_OK) {
        fail_msg("%s", err.text);
    }
    assert_int_equal(bw_feed_new(driver, &feed, NULL), BW_OK);
    if (self != NULL) {
        bw_feed_put_self(feed, self);
    }
    char words[256];
    assert_true(bw_text_copy(words, sizeof words, settings));
    for (char *word = words; *word != '\0';) {
        char *end = word + strcspn(word, ",");
        bool more = *end == ',';
        *end = '\0';
        char *equals = strchr(word, '=');
        assert_non_null(equals);
        *equals = '\0';
        if (bw_feed_set(feed, word, equals + 1, &err) != BW_OK) {
            fail_msg("%s", err.text);
        }
        word = more ? end + 1 : end;
    }
    return feed;
}

/* Where the next read behind `from` ends, at most at `to`. */
static size_t next_end(const scene *s, scene_division division, size_t at, size_t from, size_t to) {
    if (division == SCENE_BYTE_BY_BYTE) {
        return from + 1;
    }
    if (division == SCENE_IN_TWO) {
        return from < at && at < to ? at : to;
    }
    for (size_t i = 0; i < s->read_n; i++) {
        if (s->read_end[i] > from) {
            return s->read_end[i] < to ? s->read_end[i] : to;
        }
    }
    return to;
}

void scene_play(const scene *s, const bw_driver *driver, void *self, scene_division division,
                size_t at, test_log *log) {
    test_log_clear(log);
    bw_feed *feed = scene_feed(driver, self, s->settings);
    bw_feed_out out = test_feed_out(log);
    for (size_t i = 0; i < s->part_n; i++) {
        const scene_part *part = &s->part[i];
        if (part->event != 0) {
            assert_int_equal(bw_feed_event(feed, part->event, &out, NULL), BW_OK);
        }
        for (size_t from = part->from; from < part->to;) {
            size_t end = next_end(s, division, at, from, part->to);
            assert_int_equal(bw_feed_bytes(feed, s->bytes + from, end - from, &out, NULL), BW_OK);
            from = end;
        }
    }
    bw_feed_free(feed);
}

/* ---- damage ---- */

scene scene_damaged(const scene *s, scene_damage how, size_t at, int bit) {
    scene d = *s;
    d.bytes = malloc(s->len + 1);
    assert_non_null(d.bytes);
    memcpy(d.bytes, s->bytes, s->len);
    d.read_n = 0; /* a part is one read */
    if (how == SCENE_FLIP) {
        d.bytes[at] = (uint8_t)(d.bytes[at] ^ (1 << bit));
        return d;
    }
    if (how == SCENE_DROP) {
        memmove(d.bytes + at, d.bytes + at + 1, s->len - at - 1);
    } else {
        memmove(d.bytes + at + 1, d.bytes + at, s->len - at);
    }
    d.len = how == SCENE_DROP ? s->len - 1 : s->len + 1;
    for (size_t i = 0; i < d.part_n; i++) {
        size_t *const end[] = {&d.part[i].from, &d.part[i].to};
        for (size_t e = 0; e < 2; e++) {
            *end[e] += *end[e] <= at ? 0 : how == SCENE_DROP ? (size_t)-1 : 1;
        }
    }
    return d;
}

void scene_each_damage(const scene *s, const bw_driver *driver, void *self,
                       void (*check)(const scene *damaged, const test_log *log)) {
    test_log log = test_log_new();
    for (size_t at = 0; at < s->len; at++) {
        for (int i = 0; i < 10; i++) {
            scene_damage how = i < 8 ? SCENE_FLIP : i == 8 ? SCENE_DROP : SCENE_DOUBLE;
            scene d = scene_damaged(s, how, at, i);
            scene_play(&d, driver, self, SCENE_AS_CAPTURED, 0, &log);
            check(&d, &log);
            free(d.bytes);
        }
    }
    test_log_free(&log);
}

/* ---- checks ---- */

size_t scene_lines(const char *text) {
    size_t n = 0;
    for (; *text != '\0'; text++) {
        n += *text == '\n' ? 1 : 0;
    }
    return n;
}

static void assert_reads(const scene *s, const test_log *log) {
    if (strcmp(log->text, s->expected) == 0) {
        return;
    }
    const char *is = log->text;
    const char *should = s->expected;
    for (size_t len = strcspn(is, "\n"); is[len] != '\0' && strncmp(is, should, len + 1) == 0;) {
        is += len + 1;
        should += len + 1;
        len = strcspn(is, "\n");
    }
    fail_msg("%s reads\n  %.*s\nand should\n  %.*s\n", s->name, (int)strcspn(is, "\n"), is,
             (int)strcspn(should, "\n"), should);
}

void scene_assert_expected(const scene *s, const bw_driver *driver, void *self) {
    test_log log = test_log_new();
    scene_play(s, driver, self, SCENE_AS_CAPTURED, 0, &log);
    assert_reads(s, &log);
    for (size_t at = 0; at <= s->len; at++) {
        scene_play(s, driver, self, SCENE_IN_TWO, at, &log);
        assert_reads(s, &log);
    }
    scene_play(s, driver, self, SCENE_BYTE_BY_BYTE, 0, &log);
    assert_reads(s, &log);
    test_log_free(&log);
}

/* The reading at `is` is the expected one, or that one with its angle left out. */
static bool is_reading(const char *expected, const char *is) {
    static const char angle[] = " angle_deg=";
    while (*is == *expected && *is != '\n') {
        is++;
        expected++;
    }
    if (*is != '\n' && strncmp(expected - 1, angle, sizeof angle - 1) == 0 && is[-1] == ' ') {
        expected += strcspn(expected, " \n"); /* "time_s=" may follow, after the same blank */
        expected += *expected == ' ' ? 1 : 0;
        size_t len = strcspn(is, "\n") + 1;
        return strncmp(is, expected, len) == 0;
    }
    if (*is == '\n' && strncmp(expected, angle, sizeof angle - 1) == 0) {
        return expected[1 + strcspn(expected + 1, " \n")] == '\n';
    }
    return *is == *expected;
}

void scene_assert_nothing_wrong(const scene *s, const test_log *log) {
    const char *expected = s->expected;
    for (const char *line = log->text; *line != '\0'; line += strcspn(line, "\n") + 1) {
        size_t len = strcspn(line, "\n") + 1;
        if (strncmp(line, "sample", 6) != 0 && strncmp(line, "result", 6) != 0) {
            continue;
        }
        while (*expected != '\0' && !is_reading(expected, line)) {
            expected += strcspn(expected, "\n") + 1;
        }
        if (*expected == '\0') {
            fail_msg("%s: accepted what was never sent: %.*s", s->name, (int)len, line);
        }
        expected += strcspn(expected, "\n") + 1;
    }
}

/* Whole lines that both texts begin with. */
static size_t same_at_start(const char *a, const char *b) {
    size_t n = 0;
    for (; *a != '\0' && *a == *b; a++, b++) {
        n += *a == '\n' ? 1 : 0;
    }
    return n;
}

static size_t same_at_end(const char *a, size_t a_len, const char *b, size_t b_len) {
    size_t n = 0;
    while (a_len > 0 && b_len > 0 && a[a_len - 1] == b[b_len - 1]) {
        a_len--;
        b_len--;
        n += a[a_len] == '\n' ? 1 : 0;
    }
    bool whole = a_len == 0 || b_len == 0 || (a[a_len - 1] == '\n' && b[b_len - 1] == '\n');
    return n - (!whole && n > 0 ? 1 : 0);
}

void scene_assert_only_here(const scene *s, const test_log *log) {
    size_t lines = scene_lines(s->expected);
    size_t same = same_at_start(s->expected, log->text) +
                  same_at_end(s->expected, strlen(s->expected), log->text, log->len);
    if (same + 2 < lines || scene_lines(log->text) > lines + 1) {
        fail_msg("%s: damage went beyond its line:\n%s", s->name, log->text);
    }
}
