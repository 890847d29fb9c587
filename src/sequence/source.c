/* source.c - see source.h. */
#define _GNU_SOURCE /* O_PATH */
#include "sequence/source.h"

#include "base/text.h"

#include <errno.h>
#include <fcntl.h>
#include <stdbool.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum { PATH_BYTES_MAX = 4096, FOLDERS = 3 };

/* ---- one file ---- */

static bool read_all(int fd, char *out, size_t size, size_t *len) {
    *len = 0;
    while (*len < size) {
        ssize_t n = read(fd, out + *len, size - *len);
        if (n == 0) {
            return true;
        }
        if (n < 0 && errno != EINTR) {
            return false;
        }
        *len += n > 0 ? (size_t)n : 0;
    }
    return true;
}

/* Lines end in LF here, whatever editor wrote them, and a byte order mark is none of the text: the
 * record keeps one form. */
static size_t one_form(char *text, size_t len) {
    size_t from = len >= 3 && memcmp(text, "\xEF\xBB\xBF", 3) == 0 ? 3 : 0;
    size_t to = 0;
    for (; from < len; from++) {
        if (text[from] != '\r' || text[from + 1] != '\n') {
            text[to++] = text[from];
        }
    }
    text[to] = '\0';
    return to;
}

/* Number of the first line that holds what a reader would not see as it is; 0: none. */
static int deceiving_line(const char *text, size_t len) {
    int line = 1;
    for (size_t i = 0; i < len;) {
        size_t n = strcspn(text + i, "\t\n");
        if (!bw_text_printable(text + i, n, false)) {
            return line;
        }
        i += n;
        line += i < len && text[i] == '\n' ? 1 : 0;
        i++;
    }
    return 0;
}

static bw_status check_text(const char *text, size_t len, bw_err *err) {
    if (len > BW_SEQUENCE_BYTES_MAX) {
        return bw_fail(err, BW_E_DATA, "is longer than %d bytes", BW_SEQUENCE_BYTES_MAX);
    }
    if (memchr(text, '\0', len) != NULL || !bw_utf8_valid(text, len)) {
        return bw_fail(err, BW_E_DATA, "is not a text: UTF-8 is needed");
    }
    return BW_OK;
}

/* Compiled Lua is left to the worker, who has a better word for it. */
static bw_status check_shown(const char *text, size_t len, bw_err *err) {
    int line = text[0] == '\x1b' ? 0 : deceiving_line(text, len);
    if (line > 0) {
        return bw_fail(err, BW_E_DATA,
                       "holds in line %d a control or direction character that nobody would see",
                       line);
    }
    return BW_OK;
}

/* The whole text behind an open handle.  err says what is wrong with it, without its name. */
static bw_status read_text(int fd, bw_arena *arena, bw_source *out, bw_err *err) {
    struct stat st;
    if (fstat(fd, &st) == 0 && S_ISDIR(st.st_mode)) {
        return bw_fail(err, BW_E_DATA, "is a folder, where a file is meant");
    }
    if (fstat(fd, &st) != 0 || !S_ISREG(st.st_mode)) {
        return bw_fail(err, BW_E_DATA, "is not a plain file");
    }
    if (st.st_size > BW_SEQUENCE_BYTES_MAX) {
        return bw_fail(err, BW_E_DATA, "is longer than %d bytes", BW_SEQUENCE_BYTES_MAX);
    }
    /* One byte more than was announced: a file that grows meanwhile is noticed. */
    size_t size = (size_t)st.st_size + 1;
    char *text = bw_arena_alloc(arena, size + 1, 1);
    size_t len = 0;
    if (text == NULL) {
        return bw_fail(err, BW_E_MEM, "does not fit into memory");
    }
    if (!read_all(fd, text, size, &len)) {
        return bw_fail(err, BW_E_IO, "cannot be read: %s", strerror(errno));
    }
    if (len == size) {
        return bw_fail(err, BW_E_IO, "changes while it is read");
    }
    text[len] = '\0';
    out->text = text;
    out->len = one_form(text, len);
    bw_status status = check_text(text, out->len, err);
    return status == BW_OK ? check_shown(text, out->len, err) : status;
}

/* ---- the sequence itself ---- */

static bw_status take(bw_sources *sources, bw_source source) {
    const char *name = bw_arena_text(sources->arena, source.name);
    if (name == NULL) {
        return BW_E_MEM;
    }
    source.name = name;
    sources->list[sources->n] = source;
    sources->name[sources->n] = name;
    sources->n++;
    return BW_OK;
}

