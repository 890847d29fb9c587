/* look.c - see look.h. */
#include "record/look.h"

#include "base/text.h"
#include "record/files.h"
#include "record/schema.h"

#include <errno.h>
#include <inttypes.h>
#include <stdint.h>
#include <string.h>
#include <sys/stat.h>

enum { HEADER_BYTES = 100, SCHEMA_FORMAT_MAX = 4, UTF_8 = 1 };

static uint32_t big_endian(const uint8_t *at) {
    return (uint32_t)at[0] << 24 | (uint32_t)at[1] << 16 | (uint32_t)at[2] << 8 | at[3];
}

bw_status bw_look_at_name(const char *path, bw_err *err) {
    struct stat found;
    if (lstat(path, &found) != 0) {
        return errno == ENOENT || errno == ENOTDIR
                   ? bw_fail(err, BW_E_ABSENT, "there is no record: %s", path)
                   : bw_fail(err, BW_E_IO, "cannot read %s: %s", path, strerror(errno));
    }
    if (!S_ISREG(found.st_mode)) {
        return bw_fail(err, BW_E_DATA, "%s is %s, not a record", path,
                       S_ISDIR(found.st_mode)   ? "a folder"
                       : S_ISLNK(found.st_mode) ? "a symbolic link"
                                                : "no plain file");
    }
    return BW_OK;
}

/* Offsets: "The Database Header" of the SQLite file format. */
static bw_status look_at_header(const uint8_t *header, const char *path, bw_err *err) {
    if (memcmp(header, "SQLite format 3", 16) != 0) {
        return bw_fail(err, BW_E_DATA, "%s is not a record: it is no SQLite database", path);
    }
    uint32_t application = big_endian(header + 68);
    if (application != BW_RECORD_APPLICATION_ID) {
        return bw_fail(err, BW_E_DATA,
                       "%s is not a record: its application id is %08" PRIx32 ", not %08x", path,
                       application, (unsigned)BW_RECORD_APPLICATION_ID);
    }
    uint32_t version = big_endian(header + 60);
    if (version != BW_RECORD_VERSION) {
        return bw_fail(err, BW_E_DATA, "%s has record format %" PRIu32 ", this program knows %d%s",
                       path, version, BW_RECORD_VERSION,
                       version > BW_RECORD_VERSION ? ": use a newer program" : "");
    }
    uint32_t schema = big_endian(header + 44);
    uint32_t encoding = big_endian(header + 56);
    if (schema < 1 || schema > SCHEMA_FORMAT_MAX || encoding != UTF_8) {
        return bw_fail(err, BW_E_DATA,
                       "%s is damaged: its header says schema format %" PRIu32
                       " and text encoding %" PRIu32,
                       path, schema, encoding);
    }
    return BW_OK;
}

/* Without a -wal the file must be as long as its header says. */
static bw_status look_at_length(const uint8_t *header, int64_t bytes, const char *path,
                                bw_err *err) {
    char wal[BW_PATH_MAX];
    bw_text name = bw_text_on(wal, sizeof wal);
    bw_text_add(&name, "%s-wal", path);
    struct stat found;
    if (name.cut || (stat(wal, &found) == 0 && found.st_size > 0)) {
        return BW_OK;
    }
    int64_t page = (int64_t)header[16] << 8 | header[17];
    int64_t expected = (page == 1 ? 65536 : page) * (int64_t)big_endian(header + 28);
    if (bytes < expected) {
        return bw_fail(err, BW_E_DATA, "%s is cut off: %lld bytes of %lld are there", path,
                       (long long)bytes, (long long)expected);
    }
    return BW_OK;
}

/* Through the library's own handle: opening and closing the file beside it would drop the locks
 * that this process may hold on it. */
bw_status bw_look_at_file(sqlite3 *db, const char *path, bw_err *err) {
    sqlite3_file *file = NULL;
    sqlite3_int64 bytes = 0;
    uint8_t header[HEADER_BYTES];
    int rc = sqlite3_file_control(db, "main", SQLITE_FCNTL_FILE_POINTER, &file);
    if (rc != SQLITE_OK || file == NULL || file->pMethods == NULL) {
        return bw_fail(err, BW_E_BUG, "cannot reach the file of %s", path);
    }
    rc = file->pMethods->xFileSize(file, &bytes);
    if (rc == SQLITE_OK && bytes < HEADER_BYTES) {
        return bw_fail(err, BW_E_DATA, "%s is not a record: it is %s", path,
                       bytes == 0 ? "empty" : "too short");
    }
    if (rc == SQLITE_OK) {
        rc = file->pMethods->xRead(file, header, HEADER_BYTES, 0);
    }
    if (rc != SQLITE_OK) {
        return bw_fail(err, BW_E_IO, "cannot read %s: %s", path, sqlite3_errstr(rc));
    }
    bw_status status = look_at_header(header, path, err);
    return status == BW_OK ? look_at_length(header, bytes, path, err) : status;
}
