/* whole_file.h - a file that was asked for by name: whole under that name, or not there at all. */
#ifndef BW_COMMAND_WHOLE_FILE_H
#define BW_COMMAND_WHOLE_FILE_H

#include <stdbool.h>
#include <stdio.h>

enum { BW_WHOLE_PATH_MAX = 4200 };

typedef struct bw_whole_file {
    const char *path; /* the caller's, until the end */
    FILE *out;
    char part[BW_WHOLE_PATH_MAX]; /* what is written meanwhile; "": path itself, no plain file */
} bw_whole_file;

/* False after a complaint. */
bool bw_whole_file_begin(bw_whole_file *file, const char *path);

/* Gives it its name, where `good` is true and all of it is on the disk; else what was there before
 * stays.  False after a complaint: why, or where that is NULL what the system says. */
bool bw_whole_file_end(bw_whole_file *file, bool good, const char *why);

#endif
