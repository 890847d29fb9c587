/* chip.c - timer, SPI parts, pins, supply and store of the ATmega328P. */
#include "chip.h"

#include "adapter_frame.h"
#include "board.h"
#include "pace.h"
#include "parts.h"
#include "pins.h"
#include "serial.h"

#include <avr/eeprom.h>
#include <avr/interrupt.h>
#include <avr/io.h>
#include <avr/sleep.h>
#include <avr/wdt.h>
#include <util/atomic.h>

enum { TICK_CYCLES = F_CPU / AD_TICKS_Hz, TICKS_MOST = 200, BANDGAP_mV = 1100 };

static volatile uint32_t ticks_passed; /* since the start */
static volatile uint32_t ready_ticks;
static volatile uint16_t ready_cycles;
static volatile bool ready;
static uint32_t ticks_told;
static bool gyro_present;

ISR(TIMER1_COMPA_vect) {
    ticks_passed++;
}

/* A tick that is due at this very moment has not been counted yet. */
ISR(INT0_vect) {
    ready_cycles = TCNT1;
    ready_ticks = ticks_passed;
    if ((TIFR1 & _BV(OCF1A)) != 0 && ready_cycles < TICK_CYCLES / 2) {
        ready_ticks++;
    }
    ready = true;
}

uint8_t chip_reset_cause(void) {
    uint8_t why = MCUSR;
    MCUSR = 0;
    wdt_disable();
    if (why & _BV(WDRF)) {
        return ADAPTER_RESET_WATCHDOG;
    }
    if (why & _BV(PORF)) {
        return ADAPTER_RESET_POWER;
    }
    return why & _BV(BORF) ? ADAPTER_RESET_BROWN_OUT : ADAPTER_RESET_PIN;
}

/* Modes are those of the parts' data sheets, 0 to 3. */
static void spi_select(uint8_t pin, uint8_t mode) {
    SPCR = (uint8_t)(_BV(SPE) | _BV(MSTR) | mode << CPHA);
    PORTB &= (uint8_t)~_BV(pin);
}

static void spi_release(uint8_t pin) {
    PORTB = (uint8_t)(PORTB | _BV(pin));
}

static uint8_t spi(uint8_t byte) {
    SPDR = byte;
    while ((SPSR & _BV(SPIF)) == 0) {
    }
    return SPDR;
}

static void write_gyro(uint8_t address, uint8_t value) {
    spi_select(PIN_GYRO_SELECT, GYRO_SPI_MODE);
    (void)spi(address);
    (void)spi(value);
    spi_release(PIN_GYRO_SELECT);
}

static void begin_parts(void) {
    for (uint8_t i = 0; i < GYRO_SETUP_LENGTH; i++) {
        write_gyro(gyro_setup[i][0], gyro_setup[i][1]);
    }
    spi_select(PIN_GYRO_SELECT, GYRO_SPI_MODE);
    (void)spi(GYRO_READ | GYRO_WHO);
    gyro_present = spi(0) == GYRO_WHO_ANSWER;
    spi_release(PIN_GYRO_SELECT);
    spi_select(PIN_CONVERTER_SELECT, CONVERTER_SPI_MODE);
    for (uint8_t i = 0; i < CONVERTER_SETUP_LENGTH; i++) {
        (void)spi(converter_setup[i]);
    }
    spi_release(PIN_CONVERTER_SELECT);
}

static void begin_timer(void) {
    TCCR1A = 0;
    OCR1A = TICK_CYCLES - 1;
    TCCR1B = _BV(WGM12) | _BV(CS10);
    TIMSK1 = _BV(OCIE1A);
    EICRA = _BV(ISC01); /* the ready line falls */
    EIFR = _BV(INTF0);  /* what it did before that */
    EIMSK = _BV(INT0);
}

