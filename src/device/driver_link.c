/* driver_link.c - see driver_link.h. */
#include "device/driver_link.h"

#include "base/text.h"
#include "wall/worker.h"

#include <limits.h>
#include <stdlib.h>
#include <string.h>

/* Loading starts a process and reads files; a request is a few microseconds' work. */
enum { LOAD_DEADLINE_MS = 3000, ASK_DEADLINE_MS = 500, CPU_S = 24 * 3600 };
enum { MEMORY_BYTES = 64 << 20 };

struct bw_driver_link {
    bw_worker *worker;
    bw_driver_info info;
    char name[BW_DRIVER_NAME_MAX + 1];
};

void bw_driver_link_free(bw_driver_link *link) {
    if (link != NULL) {
        bw_worker_free(link->worker);
        free(link);
    }
}

const bw_driver_info *bw_driver_link_info(const bw_driver_link *link) {
    return &link->info;
}

/* ---- asking ---- */

/* A worker's text for a person: one line of plain characters, whatever it was. */
static bw_status told_fault(const bw_driver_link *link, const bw_frame *reply, bw_err *err) {
    size_t len = reply->len < BW_ERR_TEXT_MAX ? reply->len : BW_ERR_TEXT_MAX - 1;
    const char *text = (const char *)reply->data;
    len = bw_utf8_whole(text, len);
    if (len == 0 || !bw_text_printable(text, len, false)) {
        return bw_fail(err, BW_E_DATA, "the driver %s failed and did not say why", link->name);
    }
    return bw_fail(err, BW_E_DATA, "%.*s", (int)len, text);
}

static bw_status told_end(const bw_driver_link *link, bw_status rc, bw_err *err) {
    return bw_fail(err, BW_E_DATA, "the driver %s %s (%s)", link->name,
                   rc == BW_E_TIMEOUT ? "did not answer in time" : "failed",
                   bw_worker_end(link->worker));
}

static bw_status told_lie(const bw_driver_link *link, bw_err *err) {
    return bw_fail(err, BW_E_DATA, "the driver %s failed: its answers make no sense", link->name);
}

static bw_status ask(bw_driver_link *link, bw_driver_request type, const void *data, size_t len,
                     bw_frame *reply, bw_err *err) {
    int deadline_ms = type == BW_ASK_LOAD ? LOAD_DEADLINE_MS : ASK_DEADLINE_MS;
    bw_status rc = bw_worker_ask(link->worker, (uint8_t)type, data, len, deadline_ms, reply, NULL);
    if (rc != BW_OK) {
        return told_end(link, rc, err);
    }
    if (reply->type == BW_ANSWER_FAULT) {
        return told_fault(link, reply, err);
    }
    return BW_OK;
}

static bw_status expect(const bw_driver_link *link, const bw_frame *reply, bw_driver_answer want,
                        bw_err *err) {
    return reply->type == (uint8_t)want ? BW_OK : told_lie(link, err);
}

static bw_status ask_words(bw_driver_link *link, bw_driver_request type, const char *first,
                           const char *second, bw_driver_answer want, bw_frame *reply,
                           bw_err *err) {
    char words[PATH_MAX + BW_SPEC_MAX];
    size_t first_size = strlen(first) + 1;
    size_t second_size = strlen(second) + 1;
    if (first_size + second_size > BW_ASK_BYTES_MAX) {
        return bw_fail(err, BW_E_LIMIT, "%s: too long", first);
    }
    memcpy(words, first, first_size);
    memcpy(words + first_size, second, second_size);
    bw_status rc = ask(link, type, words, first_size + second_size, reply, err);
    return rc == BW_OK ? expect(link, reply, want, err) : rc;
}

/* ---- starting ---- */

static bool good_text(const char *text, size_t size) {
    size_t len = strnlen(text, size);
    return len > 0 && len < size && bw_text_printable(text, len, false);
}

static bool good_info(const bw_driver_info *info) {
    return good_text(info->version, sizeof info->version) &&
           good_text(info->says, sizeof info->says) &&
           good_text(info->source, sizeof info->source) && bw_line_settings_good(&info->line) &&
           info->has_tick <= 1;
}

static bw_status load(bw_driver_link *link, const char *path, bw_err *err) {
    bw_frame reply = {0};
    bw_status rc = ask_words(link, BW_ASK_LOAD, path, link->name, BW_ANSWER_INFO, &reply, err);
    if (rc != BW_OK) {
        return rc;
    }
    if (reply.len != sizeof link->info) {
        return told_lie(link, err);
    }
    memcpy(&link->info, reply.data, sizeof link->info);
    return good_info(&link->info) ? BW_OK : told_lie(link, err);
}

