/* sim.h - the built firmware in a simulated ATmega328P, with a simulated bridge, converter and
 * gyro.
 *
 * No clock and no I/O but reading the image: time is the chip's, and goes on only in ad_sim_run.
 * The same calls give the same bytes.  Not part of boltwright. */
#ifndef ADAPTER_SIM_H
#define ADAPTER_SIM_H

#include "world.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* The parts as they are built: what calibration finds out. */
typedef struct ad_parts {
    double counts_per_Nm; /* tightening */
    double loosen_share;  /* of this, loosening; the bridge differs a little between the ways */
    double zero_counts;   /* of the unloaded bridge */
    double noise_counts;  /* standard deviation of one conversion */
    double shunt_counts;  /* what the shunt adds */
    double gyro_counts_per_dps;
    double gyro_bias_dps;
    double gyro_noise_dps; /* standard deviation of one reading */
    double clock_share;    /* the converter's clock, of what it should be */
    uint32_t supply_mV;
    uint64_t seed;
    bool may_calibrate; /* the jumper is closed */
} ad_parts;

/* 14316 counts per N.m, a little asymmetric, with an offset; noise of 40 counts, of 0.1 degree/s;
 * 1 degree/s bias; the converter's clock 0.4 % fast; 5 V. */
ad_parts ad_parts_usual(void);

/* What is wrong with them; may be changed between runs. */
typedef struct ad_faults {
    bool converter_silent; /* no more conversions */
    bool converter_stuck;  /* the same count over and over */
    bool bridge_open;      /* its wires are off: the burn-out currents drive it to the end */
    bool gyro_absent;      /* nothing answers on the bus */
    bool gyro_stuck;       /* the same rate over and over */
    bool hang;             /* the firmware goes round and round at one place */
    bool line_noise;       /* of a hundred bytes that it sends one arrives as another */
    bool line_cut;         /* nothing that it sends arrives */
} ad_faults;

typedef struct ad_sim ad_sim;

/* image: an ELF file.  world is borrowed, and lives longer.  NULL where the image can't be read. */
ad_sim *ad_sim_new(const char *image, const ad_parts *parts, const ad_world *world);
void ad_sim_free(ad_sim *sim);

/* The memory that keeps without power: n bytes from address on.  Before or between runs. */
void ad_sim_store_put(ad_sim *sim, uint16_t address, const uint8_t *bytes, size_t n);
void ad_sim_store_get(ad_sim *sim, uint16_t address, uint8_t *bytes, size_t n);

ad_faults *ad_sim_faults(ad_sim *sim);

/* Goes on until the chip's time is until_s.  False where the firmware crashed. */
bool ad_sim_run(ad_sim *sim, double until_s);
double ad_sim_now_s(const ad_sim *sim);

/* The chip's time at which the firmware's own clock began, since the last reset. */
double ad_sim_began_s(const ad_sim *sim);

/* What the chip has sent: takes at most size bytes out, returns how many. */
size_t ad_sim_take(ad_sim *sim, uint8_t *bytes, size_t size);

/* What it is to receive, at the line's speed; false where more than 4096 bytes wait. */
bool ad_sim_give(ad_sim *sim, const uint8_t *bytes, size_t n);

/* The supply drops for a moment, and comes back: a byte half sent is lost. */
void ad_sim_brown_out(ad_sim *sim);

/* The power is gone, and comes back. */
void ad_sim_power_cycle(ad_sim *sim);

/* Opens or closes the calibration jumper. */
void ad_sim_jumper(ad_sim *sim, bool closed);

/* The lamp as it is now, and the shunt. */
bool ad_sim_green(const ad_sim *sim);
bool ad_sim_red(const ad_sim *sim);
bool ad_sim_shunted(const ad_sim *sim);

#endif