void chip_begin(void) {
    PORTB = _BV(PIN_CONVERTER_SELECT) | _BV(PIN_GYRO_SELECT);
    DDRB = _BV(PIN_CONVERTER_SELECT) | _BV(PIN_GYRO_SELECT) | _BV(PIN_MOSI) | _BV(PIN_SCK);
    PORTD = _BV(PIN_CALIBRATE);
    DDRD = _BV(PIN_EXCITE) | _BV(PIN_SHUNT) | _BV(PIN_LAMP_GREEN) | _BV(PIN_LAMP_RED);
    ADMUX = _BV(REFS0) | _BV(MUX3) | _BV(MUX2) | _BV(MUX1); /* the bandgap against the supply */
    ADCSRA = _BV(ADEN) | _BV(ADPS2) | _BV(ADPS1) | _BV(ADPS0);
    serial_begin();
    begin_parts();
    begin_timer();
    SMCR = SLEEP_MODE_IDLE;
    sei();
}

bool chip_byte(uint8_t *byte) {
    return serial_byte(byte);
}

uint8_t chip_ticks(uint32_t *now_us) {
    uint32_t ticks;
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE) {
        ticks = ticks_passed;
    }
    uint32_t passed = ticks - ticks_told;
    ticks_told = ticks;
    *now_us = ticks * AD_TICK_us;
    return passed > TICKS_MOST ? TICKS_MOST : (uint8_t)passed;
}

bool chip_conversion(int32_t *counts, uint32_t *time_us) {
    uint32_t ticks = 0;
    uint32_t cycles = 0;
    bool is_ready;
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE) {
        is_ready = ready;
        ready = false;
        ticks = ready_ticks;
        cycles = ready_cycles;
    }
    if (!is_ready) {
        return false;
    }
    spi_select(PIN_CONVERTER_SELECT, CONVERTER_SPI_MODE);
    (void)spi(CONVERTER_READ);
    uint32_t value = (uint32_t)spi(0) << 16;
    value |= (uint32_t)spi(0) << 8;
    value |= spi(0);
    spi_release(PIN_CONVERTER_SELECT);
    *counts = (int32_t)(value << 8) / 256;
    *time_us = ticks * AD_TICK_us + cycles * AD_TICK_us / TICK_CYCLES;
    return true;
}

bool chip_gyro(int16_t *rate) {
    spi_select(PIN_GYRO_SELECT, GYRO_SPI_MODE);
    (void)spi(GYRO_READ | GYRO_RATE);
    uint8_t low = spi(0);
    uint8_t high = spi(0);
    spi_release(PIN_GYRO_SELECT);
    *rate = (int16_t)(low | (uint16_t)high << 8);
    return gyro_present;
}

void chip_wait(void) {
    sleep_mode();
}

static void set_pin(uint8_t pin, bool on) {
    if (on) {
        PORTD = (uint8_t)(PORTD | _BV(pin));
    } else {
        PORTD &= (uint8_t)~_BV(pin);
    }
}

void board_excite(bool on) {
    set_pin(PIN_EXCITE, on);
}

void board_shunt(bool on) {
    set_pin(PIN_SHUNT, on);
}

void board_lamp(bool green, bool red) {
    set_pin(PIN_LAMP_GREEN, green);
    set_pin(PIN_LAMP_RED, red);
}

bool board_may_calibrate(void) {
    return (PIND & _BV(PIN_CALIBRATE)) == 0;
}

/* 13 cycles of the converter, 113 us; a converter that hangs is left to the watchdog. */
uint16_t board_supply_mV(void) {
    ADCSRA |= _BV(ADSC);
    while ((ADCSRA & _BV(ADSC)) != 0) {
    }
    uint16_t read = ADC;
    return read == 0 ? 0 : (uint16_t)((uint32_t)BANDGAP_mV * 1024 / read);
}

uint8_t board_store_read(uint16_t address) {
    return eeprom_read_byte((const uint8_t *)address);
}

void board_store_write(uint16_t address, uint8_t byte) {
    eeprom_update_byte((uint8_t *)address, byte);
    wdt_reset();
}
