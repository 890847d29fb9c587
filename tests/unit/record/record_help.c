/* record_help.c - see record_help.h. */
#include "record_help.h"

#include "cmocka_all.h"

#include "base/text.h"

#include <dirent.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

enum { PATH_SIZE = 4096 };

void make_folder(char *path) {
    (void)bw_text_copy(path, PATH_SIZE, "/tmp/bw-record-XXXXXX");
    assert_non_null(mkdtemp(path));
}

const char *join(const char *folder, const char *name, char *path) {
    bw_text text = bw_text_on(path, PATH_SIZE);
    bw_text_add(&text, "%s/%s", folder, name);
    assert_false(text.cut);
    return path;
}

void remove_folder(const char *path) {
    DIR *folder = opendir(path);
    for (struct dirent *item = folder == NULL ? NULL : readdir(folder); item != NULL;
         item = readdir(folder)) {
        char name[PATH_SIZE];
        struct stat found;
        if (strcmp(item->d_name, ".") == 0 || strcmp(item->d_name, "..") == 0) {
            continue;
        }
        (void)join(path, item->d_name, name);
        if (lstat(name, &found) == 0 && S_ISDIR(found.st_mode)) {
            remove_folder(name);
        } else {
            (void)unlink(name);
        }
    }
    if (folder != NULL) {
        (void)closedir(folder);
    }
    (void)rmdir(path);
}

void write_file(const char *path, const void *data, size_t len, unsigned mode) {
    int fd = open(path, O_WRONLY | O_CREAT | O_TRUNC, mode);
    assert_true(fd >= 0);
    assert_int_equal(write(fd, data, len), (ssize_t)len);
    assert_int_equal(fchmod(fd, mode), 0);
    assert_int_equal(close(fd), 0);
}

bool file_exists(const char *path) {
    struct stat found;
    return lstat(path, &found) == 0;
}

bw_entry plain_entry(bw_kind kind, const char *build, int64_t at) {
    bw_entry entry = bw_entry_of(kind);
    entry.time_ms = 1795600000000 + at * 1000;
    entry.build = build;
    entry.by = "M. Voss";
    entry.bench = "bench-0badcafe";
    return entry;
}

static void set_sample(bw_entry *entry, bw_member member) {
    switch (bw_member_type(member)) {
    case BW_VALUE_NUMBER:
        bw_entry_set_number(entry, member, 60.25);
        break;
    case BW_VALUE_WHOLE:
        bw_entry_set_whole(entry, member, 1);
        break;
    case BW_VALUE_FLAG:
        bw_entry_set_flag(entry, member, false);
        break;
    case BW_VALUE_WORDS:
        bw_entry_set_text(entry, member, "no_turn gap");
        break;
    default:
        bw_entry_set_text(entry, member,
                          member == BW_M_TEXT ? "first line\n\tsecond" : "µ \"x\" \\");
    }
}

bw_entry full_entry(bw_kind kind, const char *build, int64_t at, bool all) {
    bw_entry entry = plain_entry(kind, build, at);
    for (bw_member m = 0; m < BW_M_COUNT; m++) {
        bw_membership membership = bw_kind_member(kind, m);
        if (membership == BW_MEMBER_MUST || (all && membership == BW_MEMBER_MAY)) {
            set_sample(&entry, m);
        }
    }
    return entry;
}

bw_entry note_entry(const char *build, int64_t at, const char *text) {
    bw_entry entry = plain_entry(BW_KIND_NOTE, build, at);
    bw_entry_set_text(&entry, BW_M_TEXT, text);
    return entry;
}

bw_store *open_store(const char *folder, bw_store_mode mode) {
    bw_err err = {0};
    bw_store *store = NULL;
    if (bw_store_open(folder, mode, &store, &err) != BW_OK) {
        fail_msg("%s", err.text);
    }
    return store;
}

void append_entry(bw_store *store, bw_entry entry) {
    bw_err err = {0};
    if (bw_store_append(store, &entry, 1, NULL, 0, &err) != BW_OK) {
        fail_msg("%s", err.text);
    }
    assert_int_equal(entry.number, bw_store_size(store));
}

void append_opened(bw_store *store, const char *build, int64_t at) {
    bw_entry entry = plain_entry(BW_KIND_BUILD_OPENED, build, at);
    bw_entry_set_text(&entry, BW_M_PROGRAM, "boltwright test");
    append_entry(store, entry);
}

bw_key *open_key(const char *folder) {
    char path[PATH_SIZE];
    bw_err err = {0};
    bw_key *key = NULL;
    if (bw_key_open(join(folder, "key", path), &key, &err) != BW_OK) {
        fail_msg("%s", err.text);
    }
    return key;
}

char home[PATH_SIZE];
char record[PATH_SIZE];

int make_home(void **state) {
    (void)state;
    make_folder(home);
    (void)join(home, "record.db", record);
    return 0;
}

int remove_home(void **state) {
    (void)state;
    remove_folder(home);
    return 0;
}

static const char *beside(const char *suffix, char *path) {
    bw_text text = bw_text_on(path, PATH_SIZE);
    bw_text_add(&text, "%s%s", record, suffix);
    assert_false(text.cut);
    return path;
}

bool beside_exists(const char *suffix) {
    char path[PATH_SIZE];
    return file_exists(beside(suffix, path));
}

void remove_beside(const char *suffix) {
    char path[PATH_SIZE];
    (void)unlink(beside(suffix, path));
}

int in_child(int (*act)(void)) {
    pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        _exit(act());
    }
    int status = -1;
    assert_int_equal(waitpid(child, &status, 0), child);
    return WIFEXITED(status) ? WEXITSTATUS(status) : 1000 + WTERMSIG(status);
}

bool look(void *ctx, const bw_entry *entry, const char *json, size_t len) {
    seen *s = ctx;
    (void)json;
    (void)len;
    s->in_order = (s->n == 0 || s->in_order) && entry->number > s->last;
    s->last = entry->number;
    s->n++;
    s->unknown += entry->kind == BW_KIND_UNKNOWN ? 1 : 0;
    (void)bw_text_copy(s->text, sizeof s->text, bw_entry_text(entry, BW_M_TEXT, ""));
    return s->n != s->stop_at;
}

seen see(bw_store *store, const char *build) {
    seen s = {0};
    bw_err err = {0};
    if (bw_store_each(store, build, look, &s, &err) != BW_OK) {
        fail_msg("%s", err.text);
    }
    return s;
}