bw_status bw_sources_open(bw_sources *sources, bw_arena *arena, const char *path, bw_err *err) {
    memset(sources, 0, sizeof *sources);
    sources->arena = arena;
    int fd = open(path, O_RDONLY | O_CLOEXEC | O_NOCTTY | O_NONBLOCK);
    if (fd < 0) {
        bool absent = errno == ENOENT || errno == ENOTDIR;
        return bw_fail(err, absent ? BW_E_ABSENT : BW_E_IO, "%s: %s", path,
                       absent ? "there is no such file" : strerror(errno));
    }
    bw_source source = {.name = path, .text = "", .len = 0};
    bw_status rc = read_text(fd, arena, &source, err);
    (void)close(fd);
    if (rc == BW_OK && take(sources, source) != BW_OK) {
        return bw_fail(err, BW_E_MEM, "out of memory for a sequence");
    }
    if (rc != BW_OK && err != NULL) {
        char what[BW_ERR_TEXT_MAX];
        (void)bw_text_copy(what, sizeof what, err->text);
        return bw_fail(err, rc, "%s %s", path, what);
    }
    return rc;
}

static bw_status take_kept(bw_sources *sources, const bw_source *kept, bw_err *err) {
    bw_status rc = check_text(kept->text, kept->len, err);
    if (rc != BW_OK) {
        return bw_fail(err, rc, "a kept text is damaged: %s is no sequence", kept->name);
    }
    char *text = bw_arena_copy(sources->arena, kept->text, kept->len);
    bw_source source = {.name = kept->name, .text = text, .len = kept->len};
    if (text == NULL || take(sources, source) != BW_OK) {
        return bw_fail(err, BW_E_MEM, "out of memory for a sequence");
    }
    return BW_OK;
}

bw_status bw_sources_keep(bw_sources *sources, bw_arena *arena, const bw_source *kept,
                          size_t kept_n, bw_err *err) {
    memset(sources, 0, sizeof *sources);
    sources->arena = arena;
    if (kept_n == 0) {
        return bw_fail(err, BW_E_ARG, "there is no text of a sequence");
    }
    sources->kept = kept;
    sources->kept_n = kept_n;
    return take_kept(sources, &kept[0], err);
}

/* ---- where modules may be ---- */

/* "a/b/c.lua" gives "a/b/", "c.lua" gives "". */
static size_t folder_len(const char *path) {
    const char *slash = strrchr(path, '/');
    return slash == NULL ? 0 : (size_t)(slash - path) + 1;
}

/* The folder around one that is given as above, as it is written: "a/b/" gives "a/". */
static void parent_of(const char *folder, bw_text *out) {
    size_t len = strlen(folder);
    size_t cut = len > 0 ? len - 1 : 0;
    while (cut > 0 && folder[cut - 1] != '/') {
        cut--;
    }
    const char *last = folder + cut;
    bool plain = len > 1 && strcmp(last, "./") != 0 && strcmp(last, "../") != 0;
    if (plain) {
        bw_text_add(out, "%.*s", (int)cut, folder);
    } else {
        bw_text_add(out, "%s../", folder);
    }
}

/* The folder in which a module is looked for as the k-th; false where the path is too long. */
static bool folder_at(const bw_sources *sources, size_t k, char *out, size_t size) {
    const char *path = sources->list[0].name;
    char own[PATH_BYTES_MAX];
    bw_text folder = bw_text_on(own, sizeof own);
    bw_text_add(&folder, "%.*s", (int)folder_len(path), path);
    bw_text text = bw_text_on(out, size);
    if (k < 2) {
        bw_text_add(&text, "%s%s", own, k == 0 ? "" : "lib/");
    } else {
        parent_of(own, &text);
        bw_text_add(&text, "lib/");
    }
    return !folder.cut && !text.cut;
}

/* "a.b" and "a/b" are both the file a/b.lua. */
static void module_file(const char *name, char *out, size_t size) {
    bw_text text = bw_text_on(out, size);
    bw_text_add(&text, "%s.lua", name);
    for (size_t i = 0; i < strlen(name); i++) {
        out[i] = name[i] == '.' ? '/' : name[i];
    }
}

/* ---- modules on disk ---- */

