/* main.c - the loop.  The watchdog is fed only where the timer ticks and the loop goes round. */
#include "adapter.h"
#include "chip.h"

#include <avr/wdt.h>

static void turn(ad_adapter *adapter) {
    uint8_t byte;
    uint32_t time_us;
    int32_t counts;
    int16_t rate = 0;
    while (chip_byte(&byte)) {
        ad_adapter_receive(adapter, byte);
    }
    if (chip_conversion(&counts, &time_us)) {
        ad_adapter_conversion(adapter, counts, time_us);
    }
    uint8_t ticks = chip_ticks(&time_us);
    if (ticks > 0) {
        bool present = chip_gyro(&rate);
        ad_adapter_tick(adapter, present, rate, ticks, time_us);
        wdt_reset();
    }
}

int main(void) {
    static ad_adapter adapter;
    uint8_t reset = chip_reset_cause();
    chip_begin();
    wdt_enable(WDTO_250MS);
    ad_adapter_begin(&adapter, reset);
    for (;;) {
        turn(&adapter);
        chip_wait();
    }
}
