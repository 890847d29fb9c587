/* which.c - see which.h. */
#include "command/which.h"

#include "base/nearest.h"
#include "base/text.h"
#include "command/command.h"

#include <string.h>
#include <sys/stat.h>

enum { NEWEST = 4, ID_BYTES = 80, LINE_BYTES = 400 };

/* The builds that were last at work, the newest first; and the one that is nearest to what was
 * typed, whose id lives no longer than its entry. */
typedef struct builds {
    bw_nearest nearest;
    char meant[ID_BYTES];
    char newest[NEWEST][ID_BYTES];
} builds;

static bool take(void *ctx, const bw_entry *entry, const char *json, size_t len) {
    builds *b = ctx;
    const char *id = entry->build;
    (void)json;
    (void)len;
    if (id == NULL || id[0] == '\0' || strcmp(id, BW_BUILD_NONE) == 0 ||
        strcmp(id, b->newest[0]) == 0) {
        return true;
    }
    size_t at = 0;
    while (at < NEWEST - 1 && strcmp(id, b->newest[at]) != 0) {
        at++;
    }
    memmove(b->newest[1], b->newest[0], at * sizeof b->newest[0]);
    (void)bw_text_copy(b->newest[0], ID_BYTES, id);
    bw_nearest_offer(&b->nearest, id, strlen(id));
    if (b->nearest.best == id && bw_text_copy(b->meant, ID_BYTES, id)) {
        b->nearest.best = b->meant;
    }
    return true;
}

void bw_complain_no_build(bw_store *store, const char *build) {
    builds b = {.nearest = bw_nearest_to(build)};
    char line[LINE_BYTES];
    bw_text text = bw_text_on(line, sizeof line);
    bool read = bw_store_each(store, NULL, take, &b, NULL) == BW_OK;
    if (b.meant[0] != '\0') {
        bw_text_add(&text, "; did you mean %s?", b.meant);
    } else if (b.newest[0][0] == '\0') {
        bw_text_add(&text, "%s", read ? ": it has none yet" : "");
    } else {
        for (size_t i = 0; i < NEWEST && b.newest[i][0] != '\0'; i++) {
            bw_text_add(&text, "%s%s", i == 0 ? "; its newest: " : ", ", b.newest[i]);
        }
    }
    bw_complain("the record has no build %s%s", build, line);
}

void bw_complain_no_word(const char *command, const char *word, const char *const *known,
                         size_t n) {
    bw_nearest nearest = bw_nearest_to(word);
    char line[LINE_BYTES];
    bw_text text = bw_text_on(line, sizeof line);
    for (size_t i = 0; i < n; i++) {
        bw_nearest_offer(&nearest, known[i], strlen(known[i]));
        bw_text_add(&text, "%s%s", i == 0 ? "" : i + 1 < n ? ", " : " or ", known[i]);
    }
    if (nearest.best != NULL) {
        bw_complain("%s knows no word %s; did you mean %s?", command, word, nearest.best);
    } else {
        bw_complain("%s knows no word %s; it takes %s", command, word, line);
    }
}

bool bw_is_folder_instead(const char *path, const char *of) {
    struct stat found;
    bool folder = stat(path, &found) == 0 && S_ISDIR(found.st_mode);
    if (folder) {
        bw_complain("%s is a folder, where the file of %s is meant", path, of);
    }
    return folder;
}