static bw_status start(bw_driver_link *link, const char *path, const bw_spec *spec, bw_err *err) {
    const bw_worker_limits limits = {.memory_bytes = MEMORY_BYTES, .cpu_s = CPU_S};
    bw_status rc = bw_worker_new("driver", limits, &link->worker, err);
    if (rc == BW_OK) {
        rc = load(link, path, err);
    }
    for (size_t i = 0; rc == BW_OK && i < spec->settings; i++) {
        bw_frame reply;
        rc = ask_words(link, BW_ASK_SET, spec->setting[i].key, spec->setting[i].value,
                       BW_ANSWER_DONE, &reply, err);
    }
    return rc;
}

bw_status bw_driver_link_new(const char *path, const bw_spec *spec, bw_driver_link **out,
                             bw_err *err) {
    bw_driver_link *link = calloc(1, sizeof *link);
    if (link == NULL) {
        return bw_fail(err, BW_E_MEM, "out of memory");
    }
    (void)bw_text_copy(link->name, sizeof link->name, spec->driver);
    bw_status rc = start(link, path, spec, err);
    if (rc != BW_OK) {
        bw_driver_link_free(link);
        return rc;
    }
    *out = link;
    return BW_OK;
}

/* ---- items ---- */

/* True where all of the answer is sound items that end with UNREAD. */
static bool check_items(bw_items *items) {
    size_t at = 0;
    bw_item item = {0};
    bw_item_counts counts;
    while (bw_item_next(items->data, items->len, &at, &item)) {
        bw_reading reading;
        if (item.kind == BW_ITEM_UNREAD) {
            break;
        }
        if (item.kind != BW_ITEM_READING) {
            continue;
        }
        if (!bw_item_reading(&item, &reading) || items->readings == BW_ITEM_READINGS_MAX) {
            return false;
        }
        items->readings++;
        items->timed += (reading.has & BW_HAS_TIME) != 0 ? 1 : 0;
    }
    bool ends = at == items->len && item.kind == BW_ITEM_UNREAD && bw_item_count(&item, &counts);
    items->understood = ends ? counts.understood : 0;
    items->unread = ends ? counts.unread : 0;
    return ends;
}

static bw_status take_items(const bw_driver_link *link, const bw_frame *reply, bw_items *out,
                            bw_err *err) {
    bw_items items = {.data = reply->data, .len = reply->len};
    if (items.len > BW_ITEMS_BYTES_MAX || !check_items(&items)) {
        return told_lie(link, err);
    }
    *out = items;
    return BW_OK;
}

static bw_status ask_items(bw_driver_link *link, bw_driver_request type, const void *data,
                           size_t len, bw_items *out, bw_err *err) {
    bw_frame reply = {0};
    bw_status rc = ask(link, type, data, len, &reply, err);
    if (rc == BW_OK && type == BW_ASK_WISH && reply.type == BW_ANSWER_REFUSED) {
        return bw_fail(err, BW_E_ABSENT, "the driver %s cannot do that", link->name);
    }
    rc = rc == BW_OK ? expect(link, &reply, BW_ANSWER_ITEMS, err) : rc;
    return rc == BW_OK ? take_items(link, &reply, out, err) : rc;
}

bw_status bw_driver_link_bytes(bw_driver_link *link, const uint8_t *bytes, size_t n, bw_items *out,
                               bw_err *err) {
    return ask_items(link, BW_ASK_BYTES, bytes, n, out, err);
}

bw_status bw_driver_link_event(bw_driver_link *link, bw_device_event event, bw_items *out,
                               bw_err *err) {
    uint8_t byte = (uint8_t)event;
    return ask_items(link, BW_ASK_EVENT, &byte, sizeof byte, out, err);
}

bw_status bw_driver_link_tick(bw_driver_link *link, int64_t now_ns, bw_items *out, bw_err *err) {
    uint64_t now = (uint64_t)now_ns;
    return ask_items(link, BW_ASK_TICK, &now, sizeof now, out, err);
}

bw_status bw_driver_link_wish(bw_driver_link *link, const bw_wish *wish, bw_items *out,
                              bw_err *err) {
    return ask_items(link, BW_ASK_WISH, wish, sizeof *wish, out, err);
}