/* Opens file below the folder, part by part, following no link.  -1 with errno. */
static int open_below(const char *folder, const char *file) {
    int at = open(folder[0] == '\0' ? "." : folder, O_PATH | O_DIRECTORY | O_CLOEXEC);
    while (at >= 0) {
        size_t len = strcspn(file, "/");
        bool last = file[len] == '\0';
        char part[BW_MODULE_NAME_MAX + 8];
        bw_text text = bw_text_on(part, sizeof part);
        bw_text_add(&text, "%.*s", (int)len, file);
        int flags = last ? O_RDONLY | O_NONBLOCK | O_NOCTTY : O_PATH | O_DIRECTORY;
        int next = openat(at, part, flags | O_NOFOLLOW | O_CLOEXEC);
        int why = errno;
        (void)close(at);
        errno = why;
        if (last) {
            return next;
        }
        at = next;
        file += len + 1;
    }
    return -1;
}

static bw_status refuse(char *why, size_t size, bw_status rc, const char *file, const char *what) {
    bw_text text = bw_text_on(why, size);
    bw_text_add(&text, "%s %s", file, what);
    return rc;
}

static bw_status module_from_disk(bw_sources *sources, const char *folder, const char *file,
                                  bw_source *out, char *why, size_t size) {
    int fd = open_below(folder, file);
    if (fd < 0 && (errno == ENOENT || errno == ENOTDIR)) {
        return BW_E_ABSENT;
    }
    if (fd < 0) {
        return refuse(why, size, BW_E_IO, file,
                      errno == ELOOP ? "is a link: a module must be a plain file"
                                     : strerror(errno));
    }
    bw_err err = {.code = BW_OK, .text = ""};
    bw_status rc = read_text(fd, sources->arena, out, &err);
    (void)close(fd);
    return rc == BW_OK ? BW_OK : refuse(why, size, rc, file, err.text);
}

static bw_status module_from_kept(bw_sources *sources, const char *path, bw_source *out) {
    for (size_t i = 1; i < sources->kept_n; i++) {
        const bw_source *kept = &sources->kept[i];
        if (strcmp(kept->name, path) == 0 && check_text(kept->text, kept->len, NULL) == BW_OK) {
            char *text = bw_arena_copy(sources->arena, kept->text, kept->len);
            *out = (bw_source){.name = kept->name, .text = text, .len = kept->len};
            return text == NULL ? BW_E_MEM : BW_OK;
        }
    }
    return BW_E_ABSENT;
}

bw_status bw_sources_add_module(bw_sources *sources, const char *name, const bw_source **out,
                                char *why, size_t size) {
    char file[BW_MODULE_NAME_MAX + 8];
    module_file(name, file, sizeof file);
    bw_status rc = BW_E_ABSENT;
    for (size_t k = 0; rc == BW_E_ABSENT && k < FOLDERS; k++) {
        char path[PATH_BYTES_MAX];
        if (!folder_at(sources, k, path, sizeof path - sizeof file)) {
            return refuse(why, size, BW_E_LIMIT, file, "lies under a path that is too long");
        }
        bw_source module = {.name = path, .text = "", .len = 0};
        size_t folder = strlen(path);
        if (sources->kept == NULL) {
            rc = module_from_disk(sources, path, file, &module, why, size);
        }
        (void)bw_text_copy(path + folder, sizeof path - folder, file);
        if (sources->kept != NULL) {
            rc = module_from_kept(sources, path, &module);
        }
        if (rc == BW_OK && strcmp(path, sources->list[0].name) == 0) {
            return refuse(why, size, BW_E_DATA, file, "is the sequence itself");
        }
        if (rc == BW_OK && sources->n > BW_RUN_MODULES_MAX) {
            return refuse(why, size, BW_E_LIMIT, file, "is one module too many");
        }
        if (rc == BW_OK) {
            rc = take(sources, module);
            *out = &sources->list[sources->n - 1];
            return rc;
        }
    }
    return rc == BW_E_ABSENT
               ? refuse(why, size, rc, file,
                        sources->kept == NULL
                            ? "is neither beside the sequence nor in a lib folder next to it"
                            : "is not among the texts that were kept")
               : rc;
}

void bw_source_short_name(const char *path, char *out, size_t size) {
    const char *last = path + folder_len(path);
    if (!bw_text_printable(last, strlen(last), false)) {
        last = "sequence";
    }
    (void)bw_text_copy(out, size, last);
}
