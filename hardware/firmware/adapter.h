/* adapter.h - the adapter as a whole: readings in, frames out.  Pure but for board.h.
 *
 * The board calls ad_adapter_begin once, then tick, conversion and receive as they come, always
 * from one place, never from an interrupt.  Tests: tests/unit/hardware/test_adapter.c. */
#ifndef ADAPTER_FIRMWARE_ADAPTER_H
#define ADAPTER_FIRMWARE_ADAPTER_H

#include "bridge.h"
#include "frame.h"
#include "gyro.h"
#include "store.h"

#include <stdbool.h>
#include <stdint.h>

enum {
    AD_FIRMWARE_MAJOR = 1,
    AD_FIRMWARE_MINOR = 0,
    AD_SUPPLY_MIN_mV = 4500,
    AD_IDLE_MAX_s = 600,  /* at rest and without a command: then it sleeps */
    AD_WAKE_COUNTS = 655, /* 20 degree/s wake it */
    AD_SILENT_TICKS = 16  /* no conversion for 20 ms: the converter is stuck */
};

/* What is gathered for the next sample. */
typedef struct ad_window {
    uint8_t wanted, n; /* conversions */
    int32_t counts_sum;
    int64_t angle_sum;
    uint32_t first_us, later_us_sum;
    uint16_t flags;
} ad_window;

/* A shunt check under way. */
typedef struct ad_shunt {
    bool on;
    uint16_t sequence; /* of the command */
    uint8_t n;
    int32_t sum, least, most; /* of what is above the mean at rest */
} ad_shunt;

/* Green from from to to, red beyond; both 0: off. */
typedef struct ad_lamp {
    int32_t from, to, highest;
    uint16_t free_ticks; /* since the torque went off */
} ad_lamp;

typedef struct ad_adapter {
    ad_gyro gyro;
    ad_bridge bridge;
    ad_reader reader;
    ad_calibration calibration;
    ad_window window;
    ad_shunt shunt;
    ad_lamp lamp;
    uint8_t calibration_state, reset;
    uint16_t boots, sequence, missed, bad_frames, supply_mV;
    uint32_t now_us;
    int64_t angle;      /* counts x ticks x AD_REST_TICKS x udps */
    int64_t past_total; /* of the gyro, at the conversion before */
    bool runs_on;       /* free, the way that the load has had */
    uint16_t second_ticks, idle_s;
    uint8_t seconds;
    uint16_t silent_ticks; /* since the last conversion */
    bool rest, asleep, overload_marked;
    bool converts; /* the converter has finished at least once */
} ad_adapter;

/* reset: ADAPTER_RESET_...  Sends the first frames. */
void ad_adapter_begin(ad_adapter *adapter, uint8_t reset);

/* At each tick: the gyro's reading, see ad_gyro_take.  now_us: the adapter's clock, wraps. */
void ad_adapter_tick(ad_adapter *adapter, bool present, int16_t rate, uint8_t ticks,
                     uint32_t now_us);

/* The converter has finished at time_us. */
void ad_adapter_conversion(ad_adapter *adapter, int32_t counts, uint32_t time_us);

/* A byte came from the host. */
void ad_adapter_receive(ad_adapter *adapter, uint8_t byte);

/* Between its own files. */
uint16_t ad_adapter_flags(const ad_adapter *adapter);
void ad_adapter_wake(ad_adapter *adapter);
void ad_adapter_use_calibration(ad_adapter *adapter);
void ad_window_begin(ad_window *window, uint8_t wanted);
void ad_command_do(ad_adapter *adapter);
void ad_shunt_begin(ad_adapter *adapter, uint16_t sequence);
void ad_shunt_take(ad_adapter *adapter, int32_t counts);
void ad_shunt_fail(ad_adapter *adapter);
void ad_lamp_take(ad_lamp *lamp, int32_t counts, bool loaded);
void ad_lamp_tick(ad_lamp *lamp, bool loaded, uint8_t ticks);
void ad_tell_sample(ad_adapter *adapter, uint32_t time_us, int32_t counts, int64_t angle,
                    uint16_t flags);
void ad_tell_identity(ad_adapter *adapter);
void ad_tell_status(ad_adapter *adapter);
void ad_tell_result(ad_adapter *adapter, uint8_t type, uint16_t sequence, uint8_t code,
                    int32_t value);

#endif
