/* port.c - boltwright port: the serial ports here, the drivers, and which suggests itself. */
#include "command/command.h"

#include "base/decimal.h"
#include "base/text.h"
#include "device/ports.h"

#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { OPT_SECONDS, OPT_ASK, OPT_QUICK };

typedef struct drivers {
    bw_driver_row *row;
    size_t n;
} drivers;

/* ---- drivers ---- */

static void print_json(json_t *object) {
    char *text = object != NULL ? json_dumps(object, JSON_COMPACT | JSON_SORT_KEYS) : NULL;
    if (text != NULL) {
        (void)printf("%s\n", text);
    }
    free(text);
    json_decref(object);
}

static json_t *can_json(uint32_t can) {
    json_t *list = json_array();
    for (size_t bit = 0; bw_driver_can_word(bit) != NULL; bit++) {
        if ((can & (1u << bit)) != 0) {
            (void)json_array_append_new(list, json_string(bw_driver_can_word(bit)));
        }
    }
    return list;
}

static void print_driver_json(const bw_driver_row *row) {
    if (row->fault[0] != '\0') {
        print_json(json_pack("{s:s,s:s,s:s,s:s}", "kind", "driver", "name", row->name, "path",
                             row->path, "fault", row->fault));
        return;
    }
    print_json(json_pack("{s:s,s:s,s:s,s:s,s:s,s:s,s:i,s:o}", "kind", "driver", "name", row->name,
                         "version", row->version, "says", row->says, "source", row->source, "path",
                         row->path, "baud", (int)row->line.baud, "can", can_json(row->can)));
}

static void print_drivers(const drivers *d, bool json) {
    if (!json) {
        (void)printf("drivers\n");
    }
    for (size_t i = 0; i < d->n; i++) {
        const bw_driver_row *row = &d->row[i];
        if (json) {
            print_driver_json(row);
        } else if (row->fault[0] != '\0') {
            (void)printf("  %-12s can't be used: %s\n", row->name, row->fault);
        } else {
            (void)printf("  %-12s %s (%u baud; version %s)\n", row->name, row->says,
                         (unsigned)row->line.baud, row->version);
        }
    }
}

/* ---- ports ---- */

static void set_word(json_t *object, const char *key, const char *word) {
    (void)json_object_set_new(object, key, word[0] != '\0' ? json_string(word) : json_null());
}

static void print_port_json(const bw_port_row *row, const bw_hearing *heard, const char *fault) {
    json_t *object = json_pack("{s:s,s:s}", "kind", "port", "path", row->path);
    char usb[16] = "";
    if (row->vendor_id != 0) {
        bw_text text = bw_text_on(usb, sizeof usb);
        bw_text_add(&text, "%04x:%04x", (unsigned)row->vendor_id, (unsigned)row->product_id);
    }
    set_word(object, "by_id", row->by_id);
    set_word(object, "says", row->says);
    set_word(object, "usb", usb);
    set_word(object, "maker", row->maker);
    set_word(object, "product", row->product);
    set_word(object, "serial", row->serial);
    set_word(object, "suggests", heard != NULL ? heard->spec : "");
    set_word(object, "driver", heard != NULL ? heard->driver : "");
    set_word(object, "why", fault != NULL ? fault : heard != NULL ? heard->says : "");
    if (heard != NULL) {
        (void)json_object_set_new(object, "bytes", json_integer((json_int_t)heard->bytes));
        (void)json_object_set_new(object, "readings", json_integer((json_int_t)heard->readings));
    }
    print_json(object);
}

static void print_port_text(const bw_port_row *row, const bw_hearing *heard, const char *fault) {
    (void)printf("  %s", row->path);
    if (row->says[0] != '\0') {
        (void)printf("  %s", row->says);
    }
    if (row->serial[0] != '\0') {
        (void)printf("  (USB serial number %s: usb:%s names it wherever it is plugged in)",
                     row->serial, row->serial);
    }
    (void)printf("\n");
    if (fault != NULL) {
        (void)printf("    %s\n", fault);
    } else if (heard != NULL) {
        (void)printf("    %s\n", heard->says);
        if (heard->spec[0] != '\0') {
            (void)printf("    --wrench %s\n", heard->spec);
        }
    }
}

