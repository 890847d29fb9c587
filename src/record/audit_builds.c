/* audit_builds.c - the order of entries in time, and what those of one build owe to each other. */
#include "record/audit_int.h"

#include "base/clock.h"

#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

enum { GAP_MAX = 1 << 24 };

typedef struct build {
    char *name;
    bool rehearsal;
    uint64_t entries; /* so far */
} build;

struct bw_builds {
    build **sorted; /* by name */
    size_t n, room;
    build **of_entry; /* the build of each entry from 1 on; NULL where it is not known */
    size_t entries, entries_room;
    build *last;       /* of the entry before */
    int64_t newest_ms; /* time of the entry before */
};

bw_builds *bw_builds_new(void) {
    bw_builds *builds = calloc(1, sizeof *builds);
    if (builds != NULL) {
        builds->newest_ms = INT64_MIN;
    }
    return builds;
}

void bw_builds_free(bw_builds *builds) {
    if (builds == NULL) {
        return;
    }
    for (size_t i = 0; i < builds->n; i++) {
        free(builds->sorted[i]->name);
        free(builds->sorted[i]);
    }
    free(builds->sorted);
    free(builds->of_entry);
    free(builds);
}

/* Room for one more pointer. */
static bool grow(build ***list, size_t n, size_t *room) {
    if (n < *room) {
        return true;
    }
    size_t wider = *room == 0 ? 64 : *room * 2;
    build **moved = realloc(*list, wider * sizeof(void *));
    if (moved != NULL) {
        *list = moved;
        *room = wider;
    }
    return moved != NULL;
}

/* Where name stands, or would have to. */
static size_t place(const bw_builds *builds, const char *name) {
    size_t low = 0;
    size_t high = builds->n;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (strcmp(builds->sorted[middle]->name, name) < 0) {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    return low;
}

static build *new_build(const bw_entry *first) {
    build *made = calloc(1, sizeof *made);
    size_t size = strlen(first->build) + 1;
    char *name = malloc(size);
    if (made == NULL || name == NULL) {
        free(made);
        free(name);
        return NULL;
    }
    memcpy(name, first->build, size);
    *made = (build){.name = name, .rehearsal = first->rehearsal};
    return made;
}

/* The build of the entry; *first where this entry is its first.  NULL: out of memory. */
static build *find_build(bw_builds *builds, const bw_entry *entry, bool *first) {
    *first = false;
    if (builds->last != NULL && strcmp(builds->last->name, entry->build) == 0) {
        return builds->last;
    }
    size_t at = place(builds, entry->build);
    *first = at == builds->n || strcmp(builds->sorted[at]->name, entry->build) != 0;
    if (!*first) {
        return builds->sorted[at];
    }
    build *made = grow(&builds->sorted, builds->n, &builds->room) ? new_build(entry) : NULL;
    if (made != NULL) {
        for (size_t i = builds->n; i > at; i--) {
            builds->sorted[i] = builds->sorted[i - 1];
        }
        builds->sorted[at] = made;
        builds->n++;
    }
    return made;
}

/* What is about the bench and not about a build. */
static bool of_bench(const bw_entry *entry) {
    return strcmp(entry->build, BW_BUILD_NONE) == 0;
}

static void check_count(const build *of, const bw_entry *entry, bw_findings *findings) {
    int64_t says = bw_entry_whole(entry, BW_M_ENTRIES, (int64_t)of->entries);
    if (says < 0 || (uint64_t)says != of->entries) {
        bw_findings_lack(findings, entry->number,
                         "%" PRId64 " entries of build %.80s must stand before it, %" PRIu64
                         " are there",
                         says, entry->build, of->entries);
    }
}

static void check_build(const build *of, bool first, const bw_entry *entry, bw_findings *findings) {
    if (of_bench(entry)) {
        return;
    }
    check_count(of, entry, findings);
    if (first && entry->kind != BW_KIND_BUILD_OPENED) {
        bw_findings_add(findings, entry->number,
                        "the first entry of build %.80s must be `build_opened`, not `%.40s`",
                        entry->build, entry->kind_name);
    }
    if (of->rehearsal != entry->rehearsal) {
        bw_findings_add(findings, entry->number, "build %.80s is %s, this entry of it is %s",
                        entry->build, of->rehearsal ? "a rehearsal" : "none",
                        entry->rehearsal ? "one" : "none");
    }
}

static void check_time(bw_builds *builds, const bw_entry *entry, bw_findings *findings) {
    if (entry->time_ms < builds->newest_ms && entry->kind != BW_KIND_CLOCK_STEP) {
        char before[BW_TIME_TEXT_MAX];
        char now[BW_TIME_TEXT_MAX];
        bw_findings_add(findings, entry->number,
                        "its time must not lie before that of the entry before it (%s): %s",
                        bw_time_text(builds->newest_ms, before), bw_time_text(entry->time_ms, now));
    }
    builds->newest_ms = entry->time_ms;
}

static void check_reference(const bw_builds *builds, const build *of, const bw_entry *entry,
                            bw_member member, bw_findings *findings) {
    if (entry->value[member].type == BW_VALUE_NONE) {
        return;
    }
    int64_t other = bw_entry_whole(entry, member, 0);
    if (other < 1 || (uint64_t)other >= entry->number) {
        bw_findings_add(findings, entry->number, "`%s` must name an earlier entry, not %" PRId64,
                        bw_member_name(member), other);
    } else if ((uint64_t)other > builds->entries || builds->of_entry[other - 1] != of) {
        bw_findings_add(findings, entry->number,
                        "`%s` must name an entry of build %.80s; entry %" PRId64 " is none",
                        bw_member_name(member), entry->build, other);
    }
}

/* Entries that are missing leave a gap; one behind a gap that no disk could hold is forged, and
 * nothing can refer to it. */
static bool remember(bw_builds *builds, uint64_t number, build *of) {
    if (number - builds->entries > GAP_MAX) {
        return true;
    }
    while (builds->entries < number) {
        if (!grow(&builds->of_entry, builds->entries, &builds->entries_room)) {
            return false;
        }
        builds->entries++;
        builds->of_entry[builds->entries - 1] = builds->entries == number ? of : NULL;
    }
    return true;
}

bw_status bw_builds_take(bw_builds *builds, const bw_entry *entry, bw_findings *findings) {
    bool first = false;
    build *of = find_build(builds, entry, &first);
    if (of == NULL) {
        return BW_E_MEM;
    }
    builds->last = of;
    check_build(of, first, entry, findings);
    of->entries++;
    check_time(builds, entry, findings);
    check_reference(builds, of, entry, BW_M_OF, findings);
    check_reference(builds, of, entry, BW_M_CORRECTS, findings);
    return remember(builds, entry->number, of) ? BW_OK : BW_E_MEM;
}
