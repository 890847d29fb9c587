/* port_list.c - the serial ports here.  See ports.h. */
#define _XOPEN_SOURCE 700 /* realpath */
#include "device/ports.h"

#include "base/text.h"

#include <dirent.h>
#include <libserialport.h>
#include <limits.h>
#include <stdlib.h>
#include <string.h>

/* A device's word for itself: from outside, so shown only where it can do no harm. */
static void take_word(char *out, const char *word) {
    bool good = word != NULL && bw_text_printable(word, strlen(word), false);
    (void)bw_text_copy(out, BW_PORT_WORD_MAX, good ? word : "");
}

static void find_by_id(bw_port_row *row) {
    static const char folder[] = "/dev/serial/by-id";
    char real[PATH_MAX];
    char target[PATH_MAX];
    DIR *dir = realpath(row->path, real) != NULL ? opendir(folder) : NULL;
    const struct dirent *entry = NULL;
    /* cppcheck-suppress readdirCalled ; each stream is its own, and readdir_r is obsolete */
    while (dir != NULL && (entry = readdir(dir)) != NULL) {
        char name[sizeof folder + 1 + sizeof entry->d_name];
        bw_text text = bw_text_on(name, sizeof name);
        bw_text_add(&text, "%s/%s", folder, entry->d_name);
        if (entry->d_name[0] != '.' && realpath(name, target) != NULL &&
            strcmp(target, real) == 0 && !bw_text_copy(row->by_id, sizeof row->by_id, name)) {
            row->by_id[0] = '\0';
        }
    }
    if (dir != NULL) {
        (void)closedir(dir);
    }
}

static void fill(const struct sp_port *port, bw_port_row *row) {
    (void)bw_text_copy(row->path, sizeof row->path, sp_get_port_name(port));
    take_word(row->says, sp_get_port_description(port));
    if (sp_get_port_transport(port) == SP_TRANSPORT_USB) {
        take_word(row->maker, sp_get_port_usb_manufacturer(port));
        take_word(row->product, sp_get_port_usb_product(port));
        take_word(row->serial, sp_get_port_usb_serial(port));
        (void)sp_get_port_usb_vid_pid(port, &row->vendor_id, &row->product_id);
    }
    find_by_id(row);
}

static int by_path(const void *a, const void *b) {
    const bw_port_row *left = a;
    const bw_port_row *right = b;
    return strcmp(left->path, right->path);
}

bw_status bw_ports_list(bw_port_row **out, size_t *n, bw_err *err) {
    struct sp_port **list = NULL;
    if (sp_list_ports(&list) != SP_OK) {
        return bw_fail(err, BW_E_IO, "the serial ports of this machine cannot be listed");
    }
    size_t count = 0;
    while (list[count] != NULL) {
        count++;
    }
    bw_port_row *row = calloc(count + 1, sizeof *row);
    for (size_t i = 0; row != NULL && i < count; i++) {
        fill(list[i], &row[i]);
    }
    sp_free_port_list(list);
    if (row == NULL) {
        return bw_fail(err, BW_E_MEM, "out of memory");
    }
    qsort(row, count, sizeof *row, by_path);
    *out = row;
    *n = count;
    return BW_OK;
}
