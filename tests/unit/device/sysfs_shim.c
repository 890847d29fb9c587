/* sysfs_shim.c - see sysfs_shim.h. */
#define _GNU_SOURCE /* RTLD_NEXT, fmemopen, ptsname_r */
#include "sysfs_shim.h"

#include <dirent.h>
#include <dlfcn.h>
#include <errno.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <string.h>
#include <sys/ioctl.h>
#include <sys/stat.h>
#include <unistd.h>

static const char class_folder[] = "/sys/class/tty";

test_plug test_plugs[TEST_PLUGS];

/* The next function of this name, into *out: one of the right type. */
static void find_next(const char *name, void *out) {
    void *symbol = dlsym(RTLD_NEXT, name);
    memcpy(out, &symbol, sizeof symbol);
}

/* The plug that a path under /sys/class/tty is about, *rest behind its name; NULL for other
 * paths and for names that nothing is plugged in at. */
static test_plug *plug_of(const char *path, const char **rest) {
    size_t folder_len = sizeof class_folder - 1;
    if (strncmp(path, class_folder, folder_len) != 0 || path[folder_len] != '/') {
        return NULL;
    }
    const char *name = path + folder_len + 1;
    for (size_t i = 0; i < TEST_PLUGS; i++) {
        size_t len = strlen(test_plugs[i].name);
        if (len > 0 && strncmp(name, test_plugs[i].name, len) == 0 &&
            (name[len] == '/' || name[len] == '\0')) {
            *rest = name + len;
            return &test_plugs[i];
        }
    }
    return NULL;
}

/* ---- in the C library's place ---- */

int __lxstat(int version, const char *path, struct stat *out);

int __lxstat(int version, const char *path, struct stat *out) {
    (void)version;
    const char *rest = NULL;
    if (plug_of(path, &rest) == NULL) {
        return lstat(path, out);
    }
    memset(out, 0, sizeof *out);
    out->st_mode = S_IFLNK;
    return 0;
}

ssize_t readlink(const char *path, char *out, size_t size) {
    ssize_t (*next)(const char *path, char *out, size_t size) = NULL;
    find_next("readlink", &next);
    const char *rest = NULL;
    const test_plug *plug = plug_of(path, &rest);
    if (plug == NULL) {
        return next(path, out, size);
    }
    int n = snprintf(out, size, "../../devices/%s/tty/%s", plug->vendor != NULL ? "usb1" : "pnp0",
                     plug->name);
    return n;
}

/* What stands in a file beside the device's folder. */
static const char *attribute(const test_plug *plug, const char *file) {
    const struct {
        const char *file;
        const char *text;
    } rows[] = {{"busnum", "1\n"},          {"devnum", "5\n"},
                {"idVendor", plug->vendor}, {"idProduct", plug->product},
                {"product", "made-up\n"},   {"serial", plug->serial}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        if (strcmp(file, rows[i].file) == 0) {
            return rows[i].text;
        }
    }
    return NULL;
}

FILE *fopen(const char *restrict path, const char *restrict mode) {
    FILE *(*next)(const char *path, const char *mode) = NULL;
    find_next("fopen", &next);
    const char *rest = NULL;
    const test_plug *plug = plug_of(path, &rest);
    if (plug == NULL) {
        return next(path, mode);
    }
    const char *file = strrchr(path, '/') + 1;
    const char *text = attribute(plug, file);
    if (text == NULL) {
        errno = ENOENT;
        return NULL;
    }
    FILE *memory = fmemopen(NULL, strlen(text) + 1, "w+");
    if (memory != NULL) {
        (void)fputs(text, memory);
        rewind(memory);
    }
    return memory;
}

DIR *opendir(const char *path) {
    DIR *(*next)(const char *path) = NULL;
    find_next("opendir", &next);
    return next(strcmp(path, class_folder) == 0 ? "/" : path);
}

/* Only libserialport calls this one, and only for /sys/class/tty. */
int readdir_r(DIR *restrict dir, struct dirent *restrict entry, struct dirent **restrict out) {
    static DIR *of;
    static size_t at;
    if (dir != of) {
        of = dir;
        at = 0;
    }
    while (at < TEST_PLUGS && test_plugs[at].name[0] == '\0') {
        at++;
    }
    *out = NULL;
    if (at == TEST_PLUGS) {
        of = NULL;
        return 0;
    }
    memcpy(entry->d_name, test_plugs[at].name, sizeof test_plugs[at].name);
    at++;
    *out = entry;
    return 0;
}

static test_plug *plug_of_fd(int fd) {
    char name[64];
    for (size_t i = 0; i < TEST_PLUGS && ttyname_r(fd, name, sizeof name) == 0; i++) {
        if (strcmp(name + strlen("/dev/"), test_plugs[i].name) == 0) {
            return &test_plugs[i];
        }
    }
    return NULL;
}

int ioctl(int fd, unsigned long request, ...) {
    int (*next)(int fd, unsigned long request, ...) = NULL;
    find_next("ioctl", &next);
    va_list args;
    va_start(args, request);
    int *bits = va_arg(args, int *);
    va_end(args);
    bool of_modem = request == TIOCMGET || request == TIOCMSET || request == TIOCMBIS ||
                    request == TIOCMBIC;
    test_plug *plug = of_modem ? plug_of_fd(fd) : NULL;
    if (plug == NULL || !plug->modem_lines) {
        return next(fd, request, bits);
    }
    switch (request) {
    case TIOCMGET:
        *bits = plug->lines;
        break;
    case TIOCMSET:
        plug->lines = *bits;
        break;
    case TIOCMBIS:
        plug->lines |= *bits;
        break;
    default:
        plug->lines &= ~*bits;
        break;
    }
    return 0;
}
