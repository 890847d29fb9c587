/* drivers.c - see drivers.h. */
#include "device/drivers.h"

#include "base/text.h"
#include "device/driver_link.h"
#include "device/driver_load.h"

#include <limits.h>
#include <stdlib.h>
#include <string.h>

enum { DRIVERS_MAX = 256 };

typedef struct names {
    char name[DRIVERS_MAX][BW_DRIVER_NAME_MAX + 1];
    size_t n;
} names;

static void take_name(void *ctx, const char *name) {
    names *all = ctx;
    for (size_t i = 0; i < all->n; i++) {
        if (strcmp(all->name[i], name) == 0) {
            return;
        }
    }
    if (all->n < DRIVERS_MAX) {
        (void)bw_text_copy(all->name[all->n++], sizeof all->name[0], name);
    }
}

static int by_name(const void *a, const void *b) {
    return strcmp(a, b);
}

static bw_status try_driver(const char *path, bw_driver_row *row, bw_err *err) {
    bw_spec spec;
    bw_driver_link *link = NULL;
    bw_status rc = bw_spec_parse("none", &spec, err);
    if (rc != BW_OK) {
        return rc;
    }
    (void)bw_text_copy(spec.driver, sizeof spec.driver, row->name);
    rc = bw_driver_link_new(path, &spec, &link, err);
    if (rc != BW_OK) {
        return rc;
    }
    const bw_driver_info *info = bw_driver_link_info(link);
    (void)bw_text_copy(row->version, sizeof row->version, info->version);
    (void)bw_text_copy(row->says, sizeof row->says, info->says);
    (void)bw_text_copy(row->source, sizeof row->source, info->source);
    row->line = info->line;
    row->can = info->can;
    bw_driver_link_free(link);
    return BW_OK;
}

static void fill_row(const char *name, bw_driver_row *row) {
    char path[PATH_MAX];
    bw_err err = {.code = BW_OK};
    (void)bw_text_copy(row->name, sizeof row->name, name);
    bw_status rc = bw_driver_find(name, path, &err);
    if (rc == BW_OK) {
        (void)bw_text_copy(row->path, sizeof row->path, path);
        rc = try_driver(path, row, &err);
    }
    if (rc != BW_OK) {
        (void)bw_text_copy(row->fault, sizeof row->fault, err.text);
    }
}

bw_status bw_drivers_list(bw_driver_row **out, size_t *n, bw_err *err) {
    names *all = calloc(1, sizeof *all);
    if (all == NULL) {
        return bw_fail(err, BW_E_MEM, "out of memory");
    }
    bw_driver_names(take_name, all);
    qsort(all->name, all->n, sizeof all->name[0], by_name);
    bw_driver_row *row = calloc(all->n > 0 ? all->n : 1, sizeof *row);
    for (size_t i = 0; row != NULL && i < all->n; i++) {
        fill_row(all->name[i], &row[i]);
    }
    *n = all->n;
    free(all);
    if (row == NULL) {
        return bw_fail(err, BW_E_MEM, "out of memory");
    }
    *out = row;
    return BW_OK;
}

const char *bw_driver_can_word(size_t bit) {
    static const char *const words[] = {"stream", "result", "angle", "checksum", "serial", "read",
                                        "zero",   "target", "shunt", "asked",    "resends"};
    return bit < sizeof words / sizeof words[0] ? words[bit] : NULL;
}
