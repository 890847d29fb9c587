/* files.c - see files.h. */
#include "record/files.h"

#include "base/text.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static bw_status failed(bw_err *err, const char *doing, const char *path) {
    return bw_fail(err, BW_E_IO, "cannot %s %s: %s", doing, path, strerror(errno));
}

bw_status bw_files_path(const char *folder, const char *name, char *out, bw_err *err) {
    bw_text text = bw_text_on(out, BW_PATH_MAX);
    bw_text_add(&text, "%s/%s", folder, name);
    return text.cut ? bw_fail(err, BW_E_ARG, "the name of the home folder is too long") : BW_OK;
}

static bw_status flush_folder(const char *folder, bw_err *err) {
    int fd = open(folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (fd < 0) {
        return failed(err, "open the folder", folder);
    }
    /* EINVAL: a file system that has no flush for folders. */
    bool fine = fsync(fd) == 0 || errno == EINVAL;
    bw_status status = fine ? BW_OK : failed(err, "flush the folder", folder);
    (void)close(fd);
    return status;
}

static bw_status flush_folder_of(const char *path, bw_err *err) {
    char folder[BW_PATH_MAX];
    (void)bw_text_copy(folder, sizeof folder, path);
    char *slash = strrchr(folder, '/');
    if (slash == NULL) {
        return flush_folder(".", err);
    }
    slash[slash == folder ? 1 : 0] = '\0';
    return flush_folder(folder, err);
}

static bw_status make_one(const char *folder, bw_err *err) {
    if (mkdir(folder, 0700) == 0) {
        return flush_folder_of(folder, err);
    }
    struct stat stat_buf;
    if (errno == EEXIST && stat(folder, &stat_buf) == 0) {
        return S_ISDIR(stat_buf.st_mode) ? BW_OK
                                         : bw_fail(err, BW_E_IO, "%s is not a folder", folder);
    }
    return failed(err, "make the folder", folder);
}

bw_status bw_files_make_folder(const char *folder, bw_err *err) {
    char path[BW_PATH_MAX];
    if (!bw_text_copy(path, sizeof path, folder) || path[0] == '\0') {
        return bw_fail(err, BW_E_ARG, "the name of the home folder is empty or too long");
    }
    for (char *slash = strchr(path + 1, '/'); slash != NULL; slash = strchr(slash + 1, '/')) {
        *slash = '\0';
        bw_status status = make_one(path, err);
        if (status != BW_OK) {
            return status;
        }
        *slash = '/';
    }
    return make_one(path, err);
}

static bool write_all(int fd, const char *data, size_t len) {
    while (len > 0) {
        ssize_t n = write(fd, data, len);
        if (n < 0 && errno == EINTR) {
            continue;
        }
        if (n <= 0) {
            return false;
        }
        data += n;
        len -= (size_t)n;
    }
    return true;
}

bw_status bw_files_publish(const char *temp, const char *path, bw_err *err) {
    /* link, not rename: rename would silently replace what is there. */
    if (link(temp, path) != 0) {
        bw_status status = errno == EEXIST ? bw_fail(err, BW_E_STATE, "%s is there already", path)
                                           : failed(err, "make", path);
        (void)unlink(temp);
        return status;
    }
    if (unlink(temp) != 0) {
        return failed(err, "remove", temp);
    }
    return flush_folder_of(path, err);
}

/* A complete and flushed file beside path; temp (BW_PATH_MAX bytes) gets its name. */
static bw_status write_beside(const char *path, const void *data, size_t len, char *temp,
                              bw_err *err) {
    bw_text name = bw_text_on(temp, BW_PATH_MAX);
    bw_text_add(&name, "%s.new-XXXXXX", path);
    if (name.cut) {
        return bw_fail(err, BW_E_ARG, "the file name %s is too long", path);
    }
    int fd = mkstemp(temp); /* mode 0600 */
    if (fd < 0) {
        return failed(err, "make a file beside", path);
    }
    bool written = write_all(fd, data, len) && fsync(fd) == 0;
    int reason = errno;
    if (close(fd) != 0 && written) {
        written = false;
        reason = errno;
    }
    if (!written) {
        (void)unlink(temp);
        errno = reason;
        return failed(err, "write", path);
    }
    return BW_OK;
}

bw_status bw_files_write_new(const char *path, const void *data, size_t len, bw_err *err) {
    char temp[BW_PATH_MAX];
    bw_status status = write_beside(path, data, len, temp, err);
    return status == BW_OK ? bw_files_publish(temp, path, err) : status;
}

bw_status bw_files_replace(const char *path, const void *data, size_t len, bw_err *err) {
    char temp[BW_PATH_MAX];
    bw_status status = write_beside(path, data, len, temp, err);
    if (status == BW_OK && rename(temp, path) != 0) {
        status = failed(err, "replace", path);
        (void)unlink(temp);
    }
    return status == BW_OK ? flush_folder_of(path, err) : status;
}

/* "seen.new-a1B2c3": the name of such a file, and what write_beside put behind it. */
static bool is_left_over(const char *name) {
    static const char *const own[] = {
        "seen", "edge", "key", "key.pub", "key.next", "display-cert.pem", "display-key.pem"};
    static const char behind[] = ".new-";
    size_t len = strlen(name);
    size_t tail = sizeof behind - 1 + 6;
    for (size_t i = 0; i < sizeof own / sizeof own[0]; i++) {
        size_t n = strlen(own[i]);
        if (len == n + tail && strncmp(name, own[i], n) == 0 &&
            strncmp(name + n, behind, sizeof behind - 1) == 0) {
            return true;
        }
    }
    return false;
}

void bw_files_tidy(const char *folder) {
    DIR *list = opendir(folder);
    if (list == NULL) {
        return;
    }
    /* cppcheck-suppress readdirCalled ; each stream is its own, and readdir_r is obsolete */
    for (struct dirent *item = readdir(list); item != NULL; item = readdir(list)) {
        if (is_left_over(item->d_name)) {
            (void)unlinkat(dirfd(list), item->d_name, 0);
        }
    }
    (void)closedir(list);
}

static bw_status check_own(int fd, const char *path, size_t size, bw_err *err) {
    struct stat found;
    if (fstat(fd, &found) != 0) {
        return failed(err, "read", path);
    }
    if (!S_ISREG(found.st_mode)) {
        return bw_fail(err, BW_E_DATA, "%s is not a plain file", path);
    }
    if ((found.st_mode & (S_IRWXG | S_IRWXO)) != 0) {
        return bw_fail(err, BW_E_DATA, "%s is open to others (mode %04o): chmod 600 it", path,
                       (unsigned)(found.st_mode & 07777));
    }
    if (found.st_size >= (off_t)size) {
        return bw_fail(err, BW_E_DATA, "%s is too large for what it should be", path);
    }
    return BW_OK;
}

static bw_status read_all(int fd, const char *path, char *out, size_t size, size_t *len,
                          bw_err *err) {
    size_t have = 0;
    while (have < size - 1) {
        ssize_t n = read(fd, out + have, size - 1 - have);
        if (n < 0 && errno != EINTR) {
            return failed(err, "read", path);
        }
        if (n == 0) {
            break;
        }
        have += n > 0 ? (size_t)n : 0;
    }
    out[have] = '\0';
    *len = have;
    return BW_OK;
}

bw_status bw_files_read_own(const char *path, char *out, size_t size, size_t *len, bw_err *err) {
    /* O_NONBLOCK: a named pipe in its place must not hold us up. */
    int fd = open(path, O_RDONLY | O_NOFOLLOW | O_NONBLOCK | O_CLOEXEC);
    if (fd < 0) {
        return errno == ENOENT  ? bw_fail(err, BW_E_ABSENT, "there is no %s", path)
               : errno == ELOOP ? bw_fail(err, BW_E_DATA, "%s is a symbolic link", path)
                                : failed(err, "open", path);
    }
    bw_status status = check_own(fd, path, size, err);
    if (status == BW_OK) {
        status = read_all(fd, path, out, size, len, err);
    }
    (void)close(fd);
    return status;
}

bw_status bw_files_guard_standard(bw_err *err) {
    for (int fd = 0; fd <= 2; fd++) {
        if (fcntl(fd, F_GETFD) == -1 && errno == EBADF && open("/dev/null", O_RDWR) != fd) {
            return failed(err, "open", "/dev/null");
        }
    }
    return BW_OK;
}
