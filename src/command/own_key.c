/* own_key.c - see own_key.h. */
#include "command/own_key.h"

#include "base/text.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <termios.h>
#include <unistd.h>

enum { FILE_BYTES_MAX = 1 << 20, KEYS_TEXT_MAX = 16384 };

static bw_status read_line(int tty, char *out, bw_err *err) {
    ssize_t n = read(tty, out, BW_PASSPHRASE_MAX - 1);
    if (n <= 1 || out[n - 1] != '\n') {
        return bw_fail(err, BW_E_STATE, "a passphrase of 1 to %d bytes is needed",
                       BW_PASSPHRASE_MAX - 2);
    }
    out[n - 1] = '\0';
    return BW_OK;
}

static bw_status ask(const char *words, char *out, bw_err *err) {
    int tty = open("/dev/tty", O_RDWR | O_NOCTTY | O_CLOEXEC);
    struct termios shown;
    if (tty < 0 || tcgetattr(tty, &shown) != 0) {
        if (tty >= 0) {
            (void)close(tty);
        }
        return bw_fail(err, BW_E_STATE,
                       "a passphrase is needed, and there is no terminal to ask at: set "
                       "BOLTWRIGHT_PASSPHRASE");
    }
    struct termios silent = shown;
    silent.c_lflag &= ~(tcflag_t)ECHO;
    (void)dprintf(tty, "%s: ", words);
    (void)tcsetattr(tty, TCSAFLUSH, &silent);
    bw_status status = read_line(tty, out, err);
    (void)tcsetattr(tty, TCSAFLUSH, &shown);
    (void)dprintf(tty, "\n");
    (void)close(tty);
    return status;
}

bw_status bw_passphrase(const char *words, char *out, bw_err *err) {
    const char *set = getenv("BOLTWRIGHT_PASSPHRASE");
    if (set == NULL || set[0] == '\0') {
        return ask(words, out, err);
    }
    return bw_text_copy(out, BW_PASSPHRASE_MAX, set)
               ? BW_OK
               : bw_fail(err, BW_E_STATE, "BOLTWRIGHT_PASSPHRASE is too long");
}

bw_status bw_own_key_open(const char *home, bw_store *store, const char *by, bw_key **out,
                          bw_err *err) {
    char passphrase[BW_PASSPHRASE_MAX];
    bw_status status = bw_bench_key_open(home, NULL, store, by, out, err);
    if (status != BW_E_STATE || strstr(err->text, "locked") == NULL) {
        return status;
    }
    status = bw_passphrase("Passphrase of the bench's key", passphrase, err);
    return status == BW_OK ? bw_bench_key_open(home, passphrase, store, by, out, err) : status;
}

static bw_status read_file(const char *path, const char *what, char *out, size_t size,
                           bw_err *err) {
    FILE *in = fopen(path, "re");
    size_t n = in != NULL ? fread(out, 1, size - 1, in) : 0;
    bool read = in != NULL && ferror(in) == 0;
    int why = errno;
    if (in != NULL) {
        (void)fclose(in);
    }
    if (!read) {
        bool named_wrong = why == ENOENT || why == ENOTDIR || why == EISDIR || why == EACCES;
        return bw_fail(err, named_wrong ? BW_E_ARG : BW_E_IO, "the %s file %s can't be read: %s",
                       what, path, strerror(why));
    }
    bool whole = n < size - 1;
    out[n] = '\0';
    return whole && strlen(out) == n ? BW_OK
                                     : bw_fail(err, BW_E_ARG, "%s is not a %s file", path, what);
}

static bw_status blame_file(const char *path, bw_status status, bw_err *err) {
    if (status == BW_E_DATA) {
        (void)bw_fail_in(err, status, path);
        err->code = BW_E_ARG;
        return BW_E_ARG;
    }
    return status;
}

bw_status bw_public_keys_read(const char *path, bw_verifier *out, size_t room, size_t *n,
                              bw_err *err) {
    char text[KEYS_TEXT_MAX] = "";
    bw_status status = read_file(path, "public key", text, sizeof text, err);
    *n = 0;
    if (status == BW_OK && strncmp(text, "-----BEGIN ", 11) == 0) {
        status = bw_verifier_parse(text, &out[(*n)++], err);
    } else {
        for (char *line = text; status == BW_OK && *n < room && (*line != '\0' || *n == 0);) {
            size_t len = strcspn(line, "\n");
            char *next = line[len] == '\n' ? line + len + 1 : line + len;
            line[len] = '\0';
            if (line[0] == '\0' && *n > 0) {
                break;
            }
            status = bw_verifier_parse(line, &out[(*n)++], err);
            line = next;
            if (status == BW_OK && *n == room && line[strspn(line, "\n")] != '\0') {
                status = bw_fail(err, BW_E_ARG, "%s holds more than %zu public keys", path, room);
            }
        }
    }
    return blame_file(path, status, err);
}

/* A sheet's lines may be indented, all alike. */
static void take_out(const char *sheet, const char *begin, const char *end, char *note) {
    size_t indent = 0;
    bw_text text = bw_text_on(note, BW_NOTE_MAX);
    while (begin > sheet && begin[-1] != '\n') {
        begin--;
        indent++;
    }
    while (begin < end) {
        size_t len = strcspn(begin, "\n");
        size_t skip = len < indent ? len : indent;
        bw_text_add(&text, "%.*s\n", (int)(len - skip), begin + skip);
        begin += len + (begin[len] == '\n' ? 1 : 0);
    }
}

bw_status bw_note_file_read(const char *path, char *note, bw_err *err) {
    static const char dash[] = "\xE2\x80\x94 boltwright/";
    char *text = malloc(FILE_BYTES_MAX);
    uint64_t size = 0;
    bw_hash root;
    bw_signature signature = BW_SIGNATURE_NONE;
    if (text == NULL) {
        return bw_fail(err, BW_E_MEM, "no memory to read %s", path);
    }
    bw_status status = read_file(path, "checkpoint", text, FILE_BYTES_MAX, err);
    if (status == BW_OK) {
        bool bare = strlen(text) < BW_NOTE_MAX;
        (void)bw_text_copy(note, BW_NOTE_MAX, text);
        status = bare ? bw_checkpoint_read(note, strlen(note), NULL, &size, &root, &signature, err)
                      : BW_E_DATA;
        const char *end = status == BW_OK ? NULL : strstr(text, dash);
        const char *begin = strstr(text, "boltwright/bench-");
        if (end != NULL && begin < end) {
            const char *last = strchr(end, '\n');
            take_out(text, begin, last == NULL ? end + strlen(end) : last + 1, note);
            status = bw_checkpoint_read(note, strlen(note), NULL, &size, &root, &signature, err);
        }
        if (status == BW_E_DATA) {
            status = bw_fail(err, BW_E_DATA, "it holds no checkpoint (a C2SP signed note)");
        }
    }
    free(text);
    return blame_file(path, status, err);
}
