/* power.c - see power.h. */
#include "power.h"

#include <sqlite3.h>
#include <stdlib.h>
#include <string.h>

typedef struct file {
    sqlite3_file base;
    power_file which; /* POWER_FILES: neither of the two */
    sqlite3_file *real;
} file;

static struct {
    sqlite3_vfs vfs;
    sqlite3_vfs *real;
    bool logging;
    power_op *op;
    size_t n, room;
    unsigned kinds;
    uint64_t at, calls;
    int code;
    bool lasting, failed;
} power;

static void keep(const file *from, power_act act, int64_t at, const void *data, size_t len) {
    if (!power.logging || from->which == POWER_FILES) {
        return;
    }
    if (power.n == power.room) {
        power.room = power.room == 0 ? 1024 : power.room * 2;
        power.op = realloc(power.op, power.room * sizeof *power.op);
    }
    unsigned char *copy = NULL;
    if (data != NULL) {
        copy = malloc(len);
    }
    if (power.op == NULL || (data != NULL && copy == NULL)) {
        abort();
    }
    if (copy != NULL) {
        memcpy(copy, data, len);
    }
    power.op[power.n++] = (power_op){from->which, act, at, len, copy};
}

/* The code that this call has to fail with, or SQLITE_OK. */
static int fate(unsigned kind) {
    if (power.at == 0 || (power.kinds & kind) == 0) {
        return SQLITE_OK;
    }
    power.calls++;
    bool now = power.calls == power.at || (power.lasting && power.calls > power.at);
    power.failed = power.failed || now;
    return now ? power.code : SQLITE_OK;
}

static file *of(sqlite3_file *base) {
    return (file *)base;
}

static int do_close(sqlite3_file *base) {
    int rc = of(base)->real->pMethods->xClose(of(base)->real);
    sqlite3_free(of(base)->real);
    return rc;
}

static int do_read(sqlite3_file *base, void *out, int n, sqlite3_int64 at) {
    int rc = fate(FAIL_READ);
    return rc != SQLITE_OK ? rc : of(base)->real->pMethods->xRead(of(base)->real, out, n, at);
}

static int do_write(sqlite3_file *base, const void *data, int n, sqlite3_int64 at) {
    int rc = fate(FAIL_WRITE);
    if (rc != SQLITE_OK) {
        return rc;
    }
    keep(of(base), POWER_WRITE, at, data, (size_t)n);
    return of(base)->real->pMethods->xWrite(of(base)->real, data, n, at);
}

static int do_truncate(sqlite3_file *base, sqlite3_int64 size) {
    int rc = fate(FAIL_TRUNCATE);
    if (rc != SQLITE_OK) {
        return rc;
    }
    keep(of(base), POWER_TRUNCATE, size, NULL, 0);
    return of(base)->real->pMethods->xTruncate(of(base)->real, size);
}

static int do_sync(sqlite3_file *base, int flags) {
    int rc = fate(FAIL_SYNC);
    if (rc != SQLITE_OK) {
        return rc;
    }
    keep(of(base), POWER_SYNC, 0, NULL, 0);
    return of(base)->real->pMethods->xSync(of(base)->real, flags);
}

static int do_size(sqlite3_file *base, sqlite3_int64 *out) {
    return of(base)->real->pMethods->xFileSize(of(base)->real, out);
}

static int do_lock(sqlite3_file *base, int level) {
    return of(base)->real->pMethods->xLock(of(base)->real, level);
}

static int do_unlock(sqlite3_file *base, int level) {
    return of(base)->real->pMethods->xUnlock(of(base)->real, level);
}

static int do_check_lock(sqlite3_file *base, int *out) {
    return of(base)->real->pMethods->xCheckReservedLock(of(base)->real, out);
}

static int do_control(sqlite3_file *base, int op, void *arg) {
    return of(base)->real->pMethods->xFileControl(of(base)->real, op, arg);
}

