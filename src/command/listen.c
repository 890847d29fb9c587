/* listen.c - boltwright listen: what a device says, decoded, live or from a capture. */
#include "command/command.h"
#include "command/register.h"
#include "command/which.h"

#include "base/clock.h"
#include "base/decimal.h"
#include "base/text.h"
#include "device/playback.h"

#include <errno.h>
#include <jansson.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/signalfd.h>
#include <unistd.h>

enum { OPT_DRIVER, OPT_SAVE, OPT_REPLAY, OPT_SECONDS };

/* One that went away is looked for so often and so long. */
enum { AGAIN_MS = 200, GONE_MS = 5000 };

typedef struct listener {
    bool json;
    double now_s; /* for what has no time of its own */
    FILE *save;
    bool save_failed;
} listener;

/* ---- printing ---- */

static void end_line(void) {
    (void)putchar('\n');
    (void)fflush(stdout);
}

static void print_reading(const listener *l, double time_s, const char *name, double torque_Nm,
                          bool has_angle, double angle_deg) {
    char text[3][40];
    if (l->json) {
        (void)bw_number_text(time_s, text[0], sizeof text[0]);
        (void)bw_number_text(torque_Nm, text[1], sizeof text[1]);
        (void)bw_text_copy(text[2], sizeof text[2], "null");
        if (has_angle) {
            (void)bw_number_text(angle_deg, text[2], sizeof text[2]);
        }
        (void)printf("{\"t_s\":%s,\"%s\":%s,\"angle_deg\":%s}", text[0], name, text[1], text[2]);
    } else {
        (void)printf("%10s s %10s N\u00b7m", bw_decimal_format(time_s, 3, text[0], sizeof text[0]),
                     bw_decimal_format(torque_Nm, 2, text[1], sizeof text[1]));
        if (has_angle) {
            (void)printf(" %8s\u00b0", bw_decimal_format(angle_deg, 1, text[2], sizeof text[2]));
        }
        (void)printf("%s", strcmp(name, "peak_torque_Nm") == 0 ? "  peak" : "");
    }
    end_line();
}

static void on_sample(void *ctx, const bw_sample *s) {
    print_reading(ctx, s->time_s, "torque_Nm", s->torque_Nm, s->has_angle, s->angle_deg);
}

static void on_result(void *ctx, double time_s, double peak_Nm, bool has_turn, double turn_deg) {
    print_reading(ctx, time_s, "peak_torque_Nm", peak_Nm, has_turn, turn_deg);
}

static void print_words(const listener *l, const char *key, const char *line) {
    char time[40];
    if (!l->json) {
        (void)printf("%10s s  %s", bw_decimal_format(l->now_s, 3, time, sizeof time), line);
        end_line();
        return;
    }
    json_t *string = json_string(line);
    char *text = string != NULL ? json_dumps(string, JSON_ENCODE_ANY) : NULL;
    (void)printf("{\"t_s\":%s,\"%s\":%s}", bw_number_text(l->now_s, time, sizeof time), key,
                 text != NULL ? text : "\"\"");
    end_line();
    free(text);
    json_decref(string);
}

static void on_say(void *ctx, const char *line) {
    print_words(ctx, "say", line);
}

static void on_unread(void *ctx, const char *line) {
    print_words(ctx, "error", line);
}

static bw_device_sink sink_of(listener *l) {
    return (bw_device_sink){
        .ctx = l, .sample = on_sample, .result = on_result, .say = on_say, .unread = on_unread};
}

/* ---- a capture ---- */

