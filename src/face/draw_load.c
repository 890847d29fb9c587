/* draw_load.c - finds the shared object that draws, and calls it.  See draw.h.
 *
 * It is looked for beside the program (a build's folder), then where the program is installed:
 * ../lib/boltwright or what BW_LIBRARY_DIR says from the program's own folder. */
#include "face/draw.h"

#include "base/text.h"

#include <dlfcn.h>
#include <string.h>
#include <unistd.h>

enum { PATH_BYTES = 4200 };

static const char object_name[] = "boltwright-draw.so";

const char *bw_paper_word(bw_paper paper) {
    static const char *const words[BW_PAPER_COUNT] = {
        [BW_PAPER_A4] = "a4", [BW_PAPER_LETTER] = "letter"};
    return (size_t)paper < BW_PAPER_COUNT ? words[paper] : NULL;
}

/* The folder that this program was started from; false where /proc can't tell. */
static bool own_folder(char *out, size_t size) {
    ssize_t len = readlink("/proc/self/exe", out, size - 1);
    if (len <= 0 || (size_t)len >= size - 1) {
        return false;
    }
    out[len] = '\0';
    char *slash = strrchr(out, '/');
    if (slash == NULL) {
        return false;
    }
    *slash = '\0';
    return true;
}

static void *open_object(void) {
    static const char *const beside[] = {"", "/" BW_LIBRARY_DIR};
    char folder[PATH_BYTES];
    void *object = NULL;
    bool known = own_folder(folder, sizeof folder);
    for (size_t i = 0; known && object == NULL && i < sizeof beside / sizeof beside[0]; i++) {
        char path[PATH_BYTES];
        bw_text text = bw_text_on(path, sizeof path);
        bw_text_add(&text, "%s%s/%s", folder, beside[i], object_name);
        object = text.cut || access(path, R_OK) != 0 ? NULL : dlopen(path, RTLD_NOW | RTLD_LOCAL);
    }
    return object;
}

bw_status bw_draw(bw_draw_job *job, bw_err *err) {
    bw_draw_fn *draw = NULL;
    void *object = open_object();
    if (object == NULL) {
        const char *why = dlerror();
        return bw_fail(err, BW_E_ABSENT,
                       "%s, which draws sheets, can't be loaded%s%s; -o FILE.txt needs it not",
                       object_name, why != NULL ? ": " : "", why != NULL ? why : "");
    }
    void *symbol = dlsym(object, BW_DRAW_NAME);
    memcpy(&draw, &symbol, sizeof draw); /* POSIX's way from an object to a function */
    /* It stays loaded: what is behind it cleans up at exit. */
    return draw != NULL ? draw(job, err)
                        : bw_fail(err, BW_E_ABSENT, "%s does not draw", object_name);
}
