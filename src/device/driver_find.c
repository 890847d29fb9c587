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

/* A walk over the plugin folders, first come first served. */
typedef struct search {
    bool (*visit)(void *ctx, const char *folder); /* true: enough */
    void *ctx;
    bool done;
} search;

static void look_in(search *s, const char *folder) {
    struct stat there;
    if (!s->done && stat(folder, &there) == 0 && S_ISDIR(there.st_mode)) {
        s->done = s->visit(s->ctx, folder);
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
    while (dir != NULL && !s->done && (entry = readdir(dir)) != NULL) {
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
    if (up != NULL && !s->done) {
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

static void walk_folders(bool (*visit)(void *ctx, const char *folder), void *ctx) {
    search s = {.visit = visit, .ctx = ctx};
    look_in_list(&s, getenv("BOLTWRIGHT_PLUGINS"));
    look_beside_program(&s);
    look_at_home(&s);
}

/* ---- one driver ---- */

static const char *const endings[] = {".so", ".lua"};
enum { ENDINGS = sizeof endings / sizeof endings[0] };

/* True where anybody may put another file in the place of this one.  A sticky folder keeps others'
 * files alone. */
static bool anybody_may_write(const char *folder, const struct stat *file) {
    struct stat around;
    return (file->st_mode & S_IWOTH) != 0 || stat(folder, &around) != 0 ||
           ((around.st_mode & S_IWOTH) != 0 && (around.st_mode & S_ISVTX) == 0);
}

typedef struct wanted {
    const char *name;
    char *path;     /* PATH_MAX bytes */
    bw_text looked; /* folders that exist, for the message */
    bw_status rc;   /* BW_E_ABSENT: not found yet */
    bw_err *err;
} wanted;

static bool find_in(void *ctx, const char *folder) {
    wanted *w = ctx;
    bw_text_add(&w->looked, "%s%s", w->looked.len > 0 ? ", " : "", folder);
    for (size_t i = 0; i < ENDINGS; i++) {
        char file[PATH_MAX];
        struct stat there;
        bw_text text = bw_text_on(file, sizeof file);
        bw_text_add(&text, "%s/%s%s", folder, w->name, endings[i]);
        if (text.cut || realpath(file, w->path) == NULL || stat(w->path, &there) != 0 ||
            !S_ISREG(there.st_mode)) {
            continue;
        }
        w->rc = BW_OK;
        if (anybody_may_write(folder, &there)) {
            w->rc = bw_fail(w->err, BW_E_DATA,
                            "the driver %s is not loaded: anybody may write to it or its folder "
                            "(chmod o-w)",
                            w->path);
        }
        return true;
    }
    return false;
}

bw_status bw_driver_find(const char *name, char *path, bw_err *err) {
    if (!bw_driver_name_good(name)) {
        return bw_fail(err, BW_E_DATA, "\"%s\" is no driver's name", name);
    }
    char folders[BW_ERR_TEXT_MAX];
    wanted w = {.name = name,
                .path = path,
                .looked = bw_text_on(folders, sizeof folders),
                .rc = BW_E_ABSENT,
                .err = err};
    walk_folders(find_in, &w);
    if (w.rc != BW_E_ABSENT) {
        return w.rc;
    }
    return bw_fail(err, BW_E_DATA, "there is no driver `%s`: no %s.so or %s.lua in %s", name, name,
                   name, w.looked.len > 0 ? folders : "any plugin folder");
}

/* ---- all of them ---- */

typedef struct roll {
    bw_driver_take_name *take;
    void *ctx;
} roll;

/* The driver's name in a file's name; false where it is no driver's. */
static bool name_of_file(const char *file, char name[BW_DRIVER_NAME_MAX + 1]) {
    size_t len = strlen(file);
    for (size_t i = 0; i < ENDINGS; i++) {
        size_t ending = strlen(endings[i]);
        if (len > ending && len - ending <= BW_DRIVER_NAME_MAX &&
            strcmp(file + len - ending, endings[i]) == 0) {
            memcpy(name, file, len - ending);
            name[len - ending] = '\0';
            return bw_driver_name_good(name);
        }
    }
    return false;
}

static bool name_all_in(void *ctx, const char *folder) {
    const roll *r = ctx;
    DIR *dir = opendir(folder);
    const struct dirent *entry = NULL;
    /* cppcheck-suppress readdirCalled ; each stream is its own, and readdir_r is obsolete */
    while (dir != NULL && (entry = readdir(dir)) != NULL) {
        char name[BW_DRIVER_NAME_MAX + 1];
        if (name_of_file(entry->d_name, name)) {
            r->take(r->ctx, name);
        }
    }
    if (dir != NULL) {
        (void)closedir(dir);
    }
    return false;
}

void bw_driver_names(bw_driver_take_name *take, void *ctx) {
    roll r = {take, ctx};
    walk_folders(name_all_in, &r);
}
