/* sim.c - the chip, by way of libsimavr, and the wires between it and the parts. */
#include "sim.h"

#include "parts.h"

#include "avr_adc.h"
#include "avr_eeprom.h"
#include "avr_ioport.h"
#include "avr_spi.h"
#include "avr_timer.h"
#include "avr_uart.h"
#include "sim_avr.h"
#include "sim_elf.h"
#include "sim_time.h"

#include <stdlib.h>
#include <string.h>

enum {
    CHIP_Hz = 14745600,
    BAUD = 115200,
    OUT_BYTES = 65536,
    IN_BYTES = 4096,
    LOOK_AFTER = 256, /* instructions */
    NOISE_ONE_IN = 100,
    TIMER_MASK = 0x6F /* TIMSK1: data sheet of the chip */
};

/* Pins as pins.h of the firmware has them. */
enum {
    CONVERTER_SELECT = 1, /* port B */
    GYRO_SELECT = 2,
    CONVERTER_READY = 2, /* port D */
    EXCITE = 3,
    SHUNT = 4,
    GREEN = 5,
    RED = 6,
    CALIBRATE = 7
};

struct ad_sim {
    avr_t *avr;
    ad_bus bus;
    avr_irq_t *spi_in, *uart_in, *ready;
    bool converter_selected, gyro_selected;
    bool green, red;
    avr_cycle_count_t began, converts_at;
    bw_chance line;
    bool hung;
    avr_flashaddr_t hung_at; /* the word there is not the image's own */
    uint8_t word[2];
    uint8_t out[OUT_BYTES];
    size_t out_n;
    uint8_t in[IN_BYTES];
    size_t in_n;
};

double ad_sim_now_s(const ad_sim *sim) {
    return (double)sim->avr->cycle / CHIP_Hz;
}

double ad_sim_began_s(const ad_sim *sim) {
    return (double)sim->began / CHIP_Hz;
}

static void spi_sent(avr_irq_t *irq, uint32_t value, void *ctx) {
    ad_sim *sim = ctx;
    (void)irq;
    uint8_t back = 0xFF;
    if (sim->converter_selected) {
        back = ad_bus_converter(&sim->bus, (uint8_t)value);
    } else if (sim->gyro_selected) {
        back = ad_bus_gyro(&sim->bus, (uint8_t)value, ad_sim_now_s(sim));
    }
    avr_raise_irq(sim->spi_in, back);
}

static void converter_select(avr_irq_t *irq, uint32_t level, void *ctx) {
    ad_sim *sim = ctx;
    (void)irq;
    sim->converter_selected = level == 0;
    ad_bus_select_converter(&sim->bus);
}

static void gyro_select(avr_irq_t *irq, uint32_t level, void *ctx) {
    ad_sim *sim = ctx;
    (void)irq;
    sim->gyro_selected = level == 0;
    ad_bus_select_gyro(&sim->bus);
}

static void excite(avr_irq_t *irq, uint32_t level, void *ctx) {
    (void)irq;
    ((ad_sim *)ctx)->bus.excited = level != 0;
}

static void shunt(avr_irq_t *irq, uint32_t level, void *ctx) {
    (void)irq;
    ((ad_sim *)ctx)->bus.shunted = level != 0;
}

static void green(avr_irq_t *irq, uint32_t level, void *ctx) {
    (void)irq;
    ((ad_sim *)ctx)->green = level != 0;
}

static void red(avr_irq_t *irq, uint32_t level, void *ctx) {
    (void)irq;
    ((ad_sim *)ctx)->red = level != 0;
}

static void uart_sent(avr_irq_t *irq, uint32_t value, void *ctx) {
    ad_sim *sim = ctx;
    (void)irq;
    const ad_faults *faults = &sim->bus.faults;
    uint8_t byte = (uint8_t)value;
    if (faults->line_noise && bw_chance_next(&sim->line) % NOISE_ONE_IN == 0) {
        byte ^= (uint8_t)(1 + bw_chance_next(&sim->line) % 255);
    }
    if (!faults->line_cut && sim->out_n < OUT_BYTES) {
        sim->out[sim->out_n++] = byte;
    }
}

static avr_cycle_count_t convert(avr_t *avr, avr_cycle_count_t when, void *ctx) {
    ad_sim *sim = ctx;
    (void)avr;
    if (ad_bus_convert(&sim->bus, (double)when / CHIP_Hz)) {
        avr_raise_irq(sim->ready, 0);
        avr_raise_irq(sim->ready, 1);
    }
    sim->converts_at = when + (avr_cycle_count_t)(ad_bus_conversion_s(&sim->bus) * CHIP_Hz);
    return sim->converts_at;
}

