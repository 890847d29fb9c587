/* object.c - see object.h. */
#include "base/object.h"

#include "base/text.h"

#include <dlfcn.h>
#include <string.h>
#include <unistd.h>

enum { PATH_BYTES = 4200 };

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

static void *open_object(const char *name) {
    static const char *const beside[] = {"", "/" BW_LIBRARY_DIR};
    char folder[PATH_BYTES];
    void *object = NULL;
    bool known = own_folder(folder, sizeof folder);
    for (size_t i = 0; known && object == NULL && i < sizeof beside / sizeof beside[0]; i++) {
        char path[PATH_BYTES];
        bw_text text = bw_text_on(path, sizeof path);
        bw_text_add(&text, "%s%s/%s", folder, beside[i], name);
        object = text.cut || access(path, R_OK) != 0 ? NULL : dlopen(path, RTLD_NOW | RTLD_LOCAL);
    }
    return object;
}

bw_status bw_object_find(const char *name, const char *symbol, void *function, bw_err *err) {
    void *object = open_object(name);
    void *found = object != NULL ? dlsym(object, symbol) : NULL;
    if (found == NULL) {
        const char *why = dlerror();
        return bw_fail(err, BW_E_ABSENT, "%s can't be loaded: %s", name,
                       why != NULL ? why
                                   : "it lies neither beside the program nor in its library "
                                     "folder; install it whole");
    }
    memcpy(function, &found, sizeof found); /* POSIX's way from an object to a function */
    return BW_OK;
}
