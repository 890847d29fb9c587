/* driver_find.c - where a driver is.  See driver_load.h.
 *
 * In the host: the worker has no environment, and no business to choose. */
#define _XOPEN_SOURCE 700 /* realpath, S_ISVTX */
#include "device/driver_load.h"

#include "base/text.h"
#include "device/spec.h"

#include <dirent.h>
#include <errno.h>
#include <limits.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

typedef struct search {
    const char *name;
    char *path;      /* PATH_MAX bytes */
    bw_text *looked; /* folders that exist, for the message */
    bw_status found; /* BW_E_ABSENT: go on */
    bw_err *err;
} search;

/* True where anybody may put another file in the place of this one.  A sticky folder keeps others'
 * files alone. */
static bool anybody_may_write(const char *folder, const struct stat *file) {
    struct stat around;
    return (file->st_mode & S_IWOTH) != 0 || stat(folder, &around) != 0 ||
           ((around.st_mode & S_IWOTH) != 0 && (around.st_mode & S_ISVTX) == 0);
}

static void look_in(search *s, const char *folder) {
    struct stat there;
    if (s->found != BW_E_ABSENT || stat(folder, &there) != 0 || !S_ISDIR(there.st_mode)) {
        return;
    }
    bw_text_add(s->looked, "%s%s", s->looked->len > 0 ? ", " : "", folder);
    char file[PATH_MAX];
    bw_text text = bw_text_on(file, sizeof file);
    bw_text_add(&text, "%s/%s.so", folder, s->name);
    if (text.cut || realpath(file, s->path) == NULL || stat(s->path, &there) != 0 ||
        !S_ISREG(there.st_mode)) {
        return;
    }
    s->found = BW_OK;
    if (anybody_may_write(folder, &there)) {
        s->found = bw_fail(s->err, BW_E_DATA,
                           "the driver %s is not loaded: anybody may write to it or its folder "
                           "(chmod o-w)",
                           s->path);
    }
}

static void look_under(search *s, const char *folder, const char *below) {
    char joined[PATH_MAX];
    bw_text text = bw_text_on(joined, sizeof joined);
    bw_text_add(&text, "%s/%s", folder, below);
    if (!text.cut) {
        look_in(s, joined);
    }
}

static void look_in_list(search *s, const char *folders) {
    while (folders != NULL && *folders != '\0') {
        size_t len = strcspn(folders, ":");
        char folder[PATH_MAX];
        if (len > 0 && len < sizeof folder) {
            memcpy(folder, folders, len);
            folder[len] = '\0';
            look_in(s, folder);
        }
        folders += folders[len] == ':' ? len + 1 : len;
    }
}

/* lib itself and, as some systems name them after the machine, each folder in it. */
static void look_in_lib(search *s, const char *lib) {
    look_under(s, lib, "boltwright/plugins");
    DIR *dir = opendir(lib);
    const struct dirent *entry = NULL;
    /* cppcheck-suppress readdirCalled ; each stream is its own, and readdir_r is obsolete */
    while (dir != NULL && s->found == BW_E_ABSENT && (entry = readdir(dir)) != NULL) {
        char folder[PATH_MAX];
        bw_text text = bw_text_on(folder, sizeof folder);
        bw_text_add(&text, "%s/%s", lib, entry->d_name);
        if (entry->d_name[0] != '.' && !text.cut) {
            look_under(s, folder, "boltwright/plugins");
        }
    }
    if (dir != NULL) {
        (void)closedir(dir);
    }
}

static void look_beside_program(search *s) {
    char program[PATH_MAX];
    ssize_t n = readlink("/proc/self/exe", program, sizeof program - 1);
    if (n <= 0) {
        return;
    }
    program[n] = '\0';
    char *slash = strrchr(program, '/');
    if (slash == NULL) {
        return;
    }
    *slash = '\0';
    look_under(s, program, "plugins");
    char *up = strrchr(program, '/');
    if (up != NULL && s->found == BW_E_ABSENT) {
        char lib[PATH_MAX];
        bw_text text = bw_text_on(lib, sizeof lib);
        bw_text_add(&text, "%.*s/lib", (int)(up - program), program);
        look_in_lib(s, lib);
    }
}

static void look_at_home(search *s) {
    static const struct {
        const char *variable;
        const char *below;
    } homes[] = {{"BOLTWRIGHT_HOME", "plugins"},
                 {"XDG_DATA_HOME", "boltwright/plugins"},
                 {"HOME", ".local/share/boltwright/plugins"}};
    for (size_t i = 0; i < sizeof homes / sizeof homes[0]; i++) {
        const char *folder = getenv(homes[i].variable);
        if (folder != NULL && folder[0] != '\0') {
            look_under(s, folder, homes[i].below);
            return; /* each stands in for those below it */
        }
    }
}

bw_status bw_driver_find(const char *name, char *path, bw_err *err) {
    if (!bw_driver_name_good(name)) {
        return bw_fail(err, BW_E_DATA, "\"%s\" is no driver's name", name);
    }
    char folders[BW_ERR_TEXT_MAX];
    bw_text looked = bw_text_on(folders, sizeof folders);
    search s = {.name = name, .path = path, .looked = &looked, .found = BW_E_ABSENT, .err = err};
    look_in_list(&s, getenv("BOLTWRIGHT_PLUGINS"));
    look_beside_program(&s);
    look_at_home(&s);
    if (s.found != BW_E_ABSENT) {
        return s.found;
    }
    return bw_fail(err, BW_E_DATA, "there is no driver `%s`: no %s.so in %s", name, name,
                   looked.len > 0 ? folders : "any plugin folder");
}
