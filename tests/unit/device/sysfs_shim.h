/* sysfs_shim.h - makes pseudo-terminals look like serial ports to libserialport.
 *
 * The C library's functions through which it reads /sys/class/tty and asks for modem lines are put
 * in front of by those in sysfs_shim.c; everything else goes on to the C library.  For a test
 * program of its own. */
#ifndef BW_TESTS_DEVICE_SYSFS_SHIM_H
#define BW_TESTS_DEVICE_SYSFS_SHIM_H

#include <stdbool.h>

typedef struct test_plug {
    char name[32];      /* pts/7; "" where nothing is plugged in */
    const char *vendor; /* four hex digits; NULL: no USB device */
    const char *product;
    const char *serial; /* NULL: it has none */
    bool modem_lines;
    int lines; /* TIOCM bits that are on */
} test_plug;

enum { TEST_PLUGS = 3 };
extern test_plug test_plugs[TEST_PLUGS]; /* what is plugged in */

#endif
