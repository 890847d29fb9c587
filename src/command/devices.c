/* devices.c - see devices.h.
 *
 * The file is Lua, run where sequences are: it may compute its table, and reaches nothing. */
#include "command/devices.h"

#include "base/decimal.h"
#include "base/text.h"
#include "sequence/sequence.h"

#include <errno.h>
#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { FILE_MAX = 60000, PATH_BYTES = 4200, ARENA_BYTES = 4 << 20, NAME_BYTES = 64 };

static const char right[] = "it returns a table of names, as in return { w2 = { port = "
                            "\"usb:A9047\", driver = \"line\", unit = \"N.m\" } }";

static bool path_of(char *out) {
    const char *config = getenv("XDG_CONFIG_HOME");
    const char *home = getenv("HOME");
    bw_text text = bw_text_on(out, PATH_BYTES);
    if (config != NULL && config[0] == '/') {
        bw_text_add(&text, "%s/boltwright/devices.lua", config);
    } else if (home != NULL && home[0] == '/') {
        bw_text_add(&text, "%s/.config/boltwright/devices.lua", home);
    }
    return text.len > 0 && !text.cut;
}

/* The file's text as one expression on the same lines; *out freed by the caller, NULL where there
 * is no file. */
static bw_status read_file(const char *path, char **out, bw_err *err) {
    static const char before[] = "(function() ";
    static const char behind[] = "\nend)()";
    FILE *file = fopen(path, "re");
    *out = NULL;
    if (file == NULL) {
        return errno == ENOENT || errno == ENOTDIR
                   ? BW_OK
                   : bw_fail(err, BW_E_ARG, "%s cannot be read: %s", path, strerror(errno));
    }
    char *text = calloc(1, sizeof before + FILE_MAX + sizeof behind);
    size_t n = 0;
    if (text != NULL) {
        memcpy(text, before, sizeof before - 1);
        n = fread(text + sizeof before - 1, 1, FILE_MAX, file);
        memcpy(text + sizeof before - 1 + n, behind, sizeof behind);
    }
    (void)fclose(file);
    if (text == NULL || n == FILE_MAX ||
        strlen(text) != sizeof before - 1 + n + sizeof behind - 1) {
        free(text);
        return bw_fail(err, text == NULL ? BW_E_MEM : BW_E_ARG, "%s is no text of up to %d bytes",
                       path, FILE_MAX);
    }
    *out = text;
    return BW_OK;
}

/* A text or a number of the file; false for anything else, and for a comma, which parts settings.
 */
static bool word_of(json_t *member, char *out, size_t size) {
    const json_t *value = json_object_get(member, "value");
    if (json_is_string(value)) {
        const char *text = json_string_value(value);
        return text[0] != '\0' && strchr(text, ',') == NULL && bw_text_copy(out, size, text);
    }
    if (json_is_number(value)) {
        (void)bw_number_text(json_number_value(value), out, size);
        return true;
    }
    return false;
}

static bw_status build_spec(const char *name, json_t *device, const char *rest, char *out,
                            bw_err *err) {
    char word[BW_SPEC_MAX];
    const char *key = NULL;
    json_t *member = NULL;
    bw_text text = bw_text_on(out, BW_SPEC_MAX);
    if (!word_of(json_object_get(device, "port"), word, sizeof word)) {
        return bw_fail(err, BW_E_ARG, "devices.lua: %s needs a port: %s", name, right);
    }
    bw_text_add(&text, "%s", word);
    json_object_foreach(device, key, member) {
        if (strcmp(key, "port") == 0) {
            continue;
        }
        if (!word_of(member, word, sizeof word)) {
            return bw_fail(err, BW_E_ARG,
                           "devices.lua: %s of %s is a number or a text without a comma (a format "
                           "writes {comma})",
                           key, name);
        }
        bw_text_add(&text, ",%s=%s", key, word);
    }
    bw_text_add(&text, "%s", rest);
    return text.cut ? bw_fail(err, BW_E_ARG, "devices.lua: %s has too many settings", name) : BW_OK;
}

static bw_status look_up(const char *path, const char *expression, const char *spec, char *out,
                         bw_err *err) {
    char name[NAME_BYTES];
    size_t len = strcspn(spec, ",");
    bw_arena *arena = bw_arena_new(ARENA_BYTES);
    const char *json = NULL;
    bw_err why = {.text = ""};
    if (arena == NULL) {
        return bw_fail(err, BW_E_MEM, "out of memory");
    }
    bw_status rc = bw_sequence_calc(expression, arena, &json, &why);
    json_t *all = rc == BW_OK ? json_loads(json, 0, NULL) : NULL;
    if (rc == BW_OK && (!json_is_object(all) || json_object_get(all, "value") != NULL)) {
        rc = bw_fail(&why, BW_E_ARG, "%s", right);
    }
    if (rc != BW_OK) {
        rc = bw_fail(err, BW_E_ARG, "%s: %s", path, why.text);
    } else if (len < sizeof name) {
        memcpy(name, spec, len);
        name[len] = '\0';
        json_t *device = json_object_get(all, name);
        rc = device != NULL ? build_spec(name, device, spec + len, out, err) : BW_OK;
    }
    json_decref(all);
    bw_arena_free(arena);
    return rc;
}

bw_status bw_devices_expand(const char *spec, char *out, bw_err *err) {
    char path[PATH_BYTES];
    char *expression = NULL;
    if (!bw_text_copy(out, BW_SPEC_MAX, spec)) {
        return bw_fail(err, BW_E_ARG, "a wrench is named by at most %d bytes", BW_SPEC_MAX - 1);
    }
    if (strchr(spec, '/') != NULL || !path_of(path)) {
        return BW_OK; /* a path names a port, and no device */
    }
    bw_status rc = read_file(path, &expression, err);
    if (rc == BW_OK && expression != NULL) {
        rc = look_up(path, expression, spec, out, err);
    }
    free(expression);
    return rc;
}
