/* turn_file.c - the hash of a photo or document that a line names. */
#include "session/turn_int.h"

#include "base/text.h"

#include <string.h>

/* Reading it holds the loop up: a film of the whole job is not meant. */
enum { FILE_BYTES_MAX = 512 << 20 };

/* The path behind the word, up to a comma; false where the line is no such line. */
static bool path_of(const char *line, char *out, size_t size) {
    static const char word[] = "file";
    line += strspn(line, " \t");
    size_t len = sizeof word - 1;
    if (strncmp(line, word, len) != 0 || (line[len] != ' ' && line[len] != '\t')) {
        return false;
    }
    line += len + strspn(line + len, " \t");
    size_t n = strcspn(line, ",\r\n");
    while (n > 0 && line[n - 1] == ' ') {
        n--;
    }
    if (n == 0 || n >= size) {
        return false;
    }
    memcpy(out, line, n);
    out[n] = '\0';
    return true;
}

void bw_turn_read_file(const char *line, bw_turn_file *file, bw_event *event) {
    char path[BW_LINE_MAX + 1];
    bw_err err = {0};
    bw_hash hash;
    if (!path_of(line, path, sizeof path)) {
        return;
    }
    const char *slash = strrchr(path, '/');
    (void)bw_text_copy(file->name, sizeof file->name, slash != NULL ? slash + 1 : path);
    if (bw_sha256_file(path, FILE_BYTES_MAX, &hash, &err) != BW_OK) {
        (void)bw_text_copy(file->fault, sizeof file->fault, err.text);
        event->file_fault = file->fault;
        return;
    }
    bw_hex(hash.byte, BW_HASH_BYTES, file->sha256);
    event->file_name = file->name;
    event->file_sha256 = file->sha256;
}
