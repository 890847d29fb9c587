/* fake_board.h - board.h for tests: keeps what it is told. */
#ifndef FAKE_BOARD_H
#define FAKE_BOARD_H

#include "board.h"

#include <stddef.h>

enum { FAKE_SENT_BYTES = 1 << 20 };

typedef struct fake_board {
    uint8_t sent[FAKE_SENT_BYTES];
    size_t sent_n;
    bool excited, shunted, green, red;
    bool may_calibrate;
    uint16_t supply_mV;
    uint8_t store[BOARD_STORE_BYTES];
    long writes_left; /* after so many the supply is gone and nothing is written; -1: never */
} fake_board;

extern fake_board fake;

/* As new: an erased store, 5 V. */
void fake_board_new(void);

#endif
