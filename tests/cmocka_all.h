/* cmocka_all.h - cmocka with the headers that it needs before it. */
#ifndef BW_TESTS_CMOCKA_ALL_H
#define BW_TESTS_CMOCKA_ALL_H

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <setjmp.h>
#include <cmocka.h>

#endif