typedef struct look {
    drivers drivers;
    int listen_ms;
    bool ask;
    bool json;
} look;

static void show_port(const look *l, const bw_port_row *row, bool listens, bool *failed) {
    bw_hearing heard;
    bw_err err = {0};
    bw_status rc = BW_OK;
    if (listens) {
        rc = bw_port_hear(row->path, l->drivers.row, l->drivers.n, l->listen_ms, l->ask, &heard,
                          &err);
        *failed |= rc != BW_OK;
    }
    void (*print)(const bw_port_row *row, const bw_hearing *heard,
                  const char *fault) = l->json ? print_port_json : print_port_text;
    print(row, listens && rc == BW_OK ? &heard : NULL, rc != BW_OK ? err.text : NULL);
}

/* A port that was named: what the list knows of it, or its name alone. */
static bw_port_row row_of(const char *path, const bw_port_row *row, size_t n) {
    for (size_t i = 0; i < n; i++) {
        if (strcmp(row[i].path, path) == 0 || strcmp(row[i].by_id, path) == 0) {
            return row[i];
        }
    }
    bw_port_row named = {.says = ""};
    (void)bw_text_copy(named.path, sizeof named.path, path);
    return named;
}

/* Without names: all that are there; of those, what is no USB device may be anything, and is
 * listened to only by name. */
static int show_ports(const look *l, const bw_args *args) {
    bw_port_row *row = NULL;
    size_t n = 0;
    bw_err err = {0};
    bw_status rc = bw_ports_list(&row, &n, &err);
    bool failed = false;
    if (rc != BW_OK) {
        return bw_exit_of(rc, &err);
    }
    bool quick = args->value[OPT_QUICK] != NULL;
    if (!l->json) {
        (void)printf("ports%s\n", args->word_n + n == 0 ? ": none" : "");
    }
    for (size_t i = 0; i < args->word_n; i++) {
        bw_port_row named = row_of(args->word[i], row, n);
        show_port(l, &named, !quick, &failed);
    }
    for (size_t i = 0; i < n && args->word_n == 0; i++) {
        bool ignored = false; /* that one of many is in use is no failure of this command */
        show_port(l, &row[i], !quick && row[i].vendor_id != 0, &ignored);
    }
    free(row);
    return failed ? BW_EXIT_MACHINE : BW_EXIT_YES;
}

static bool read_seconds(const char *text, int *ms) {
    bw_decimal seconds = {.value = 1};
    if (text != NULL && (bw_decimal_parse(text, strlen(text), &seconds, NULL) != BW_OK ||
                         seconds.value <= 0 || seconds.value > 600)) {
        bw_complain("--seconds is a number from 0 to 600, as in 5");
        return false;
    }
    *ms = (int)(seconds.value * 1000) + 1;
    return true;
}

static int run_port(const bw_args *args) {
    look l = {.ask = args->value[OPT_ASK] != NULL, .json = args->json};
    bw_err err = {0};
    if (!read_seconds(args->value[OPT_SECONDS], &l.listen_ms)) {
        return BW_EXIT_USAGE;
    }
    bw_status rc = bw_drivers_list(&l.drivers.row, &l.drivers.n, &err);
    if (rc != BW_OK) {
        return bw_exit_of(rc, &err);
    }
    print_drivers(&l.drivers, l.json);
    int code = show_ports(&l, args);
    free(l.drivers.row);
    return code;
}

static const bw_option_row options[] = {
    [OPT_SECONDS] = {"--seconds", "N", "listens so long at each speed; 1 unless given"},
    [OPT_ASK] = {"--ask", NULL, "lets drivers of devices that must be asked send to it"},
    [OPT_QUICK] = {"--quick", NULL, "lists without listening"},
    {NULL, NULL, NULL},
};

const bw_command bw_command_port = {
    .name = "port",
    .usage = "[PORT...] [--seconds N] [--ask] [--quick]",
    .says = "the serial ports here, the drivers, and which driver suggests itself",
    .more = "It listens to each USB port, or to those named, and never sends to an unknown device\n"
            "unless asked to. Pull the wrench, or press its key, while it listens.",
    .least_words = 0,
    .most_words = BW_WORDS_MAX,
    .option = options,
    .run = run_port,
};
