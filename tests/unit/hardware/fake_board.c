#include "fake_board.h"

#include <string.h>

fake_board fake;

void fake_board_new(void) {
    memset(&fake, 0, sizeof fake);
    memset(fake.store, 0xFF, sizeof fake.store);
    fake.supply_mV = 5000;
    fake.writes_left = -1;
}

void board_send(const uint8_t *bytes, uint8_t n) {
    if (fake.sent_n + n <= sizeof fake.sent) {
        memcpy(fake.sent + fake.sent_n, bytes, n);
        fake.sent_n += n;
    }
}

void board_excite(bool on) {
    fake.excited = on;
}

void board_shunt(bool on) {
    fake.shunted = on;
}

void board_lamp(bool green, bool red) {
    fake.green = green;
    fake.red = red;
}

bool board_may_calibrate(void) {
    return fake.may_calibrate;
}

uint16_t board_supply_mV(void) {
    return fake.supply_mV;
}

uint8_t board_store_read(uint16_t address) {
    return fake.store[address];
}

void board_store_write(uint16_t address, uint8_t byte) {
    if (fake.writes_left == 0) {
        return;
    }
    fake.writes_left -= fake.writes_left > 0;
    fake.store[address] = byte;
}