/* One byte in the time that the line takes for it. */
static avr_cycle_count_t receive(avr_t *avr, avr_cycle_count_t when, void *ctx) {
    ad_sim *sim = ctx;
    (void)avr;
    if (sim->in_n > 0) {
        avr_raise_irq(sim->uart_in, sim->in[0]);
        sim->in_n--;
        memmove(sim->in, sim->in + 1, sim->in_n);
    }
    return when + 10 * CHIP_Hz / BAUD;
}

static void wire(ad_sim *sim) {
    avr_t *avr = sim->avr;
    uint32_t spi = AVR_IOCTL_SPI_GETIRQ(0);
    uint32_t uart = AVR_IOCTL_UART_GETIRQ('0');
    const struct {
        char port;
        int pin;
        avr_irq_notify_t hook;
    } row[] = {
        {'B', CONVERTER_SELECT, converter_select},
        {'B', GYRO_SELECT, gyro_select},
        {'D', EXCITE, excite},
        {'D', SHUNT, shunt},
        {'D', GREEN, green},
        {'D', RED, red},
    };
    for (size_t i = 0; i < sizeof row / sizeof row[0]; i++) {
        avr_irq_register_notify(
            avr_io_getirq(avr, (uint32_t)AVR_IOCTL_IOPORT_GETIRQ(row[i].port), row[i].pin),
            row[i].hook, sim);
    }
    avr_irq_register_notify(avr_io_getirq(avr, spi, SPI_IRQ_OUTPUT), spi_sent, sim);
    avr_irq_register_notify(avr_io_getirq(avr, uart, UART_IRQ_OUTPUT), uart_sent, sim);
    sim->spi_in = avr_io_getirq(avr, spi, SPI_IRQ_INPUT);
    sim->uart_in = avr_io_getirq(avr, uart, UART_IRQ_INPUT);
    sim->ready = avr_io_getirq(avr, (uint32_t)AVR_IOCTL_IOPORT_GETIRQ('D'), CONVERTER_READY);
}

/* The simulator's own console and its naps at polled registers are off. */
static void quieten(avr_t *avr) {
    uint32_t flags = 0;
    avr_ioctl(avr, (uint32_t)AVR_IOCTL_UART_GET_FLAGS('0'), &flags);
    flags &= ~(uint32_t)(AVR_UART_FLAG_STDIO | AVR_UART_FLAG_POLL_SLEEP);
    avr_ioctl(avr, (uint32_t)AVR_IOCTL_UART_SET_FLAGS('0'), &flags);
    avr->log = LOG_ERROR;
}

static void do_not_sleep(avr_t *avr, avr_cycle_count_t cycles) {
    (void)avr;
    (void)cycles;
}

void ad_sim_jumper(ad_sim *sim, bool closed) {
    uint32_t port = AVR_IOCTL_IOPORT_GETIRQ('D');
    avr_ioport_external_t jumper = {
        .name = 'D', .mask = 1u << CALIBRATE, .value = closed ? 0 : 1u << CALIBRATE};
    sim->bus.parts.may_calibrate = closed;
    avr_ioctl(sim->avr, (uint32_t)AVR_IOCTL_IOPORT_SET_EXTERNAL('D'), &jumper);
    avr_raise_irq(avr_io_getirq(sim->avr, port, CALIBRATE), closed ? 0 : 1);
}

/* A reset forgets cycle timers and what the pins are at. */
static void after_reset(ad_sim *sim) {
    sim->began = 0;
    sim->converts_at = sim->avr->cycle + CHIP_Hz / 100;
    avr_cycle_timer_register(sim->avr, CHIP_Hz / 100, convert, sim);
    avr_cycle_timer_register(sim->avr, 10 * CHIP_Hz / BAUD, receive, sim);
    avr_raise_irq(sim->ready, 1);
    ad_sim_jumper(sim, sim->bus.parts.may_calibrate);
}

static avr_t *boot(const char *image, uint32_t supply_mV) {
    elf_firmware_t firmware;
    memset(&firmware, 0, sizeof firmware);
    if (elf_read_firmware(image, &firmware) != 0) {
        return NULL;
    }
    avr_t *avr = avr_make_mcu_by_name("atmega328p");
    if (avr == NULL) {
        return NULL;
    }
    avr_init(avr);
    firmware.frequency = CHIP_Hz;
    firmware.vcc = supply_mV;
    firmware.avcc = supply_mV;
    firmware.aref = supply_mV;
    avr_load_firmware(avr, &firmware);
    avr->sleep = do_not_sleep;
    return avr;
}

