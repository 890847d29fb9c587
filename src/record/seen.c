/* seen.c - see seen.h. */
#define _XOPEN_SOURCE 700 /* realpath */
#include "record/seen.h"

#include "base/text.h"
#include "record/files.h"
#include "record/hash.h"

#include <errno.h>
#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

enum { NAME_HEX = 32 };

static const char edge_heading[] = "boltwright edge 1\n";

enum { EDGE_FILE_MAX = sizeof edge_heading + 24 + (size_t)BW_TREE_DEPTH * BW_HASH_HEX };

bw_status bw_seen_elsewhere(const char *state, const char *home, const bw_hash *first, char *out,
                            bw_err *err) {
    char hex[BW_HASH_HEX];
    char name[sizeof "seen-" + NAME_HEX];
    bw_hash hash;
    char *real = realpath(home, NULL);
    if (real == NULL) {
        return bw_fail(err, BW_E_IO, "cannot find the folder %s: %s", home, strerror(errno));
    }
    bw_hasher *hasher = bw_hasher_new();
    const bw_piece piece[] = {{real, strlen(real) + 1}, {first->byte, BW_HASH_BYTES}};
    bw_status status = hasher == NULL ? bw_fail(err, BW_E_MEM, "no memory to open the record")
                                      : bw_hasher_sum(hasher, piece, 2, &hash);
    bw_hasher_free(hasher);
    free(real);
    if (status != BW_OK) {
        return status;
    }
    bw_hex(hash.byte, BW_HASH_BYTES, hex);
    bw_text text = bw_text_on(name, sizeof name);
    bw_text_add(&text, "seen-%.*s", NAME_HEX, hex);
    return bw_files_path(state, name, out, err);
}

bw_status bw_seen_read(const char *path, bw_seen *out, bw_err *err) {
    char note[BW_NOTE_MAX];
    size_t len = 0;
    bw_signature signature = BW_SIGNATURE_NONE;
    *out = (bw_seen){0};
    bw_status status = bw_files_read_own(path, note, sizeof note, &len, err);
    if (status != BW_OK) {
        return status == BW_E_ABSENT ? BW_OK : status;
    }
    status = bw_checkpoint_read(note, len, NULL, &out->size, &out->root, &signature, err);
    return status == BW_OK ? BW_OK : bw_fail_in(err, status, path);
}

static size_t bits_of(uint64_t size) {
    size_t n = 0;
    for (; size != 0; size &= size - 1) {
        n++;
    }
    return n;
}

static bool parse_edge(const char *text, uint64_t size, bw_tree *out) {
    char expected[sizeof edge_heading + 24];
    bw_text head = bw_text_on(expected, sizeof expected);
    bw_text_add(&head, "%s%" PRIu64 "\n", edge_heading, size);
    if (strncmp(text, expected, head.len) != 0) {
        return false;
    }
    text += head.len;
    *out = (bw_tree){.size = size};
    for (size_t i = 0; i < bits_of(size); i++) {
        char hex[BW_HASH_HEX];
        size_t n = strcspn(text, "\n");
        if (n != BW_HASH_HEX - 1 || text[n] != '\n') {
            return false;
        }
        memcpy(hex, text, n);
        hex[n] = '\0';
        if (!bw_unhex(hex, out->edge[i].byte, BW_HASH_BYTES)) {
            return false;
        }
        text += n + 1;
    }
    return *text == '\0';
}

bool bw_edge_read(const char *home, uint64_t size, const bw_hash *root, bw_tree *out) {
    char path[BW_PATH_MAX];
    char text[EDGE_FILE_MAX];
    size_t len = 0;
    bw_hash is;
    return size > 0 && bw_files_path(home, "edge", path, NULL) == BW_OK &&
           bw_files_read_own(path, text, sizeof text, &len, NULL) == BW_OK && strlen(text) == len &&
           parse_edge(text, size, out) && bw_tree_root(out, &is) == BW_OK &&
           memcmp(&is, root, sizeof is) == 0;
}

static void print_edge(const bw_tree *tree, bw_text *out) {
    bw_text_add(out, "%s%" PRIu64 "\n", edge_heading, tree->size);
    for (size_t i = 0; i < bits_of(tree->size); i++) {
        char hex[BW_HASH_HEX];
        bw_hex(tree->edge[i].byte, BW_HASH_BYTES, hex);
        bw_text_add(out, "%s\n", hex);
    }
}

bw_status bw_seen_write_at(const char *path, const char *note, bw_err *err) {
    char folder[BW_PATH_MAX];
    (void)bw_text_copy(folder, sizeof folder, path);
    *strrchr(folder, '/') = '\0';
    bw_status status = bw_files_make_folder(folder, err);
    return status == BW_OK ? bw_files_replace(path, note, strlen(note), err) : status;
}

bw_status bw_seen_write(const char *home, const char *note, const bw_tree *tree, bw_err *err) {
    char path[BW_PATH_MAX];
    char edge[EDGE_FILE_MAX];
    bw_text text = bw_text_on(edge, sizeof edge);
    bw_status status = bw_files_path(home, "seen", path, err);
    if (status == BW_OK) {
        status = bw_files_replace(path, note, strlen(note), err);
    }
    if (status != BW_OK) {
        return status;
    }
    print_edge(tree, &text);
    if (bw_files_path(home, "edge", path, NULL) == BW_OK) {
        bw_status kept = bw_files_replace(path, edge, text.len, NULL);
        (void)kept; /* opening is slower without it, and not wrong */
    }
    return BW_OK;
}