static int replay(const bw_args *args, listener *l) {
    const char *path = args->value[OPT_REPLAY];
    if (bw_is_folder_instead(path, "a capture")) {
        return BW_EXIT_USAGE;
    }
    FILE *file = strcmp(path, "-") == 0 ? stdin : fopen(path, "re");
    if (file == NULL) {
        bw_complain("%s cannot be read: %s", path, strerror(errno));
        return BW_EXIT_USAGE;
    }
    bw_err err = {0};
    bw_playback *playback = NULL;
    const bw_device_sink sink = sink_of(l);
    bw_status rc = bw_playback_new(file, args->value[OPT_DRIVER], &playback, &err);
    rc = rc == BW_E_DATA ? BW_E_ARG : rc;
    bool more = true;
    while (rc == BW_OK && more) {
        rc = bw_playback_next(playback, &sink, &l->now_s, &more, &err);
        if (rc != BW_OK) {
            (void)bw_fail_in(&err, rc, path);
        }
    }
    bw_playback_free(playback);
    if (file != stdin) {
        (void)fclose(file);
    }
    return bw_exit_of(rc, &err);
}

/* ---- a device ---- */

static void save_line(void *ctx, const char *line, size_t len) {
    listener *l = ctx;
    l->save_failed |= fwrite(line, 1, len, l->save) != len || fflush(l->save) != 0;
}

static bool begin_save(const char *path, const char *spec, bw_device *device, listener *l) {
    char time[BW_TIME_TEXT_MAX];
    l->save = fopen(path, "wxe"); /* a capture is never written over */
    if (l->save == NULL) {
        bw_complain("%s cannot be written: %s", path, strerror(errno));
        return false;
    }
    (void)fprintf(l->save, "# boltwright capture\n# spec: %s\n# driver: %s\n# began: %s\n", spec,
                  bw_device_driver(device), bw_time_text(bw_clock_wall_ms(), time));
    bw_device_tap(device, save_line, l);
    return true;
}

/* Signals that end the listening come by a descriptor. */
static int open_signals(void) {
    sigset_t set;
    (void)sigemptyset(&set);
    (void)sigaddset(&set, SIGINT);
    (void)sigaddset(&set, SIGTERM);
    (void)sigaddset(&set, SIGHUP);
    return sigprocmask(SIG_BLOCK, &set, NULL) == 0 ? signalfd(-1, &set, SFD_CLOEXEC) : -1;
}

/* Waits for bytes or the end; true at the end. */
static bool wait_for(const bw_device *device, int signals, int wait_ms) {
    struct pollfd on[] = {{.fd = signals, .events = POLLIN},
                          {.fd = bw_device_fd(device), .events = POLLIN}};
    (void)poll(on, 2, wait_ms);
    return on[0].revents != 0;
}

typedef struct watch {
    bw_device *device;
    listener *listener;
    int signals;
    int64_t end_ns;
} watch;

/* The device is gone: waits for it.  BW_OK once it is back, or at the end of listening. */
static bw_status wait_for_return(const watch *w, bool *over, bw_err *err) {
    int64_t until_ns = bw_clock_mono_ns() + (int64_t)GONE_MS * 1000000;
    print_words(w->listener, "say", err->text);
    bw_status rc = BW_E_ABSENT;
    while (rc != BW_OK && !*over && bw_clock_mono_ns() < until_ns) {
        *over = wait_for(w->device, w->signals, AGAIN_MS) || bw_clock_mono_ns() >= w->end_ns;
        rc = bw_device_reopen(w->device, err);
    }
    if (rc == BW_OK) {
        print_words(w->listener, "say", "it is back");
    }
    return *over ? BW_OK : rc;
}

static bw_status watch_device(const watch *w, bw_err *err) {
    const bw_device_sink sink = sink_of(w->listener);
    bool over = false;
    bw_status rc = BW_OK;
    while (rc == BW_OK && !over) {
        over = wait_for(w->device, w->signals, bw_device_every_ms(w->device));
        int64_t now_ns = bw_clock_mono_ns();
        w->listener->now_s = bw_device_time_s(w->device, now_ns);
        over |= now_ns >= w->end_ns;
        bw_device_raw_reset(w->device, now_ns); /* what is to be kept goes to the file */
        rc = bw_device_pump(w->device, now_ns, &sink, err);
        if (rc == BW_E_DATA) {
            print_words(w->listener, "say", err->text);
            rc = BW_OK;
        } else if (rc == BW_E_ABSENT) {
            rc = wait_for_return(w, &over, err);
        }
        if (w->listener->save_failed) {
            rc = bw_fail(err, BW_E_IO, "the capture could not be written");
        }
    }
    return rc;
}