ad_sim *ad_sim_new(const char *image, const ad_parts *parts, const ad_world *world) {
    ad_sim *sim = calloc(1, sizeof *sim);
    if (sim == NULL) {
        return NULL;
    }
    sim->avr = boot(image, parts->supply_mV);
    if (sim->avr == NULL) {
        free(sim);
        return NULL;
    }
    sim->bus = (ad_bus){.parts = *parts, .world = world, .chance = {parts->seed}};
    sim->line = (bw_chance){parts->seed};
    wire(sim);
    quieten(sim->avr);
    after_reset(sim);
    return sim;
}

void ad_sim_free(ad_sim *sim) {
    if (sim != NULL) {
        avr_terminate(sim->avr);
        free(sim->avr);
        free(sim);
    }
}

void ad_sim_store_put(ad_sim *sim, uint16_t address, const uint8_t *bytes, size_t n) {
    uint8_t copy[1024];
    memcpy(copy, bytes, n);
    avr_eeprom_desc_t part = {copy, address, (uint32_t)n};
    avr_ioctl(sim->avr, (uint32_t)AVR_IOCTL_EEPROM_SET, &part);
}

void ad_sim_store_get(ad_sim *sim, uint16_t address, uint8_t *bytes, size_t n) {
    avr_eeprom_desc_t part = {bytes, address, (uint32_t)n};
    avr_ioctl(sim->avr, (uint32_t)AVR_IOCTL_EEPROM_GET, &part);
}

ad_faults *ad_sim_faults(ad_sim *sim) {
    return &sim->bus.faults;
}

/* Puts a jump to itself where the program is now, or what was there before. */
static void hang(ad_sim *sim) {
    static const uint8_t jump_to_itself[2] = {0xFF, 0xCF};
    if (!sim->hung) {
        sim->hung_at = sim->avr->pc;
        memcpy(sim->word, sim->avr->flash + sim->hung_at, sizeof sim->word);
    }
    sim->hung = !sim->hung;
    memcpy(sim->avr->flash + sim->hung_at, sim->hung ? jump_to_itself : sim->word,
           sizeof sim->word);
}

/* A watchdog's reset happens inside of the library: it shows by the conversion that did not come.
 */
static void look_after(ad_sim *sim) {
    if (sim->bus.faults.hang != sim->hung) {
        hang(sim);
    }
    if (sim->avr->cycle > sim->converts_at + CHIP_Hz / 100) {
        after_reset(sim);
    }
}

bool ad_sim_run(ad_sim *sim, double until_s) {
    avr_cycle_count_t until = (avr_cycle_count_t)(until_s * CHIP_Hz);
    for (unsigned turn = 0; sim->avr->cycle < until; turn++) {
        if (turn % LOOK_AFTER == 0) {
            look_after(sim);
        }
        int state = avr_run(sim->avr);
        if (sim->began == 0 && sim->avr->data[TIMER_MASK] != 0) {
            sim->began = sim->avr->cycle;
        }
        if (state == cpu_Done || state == cpu_Crashed) {
            return false;
        }
    }
    return true;
}

size_t ad_sim_take(ad_sim *sim, uint8_t *bytes, size_t size) {
    size_t n = sim->out_n < size ? sim->out_n : size;
    memcpy(bytes, sim->out, n);
    sim->out_n -= n;
    memmove(sim->out, sim->out + n, sim->out_n);
    return n;
}

bool ad_sim_give(ad_sim *sim, const uint8_t *bytes, size_t n) {
    if (sim->in_n + n > IN_BYTES) {
        return false;
    }
    memcpy(sim->in + sim->in_n, bytes, n);
    sim->in_n += n;
    return true;
}

void ad_sim_brown_out(ad_sim *sim) {
    avr_reset(sim->avr);
    avr_regbit_clear(sim->avr, sim->avr->reset_flags.porf);
    avr_regbit_set(sim->avr, sim->avr->reset_flags.borf);
    after_reset(sim);
}

void ad_sim_power_cycle(ad_sim *sim) {
    avr_reset(sim->avr); /* which says that the power came */
    after_reset(sim);
}

bool ad_sim_green(const ad_sim *sim) {
    return sim->green;
}

bool ad_sim_red(const ad_sim *sim) {
    return sim->red;
}

bool ad_sim_shunted(const ad_sim *sim) {
    return sim->bus.shunted;
}