static int do_sector(sqlite3_file *base) {
    return of(base)->real->pMethods->xSectorSize(of(base)->real);
}

static int do_traits(sqlite3_file *base) {
    return of(base)->real->pMethods->xDeviceCharacteristics(of(base)->real);
}

static int do_shm_map(sqlite3_file *base, int page, int size, int grow, void volatile **out) {
    return of(base)->real->pMethods->xShmMap(of(base)->real, page, size, grow, out);
}

static int do_shm_lock(sqlite3_file *base, int at, int n, int flags) {
    return of(base)->real->pMethods->xShmLock(of(base)->real, at, n, flags);
}

static void do_shm_barrier(sqlite3_file *base) {
    of(base)->real->pMethods->xShmBarrier(of(base)->real);
}

static int do_shm_unmap(sqlite3_file *base, int delete) {
    return of(base)->real->pMethods->xShmUnmap(of(base)->real, delete);
}

static const sqlite3_io_methods methods = {.iVersion = 2,
                                           .xClose = do_close,
                                           .xRead = do_read,
                                           .xWrite = do_write,
                                           .xTruncate = do_truncate,
                                           .xSync = do_sync,
                                           .xFileSize = do_size,
                                           .xLock = do_lock,
                                           .xUnlock = do_unlock,
                                           .xCheckReservedLock = do_check_lock,
                                           .xFileControl = do_control,
                                           .xSectorSize = do_sector,
                                           .xDeviceCharacteristics = do_traits,
                                           .xShmMap = do_shm_map,
                                           .xShmLock = do_shm_lock,
                                           .xShmBarrier = do_shm_barrier,
                                           .xShmUnmap = do_shm_unmap};

static int do_open(sqlite3_vfs *vfs, const char *name, sqlite3_file *base, int flags, int *out) {
    (void)vfs;
    base->pMethods = NULL;
    int rc = fate(FAIL_OPEN);
    if (rc != SQLITE_OK) {
        return SQLITE_CANTOPEN;
    }
    file *it = of(base);
    it->which = (flags & SQLITE_OPEN_MAIN_DB) != 0 ? POWER_DB
                : (flags & SQLITE_OPEN_WAL) != 0   ? POWER_WAL
                                                   : POWER_FILES;
    it->real = sqlite3_malloc(power.real->szOsFile);
    if (it->real == NULL) {
        return SQLITE_NOMEM;
    }
    memset(it->real, 0, (size_t)power.real->szOsFile);
    rc = power.real->xOpen(power.real, name, it->real, flags, out);
    if (rc != SQLITE_OK) {
        sqlite3_free(it->real);
        return rc;
    }
    base->pMethods = &methods;
    return SQLITE_OK;
}

void power_install(void) {
    power.real = sqlite3_vfs_find(NULL);
    power.vfs = *power.real;
    power.vfs.szOsFile = sizeof(file);
    power.vfs.pNext = NULL;
    power.vfs.zName = "power";
    power.vfs.xOpen = do_open;
    if (sqlite3_vfs_register(&power.vfs, 1) != SQLITE_OK) {
        abort();
    }
}

void power_log_free(void) {
    for (size_t i = 0; i < power.n; i++) {
        free(power.op[i].data);
    }
    free(power.op);
    power.op = NULL;
    power.n = 0;
    power.room = 0;
}

void power_log_begin(void) {
    power_log_free();
    power.logging = true;
}

size_t power_log_size(void) {
    return power.n;
}

const power_op *power_log_end(size_t *n) {
    power.logging = false;
    *n = power.n;
    return power.op;
}

void power_fail_at(unsigned kinds, uint64_t n, int code, bool lasting) {
    power.kinds = kinds;
    power.at = n;
    power.calls = 0;
    power.code = code;
    power.lasting = lasting;
    power.failed = false;
}

bool power_failed(void) {
    return power.failed;
}