static bool read_seconds(const char *text, int64_t *end_ns) {
    bw_decimal seconds;
    if (text == NULL) {
        *end_ns = INT64_MAX;
        return true;
    }
    if (bw_decimal_parse(text, strlen(text), &seconds, NULL) != BW_OK || seconds.value <= 0 ||
        seconds.value > 1e6) {
        bw_complain("--seconds is a number greater than 0, as in 10");
        return false;
    }
    *end_ns = bw_clock_mono_ns() + (int64_t)(seconds.value * 1e9);
    return true;
}

static int live(const bw_args *args, listener *l) {
    char spec[BW_SPEC_MAX];
    char warning[BW_ERR_TEXT_MAX];
    bw_err err = {0};
    bw_status rc = bw_wrench_spec(args->home, args->word[0], spec, warning, &err);
    if (rc != BW_OK) {
        return bw_exit_of(rc, &err);
    }
    bw_text text = {.data = spec, .size = sizeof spec, .len = strlen(spec)};
    if (args->value[OPT_DRIVER] != NULL) {
        bw_text_add(&text, ",driver=%s", args->value[OPT_DRIVER]);
    }
    watch w = {.listener = l, .signals = open_signals()};
    if (text.cut || w.signals < 0) {
        bw_complain("%s", text.cut ? "PORT and --driver are too long" : "signals cannot be had");
        return text.cut ? BW_EXIT_USAGE : BW_EXIT_MACHINE;
    }
    rc = bw_device_open(spec, &w.device, &err);
    if (rc != BW_OK) {
        (void)close(w.signals);
        return bw_exit_of(rc == BW_E_DATA ? BW_E_ARG : rc, &err);
    }
    int code = BW_EXIT_USAGE;
    if (read_seconds(args->value[OPT_SECONDS], &w.end_ns) &&
        (args->value[OPT_SAVE] == NULL || begin_save(args->value[OPT_SAVE], spec, w.device, l))) {
        rc = watch_device(&w, &err);
        code = bw_exit_of(rc, &err);
    }
    bw_device_free(w.device);
    (void)close(w.signals);
    if (l->save != NULL && fclose(l->save) != 0 && code == BW_EXIT_YES) {
        bw_complain("the capture could not be written");
        code = BW_EXIT_MACHINE;
    }
    return code;
}

static int run_listen(const bw_args *args) {
    listener l = {.json = args->json};
    bool from_file = args->value[OPT_REPLAY] != NULL;
    bool fits = from_file ? args->word_n == 0 && args->value[OPT_SAVE] == NULL &&
                                args->value[OPT_SECONDS] == NULL
                          : args->word_n == 1;
    if (!fits) {
        bw_complain("write it so: boltwright listen PORT [--driver NAME] [--save FILE], or "
                    "boltwright listen --replay FILE");
        return BW_EXIT_USAGE;
    }
    return from_file ? replay(args, &l) : live(args, &l);
}

static const bw_option_row options[] = {
    [OPT_DRIVER] = {"--driver", "NAME",
                    "NAME[,KEY=VALUE...]; else the one of PORT or FILE, or line"},
    [OPT_SAVE] = {"--save", "FILE", "keeps the raw bytes with their times; never writes over one"},
    [OPT_REPLAY] = {"--replay", "FILE", "plays such a file back; - is standard input"},
    [OPT_SECONDS] = {"--seconds", "N", "stops after so long; else at Ctrl-C"},
    {NULL, NULL, NULL},
};

const bw_command bw_command_listen = {
    .name = "listen",
    .usage = "PORT [--driver NAME] [--save FILE] [--seconds N] | --replay FILE [--driver NAME]",
    .says = "prints what a device says, decoded; saves and replays the raw bytes",
    .more = "PORT may carry settings as --wrench does: /dev/ttyUSB0,baud=19200,unit=lbf.ft.\n"
            "A capture is text, an event a line: read it, cut it, send it as a bug report.",
    .least_words = 0,
    .most_words = 1,
    .option = options,
    .run = run_listen,
};
