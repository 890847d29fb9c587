/* tool_used.c - boltwright tool show --used: what a tool touched, for the day it is found off. */
#include "command/progress.h"
#include "command/tool.h"

#include "base/clock.h"
#include "base/text.h"

#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

typedef struct search {
    const bw_tool *tool;
    int64_t since_ms;
    bool json;
    size_t found;
} search;

static void set_text(json_t *o, const char *key, const bw_entry *e, bw_member member) {
    const char *text = bw_entry_text(e, member, NULL);
    (void)json_object_set_new(o, key, text != NULL ? json_string(text) : json_null());
}

static void print_json(const bw_entry *e, const char *time) {
    json_t *o = json_pack("{s:I,s:s,s:s,s:s}", "entry", (json_int_t)e->number, "build", e->build,
                          "kind", e->kind_name, "time", time);
    set_text(o, "group", e, BW_M_GROUP);
    set_text(o, "label", e, BW_M_LABEL);
    set_text(o, "set", e, BW_M_SET);
    set_text(o, "at", e, BW_M_AT);
    set_text(o, "verdict", e, BW_M_VERDICT);
    char *text = json_dumps(o, JSON_COMPACT | JSON_SORT_KEYS);
    (void)printf("%s\n", text != NULL ? text : "");
    free(text);
    json_decref(o);
}

static void print_text(const bw_entry *e, const char *time) {
    bool reading = e->kind == BW_KIND_READING;
    (void)printf("%s  %-20s %s %s  %s (entry %llu)%s\n", time, e->build,
                 bw_entry_text(e, reading ? BW_M_SET : BW_M_GROUP, ""),
                 bw_entry_text(e, reading ? BW_M_AT : BW_M_LABEL, ""),
                 bw_entry_text(e, BW_M_VERDICT, "read"), (unsigned long long)e->number,
                 e->rehearsal ? "  rehearsal" : "");
}

static bool take(void *ctx, const bw_entry *e, const char *json, size_t len) {
    search *s = ctx;
    (void)json;
    (void)len;
    const char *tool = e->kind == BW_KIND_VERDICT   ? bw_entry_text(e, BW_M_TOOL, "")
                       : e->kind == BW_KIND_READING ? bw_entry_text(e, BW_M_GAUGE, "")
                                                    : "";
    if (strcmp(tool, s->tool->name) == 0 && e->time_ms >= s->since_ms) {
        char time[BW_TIME_TEXT_MAX];
        s->found++;
        void (*print)(const bw_entry *e, const char *time) = s->json ? print_json : print_text;
        print(e, bw_time_text(e->time_ms, time));
    }
    return true;
}

int bw_tool_used(const bw_args *args, const bw_tool *tool) {
    search s = {.tool = tool, .since_ms = INT64_MIN, .json = args->json};
    const char *since = args->value[OPT_SINCE];
    bw_store *store = NULL;
    bw_err err = {0};
    if (since != NULL) {
        char time[BW_TIME_TEXT_MAX];
        bw_text text = bw_text_on(time, sizeof time);
        bw_text_add(&text, "%sT00:00:00.000Z", since);
        if (!bw_date_good(since) || bw_time_parse(time, &s.since_ms, NULL) != BW_OK) {
            bw_complain("--since is a day, as in 2026-11-25");
            return BW_EXIT_USAGE;
        }
    }
    bw_status rc = bw_store_open(args->home, BW_STORE_READ, &store, &err);
    bw_meter meter = bw_meter_begin_beside("entries read", 0);
    if (rc == BW_OK) {
        bw_meter_watch(&meter, store);
        rc = bw_store_each(store, NULL, take, &s, &err);
    }
    bw_meter_end(&meter);
    bw_store_close(store);
    if (rc == BW_OK && s.found == 0 && !args->json) {
        (void)printf("%s was used on nothing%s%s\n", tool->name, since != NULL ? " since " : "",
                     since != NULL ? since : "");
    }
    return bw_exit_of(rc, &err);
}
