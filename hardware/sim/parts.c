/* parts.c - simulated converter and gyro. */
#include "parts.h"

#include <math.h>

enum { CONVERSIONS_Hz = 320, SLICES = 16, GYRO_WHO = 0x0F, GYRO_ANSWER = 0x6A, GYRO_RATE = 0x26 };

/* The gyro's low-pass: the mean over this. */
static const double gyro_window_s = 0.00125;

static const double counts_end = 8388607;
static const double rate_end = 32767;

ad_parts ad_parts_usual(void) {
    return (ad_parts){.counts_per_Nm = 14316.56,
                      .loosen_share = 0.9997,
                      .zero_counts = -20150,
                      .noise_counts = 40,
                      .shunt_counts = 1074817,
                      .gyro_counts_per_dps = 32.768,
                      .gyro_bias_dps = 1,
                      .gyro_noise_dps = 0.1,
                      .clock_share = 1.004,
                      .supply_mV = 5000,
                      .seed = 1};
}

static int32_t within(double value, double end) {
    return (int32_t)lrint(fmax(-end - 1, fmin(end, value)));
}

void ad_bus_select_converter(ad_bus *bus) {
    bus->converter_byte = 0;
}

void ad_bus_select_gyro(ad_bus *bus) {
    bus->gyro_byte = 0;
}

double ad_bus_conversion_s(const ad_bus *bus) {
    return 1 / (CONVERSIONS_Hz * bus->parts.clock_share);
}

static double mean_Nm(const ad_bus *bus, double now_s) {
    double sum_Nm = 0;
    for (int i = 0; i < SLICES; i++) {
        double torque_Nm = 0;
        double angle_deg = 0;
        double ago_s = (i + 0.5) / SLICES * ad_bus_conversion_s(bus);
        bus->world->at(bus->world->ctx, now_s - ago_s, &torque_Nm, &angle_deg);
        sum_Nm += torque_Nm;
    }
    return sum_Nm / SLICES;
}

static double bridge_counts(ad_bus *bus, double now_s) {
    double torque_Nm = mean_Nm(bus, now_s);
    double share = torque_Nm < 0 ? bus->parts.loosen_share : 1;
    double counts = bus->parts.zero_counts + torque_Nm * share * bus->parts.counts_per_Nm;
    counts += bus->shunted ? bus->parts.shunt_counts : 0;
    return counts + bus->parts.noise_counts * bw_chance_normal(&bus->chance);
}

bool ad_bus_convert(ad_bus *bus, double now_s) {
    bus->converted_s = now_s;
    if (bus->faults.converter_silent) {
        return false;
    }
    if (bus->faults.bridge_open) {
        bus->counts = (int32_t)counts_end;
    } else if (!bus->faults.converter_stuck) {
        double counts = bus->excited ? bridge_counts(bus, now_s) : 0;
        bus->counts = within(counts, counts_end);
    }
    return true;
}

/* Command first, then the count, its most significant byte first. */
uint8_t ad_bus_converter(ad_bus *bus, uint8_t sent) {
    (void)sent;
    int byte = bus->converter_byte++;
    uint32_t shifted = byte < 1 || byte > 3 ? 0 : (uint32_t)bus->counts >> (8 * (3 - byte));
    return (uint8_t)shifted;
}

static uint16_t rate_now(ad_bus *bus, double now_s) {
    double torque_Nm = 0;
    double to_deg = 0;
    double from_deg = 0;
    bus->world->at(bus->world->ctx, now_s, &torque_Nm, &to_deg);
    bus->world->at(bus->world->ctx, now_s - gyro_window_s, &torque_Nm, &from_deg);
    double rate_dps = (to_deg - from_deg) / gyro_window_s + bus->parts.gyro_bias_dps;
    rate_dps += bus->parts.gyro_noise_dps * bw_chance_normal(&bus->chance);
    return (uint16_t)within(rate_dps * bus->parts.gyro_counts_per_dps, rate_end);
}

/* Address first; then the registers from there on. */
uint8_t ad_bus_gyro(ad_bus *bus, uint8_t sent, double now_s) {
    int byte = bus->gyro_byte++;
    if (bus->faults.gyro_absent) {
        return 0xFF;
    }
    if (byte == 0) {
        bus->gyro_address = sent;
        if (!bus->faults.gyro_stuck) {
            bus->gyro_rate = rate_now(bus, now_s);
        }
        return 0;
    }
    bool reads = (bus->gyro_address & 0x80) != 0;
    int address = (bus->gyro_address & 0x7F) + byte - 1;
    if (!reads) {
        return 0;
    }
    return address == GYRO_WHO        ? GYRO_ANSWER
           : address == GYRO_RATE     ? (uint8_t)bus->gyro_rate
           : address == GYRO_RATE + 1 ? (uint8_t)(bus->gyro_rate >> 8)
                                      : 0;
}
