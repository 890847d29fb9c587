/* new.c - boltwright new: a folder with a sequence to begin with, and what an editor wants to know.
 *
 * The files themselves lie in sequences/ and are built in (embed.cmake). */
#include "command/command.h"

#include "base/text.h"

#include <errno.h>
#include <jansson.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

extern const unsigned char bw_skeleton_text[], bw_words_text[], bw_luarc_text[];

enum { FILES = 3, PATH_BYTES = 4096 };

typedef struct new_file {
    char path[PATH_BYTES];
    const char *text;
} new_file;

/* gearbox of some/where/gearbox/; what can't name a sequence becomes "sequence". */
static void name_of(const char *folder, char *out, size_t size) {
    static const char good[] = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_-";
    size_t len = strlen(folder);
    while (len > 0 && folder[len - 1] == '/') {
        len--;
    }
    size_t from = len;
    while (from > 0 && folder[from - 1] != '/') {
        from--;
    }
    size_t n = len - from;
    bool other = strncmp(folder + from, "words", n) != 0 || n != 5;
    bool fit = n > 0 && n < size && strspn(folder + from, good) >= n && folder[from] != '-' &&
               other;
    (void)snprintf(out, size, "%.*s", fit ? (int)n : 8, fit ? folder + from : "sequence");
}

static bool plan_files(const char *folder, new_file file[FILES]) {
    char name[64];
    name_of(folder, name, sizeof name);
    const struct {
        const char *stem, *ending;
        const unsigned char *text;
    } rows[FILES] = {{name, ".lua", bw_skeleton_text},
                     {"words", ".lua", bw_words_text},
                     {".luarc", ".json", bw_luarc_text}};
    for (size_t i = 0; i < FILES; i++) {
        bw_text path = bw_text_on(file[i].path, PATH_BYTES);
        bw_text_add(&path, "%s/%s%s", folder, rows[i].stem, rows[i].ending);
        file[i].text = (const char *)rows[i].text;
        if (path.cut) {
            return false;
        }
    }
    return true;
}

/* Nothing is written over, and nothing is begun that can't be ended. */
static bool nothing_there(const new_file file[FILES]) {
    for (size_t i = 0; i < FILES; i++) {
        if (access(file[i].path, F_OK) == 0) {
            bw_complain("%s is there already: name a folder that is not", file[i].path);
            return false;
        }
    }
    return true;
}

static bool write_file(const new_file *file) {
    FILE *out = fopen(file->path, "wxe");
    bool good = out != NULL && fputs(file->text, out) >= 0;
    int why = errno;
    if (out != NULL && fclose(out) != 0 && good) {
        good = false;
        why = errno;
    }
    if (!good) {
        bw_complain("%s could not be written: %s", file->path, strerror(why));
    }
    if (!good && out != NULL) {
        (void)remove(file->path);
    }
    return good;
}

static void tell(const new_file file[FILES], bool json) {
    if (json) {
        for (size_t i = 0; i < FILES; i++) {
            json_t *line = json_pack("{s:s,s:s}", "kind", "written", "path", file[i].path);
            (void)json_dumpf(line, stdout, JSON_COMPACT);
            (void)printf("\n");
            json_decref(line);
        }
        return;
    }
    (void)printf("%s\n"
                 "  the sequence: change it, then ask: boltwright check %s\n"
                 "%s, %s\n"
                 "  for an editor with a Lua language server: completion and types\n",
                 file[0].path, file[0].path, file[1].path, file[2].path);
}

static int make_new(const bw_args *args) {
    const char *folder = args->word[0];
    new_file file[FILES];
    if (!plan_files(folder, file)) {
        bw_complain("the name of the folder is too long");
        return BW_EXIT_USAGE;
    }
    if (!nothing_there(file)) {
        return BW_EXIT_USAGE;
    }
    if (mkdir(folder, 0777) != 0 && errno != EEXIST) {
        bw_complain("%s can't be made: %s", folder, strerror(errno));
        return BW_EXIT_MACHINE;
    }
    for (size_t i = 0; i < FILES; i++) {
        if (!write_file(&file[i])) {
            while (i-- > 0) {
                (void)remove(file[i].path);
            }
            return BW_EXIT_MACHINE;
        }
    }
    tell(file, args->json);
    return BW_EXIT_YES;
}

static const bw_option_row options[] = {{NULL, NULL, NULL}};

const bw_command bw_command_new = {
    .name = "new",
    .usage = "DIR",
    .says = "writes a sequence to begin with into a folder",
    .more = "The sequence is DIR/DIR.lua, commented, without mistakes, and can be rehearsed as it "
            "is.\nBeside it: words.lua and .luarc.json, by which an editor completes words and "
            "fields.\nWhat is there already is left alone.",
    .least_words = 1,
    .most_words = 1,
    .option = options,
    .run = make_new,
};
