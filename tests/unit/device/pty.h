/* pty.h - a pseudo-terminal whose far end the test holds, reached by a link of a fixed name. */
#ifndef BW_TESTS_DEVICE_PTY_H
#define BW_TESTS_DEVICE_PTY_H

#include <stddef.h>

typedef struct test_pty {
    int master;     /* -1: closed */
    char link[128]; /* what a program opens */
    char name[64];  /* /dev/pts/N */
} test_pty;

/* A new pseudo-terminal behind the same link (made where pty->link is ""). */
void test_pty_open(test_pty *pty);
void test_pty_write(test_pty *pty, const char *bytes, size_t n);
void test_pty_say(test_pty *pty, const char *text);
/* Reads what the program sent, at most size - 1 bytes and no longer than 5 s for the first; NUL
 * behind it. */
void test_pty_hear(test_pty *pty, char *out, size_t size);
void test_pty_hang_up(test_pty *pty); /* the link then leads nowhere */
void test_pty_end(test_pty *pty);

#endif
