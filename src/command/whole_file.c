/* whole_file.c - see whole_file.h. */
#include "command/whole_file.h"

#include "command/command.h"

#include "base/text.h"

#include <errno.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

bool bw_whole_file_begin(bw_whole_file *file, const char *path) {
    struct stat found;
    bool plain = stat(path, &found) != 0 || S_ISREG(found.st_mode);
    *file = (bw_whole_file){.path = path};
    bw_text part = bw_text_on(file->part, sizeof file->part);
    if (plain) {
        bw_text_add(&part, "%s.part", path);
    }
    errno = ENAMETOOLONG;
    file->out = part.cut ? NULL : fopen(plain ? file->part : path, "we");
    if (file->out == NULL) {
        bw_complain("%s can't be written: %s", path, strerror(errno));
    }
    return file->out != NULL;
}

bool bw_whole_file_end(bw_whole_file *file, bool good, const char *why) {
    bool plain = file->part[0] != '\0';
    int reason = errno;
    if (good && (ferror(file->out) != 0 || fflush(file->out) != 0 ||
                 (plain && fsync(fileno(file->out)) != 0))) {
        good = false;
        reason = errno;
    }
    if (fclose(file->out) != 0 && good) {
        good = false;
        reason = errno;
    }
    if (good && plain && rename(file->part, file->path) != 0) {
        good = false;
        reason = errno;
    }
    if (!good) {
        bw_complain("%s can't be written: %s", file->path, why != NULL ? why : strerror(reason));
        if (plain) {
            (void)remove(file->part);
        }
    }
    return good;
}
