/* pty.c - see pty.h. */
#define _XOPEN_SOURCE 700 /* posix_openpt, grantpt, unlockpt, ptsname */
#include "cmocka_all.h"
#include "pty.h"

#include "base/text.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

void test_pty_open(test_pty *pty) {
    pty->master = posix_openpt(O_RDWR | O_NOCTTY | O_CLOEXEC);
    assert_true(pty->master >= 0);
    assert_int_equal(grantpt(pty->master), 0);
    assert_int_equal(unlockpt(pty->master), 0);
    assert_true(bw_text_copy(pty->name, sizeof pty->name, ptsname(pty->master)));
    if (pty->link[0] == '\0') {
        char folder[] = "/tmp/bw_pty_XXXXXX";
        assert_non_null(mkdtemp(folder));
        bw_text text = bw_text_on(pty->link, sizeof pty->link);
        bw_text_add(&text, "%s/wrench", folder);
    } else {
        (void)unlink(pty->link);
    }
    assert_int_equal(symlink(pty->name, pty->link), 0);
}

void test_pty_write(test_pty *pty, const char *bytes, size_t n) {
    while (n > 0) {
        ssize_t part = write(pty->master, bytes, n);
        assert_true(part > 0 || errno == EINTR);
        bytes += part > 0 ? part : 0;
        n -= part > 0 ? (size_t)part : 0;
    }
}

void test_pty_say(test_pty *pty, const char *text) {
    test_pty_write(pty, text, strlen(text));
}

void test_pty_hear(test_pty *pty, char *out, size_t size) {
    struct pollfd ready = {.fd = pty->master, .events = POLLIN};
    ssize_t n = 0;
    if (poll(&ready, 1, 5000) == 1) {
        n = read(pty->master, out, size - 1);
    }
    out[n > 0 ? n : 0] = '\0';
}

void test_pty_hang_up(test_pty *pty) {
    if (pty->master >= 0) {
        (void)close(pty->master);
        pty->master = -1;
    }
}

void test_pty_end(test_pty *pty) {
    test_pty_hang_up(pty);
    (void)unlink(pty->link);
    char *slash = strrchr(pty->link, '/');
    if (slash != NULL) {
        *slash = '\0';
        (void)rmdir(pty->link);
    }
    pty->link[0] = '\0';
}
