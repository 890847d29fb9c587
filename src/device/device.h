/* device.h - a wrench at work: its port, its driver in a worker, its raw bytes.
 *
 * Room: device; the only user of libserialport.  The host reads the port, keeps the bytes with
 * their times, hands them to the driver's worker and gets readings back.  Readings are believed
 * no further than their range: finite, |torque| <= 100 000 N.m, |angle| <= 1 000 000 degrees. */
#ifndef BW_DEVICE_DEVICE_H
#define BW_DEVICE_DEVICE_H

#include "base/status.h"
#include "boltwright/driver.h"
#include "trade/trace.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum { BW_PORT_PATH_MAX = 256, BW_SPEC_MAX = 512, BW_RAW_BYTES_MAX = 8 << 20 };

typedef struct bw_device bw_device;

/* What a device gave, in order.  All set but the last. */
typedef struct bw_device_sink {
    void *ctx;
    void (*sample)(void *ctx, const bw_sample *sample);
    void (*result)(void *ctx, double time_s, double peak_Nm, bool has_turn, double turn_deg);
    /* A line that the driver could not read, the driver's own words, or what is wrong with the
     * line.  Plain characters only, whatever the device sent. */
    void (*say)(void *ctx, const char *line);
    /* A line that the driver could not read; NULL: goes to say. */
    void (*unread)(void *ctx, const char *line);
} bw_device_sink;

/* Opens what SPEC names: PORT[,driver=NAME][,baud=N][,bits=8N1][,range=20..200][,uncertainty=1.5]
 * [,angle_uncertainty=1][,tool=NAME][,factor=1.125][,resends=3][,windup=0.05][,KEY=VALUE...];
 * driver is `line` where none is named; speed and bits are the driver's where none are; other keys
 * are the driver's settings.  Times of samples count from here, unless the device has a clock of
 * its own.
 *
 * BW_E_DATA the spec is wrong, no such driver or setting; BW_E_ABSENT no such port; BW_E_BUSY the
 * port is in use; BW_E_IO anything else. */
BW_MUST_USE bw_status bw_device_open(const char *spec, bw_device **out, bw_err *err);
void bw_device_free(bw_device *device);

/* The handle to wait on for reading in the caller's loop; -1 while the device is gone. */
int bw_device_fd(const bw_device *device);

/* Reads what is there without waiting and delivers it, a bounded amount at a time: where there is
 * more, the handle stays ready.  Call it when the handle is ready, and at least ten times a second
 * besides: silence can only be seen by looking, and some drivers have to poll their device.
 * now_ns: monotonic.
 *
 * BW_OK; BW_E_ABSENT the device is gone (unplugged, hung up): its handle is closed, err says so in
 * the builder's words, bw_device_reopen may bring it back; BW_E_DATA the driver failed (ended,
 * hung, lied): told and started again, at most three times in a row (ten minutes of good work end
 * the row), then BW_E_STATE.  BW_E_DATA too where another device answers than before: what it sent
 * so far has been delivered, and a pull that is on is not to be trusted. */
BW_MUST_USE bw_status bw_device_pump(bw_device *device, int64_t now_ns, const bw_device_sink *sink,
                                     bw_err *err);

/* Tries to open the same device again (same path; for USB the same serial number, wherever it is
 * plugged in), with a driver started anew where it had been given up.  BW_E_ABSENT while it is not
 * there; others as bw_device_open. */
BW_MUST_USE bw_status bw_device_reopen(bw_device *device, bw_err *err);

/* Raw capture of everything since bw_device_raw_reset, or that was not forgotten: text, one read a
 * line, "@" microseconds since then, a space, the bytes in hex.  Borrowed; valid until the next
 * call on the device.  At most BW_RAW_BYTES_MAX; *cut where there was more. */
const char *bw_device_raw(bw_device *device, size_t *len, bool *cut);
void bw_device_raw_reset(bw_device *device, int64_t now_ns);
/* Forgets what came before this; and the oldest where there is very much. */
void bw_device_raw_forget(bw_device *device, int64_t before_ns);

/* From now on take sees every read, everything sent and every event of the port as a line of a
 * capture (see capture.h), its times counted from the opening.  Call it before the first pump. */
void bw_device_tap(bw_device *device, void (*take)(void *ctx, const char *line, size_t len),
                   void *ctx);

/* For entries: as given, borrowed. */
const char *
bw_device_name(const bw_device *device); /* tool=, or driver and port: "line on /dev/ttyUSB0" */
const char *bw_device_port(const bw_device *device);
const char *bw_device_driver(const bw_device *device);   /* "line 1" */
const char *bw_device_settings(const bw_device *device); /* the rest of the spec, may be "" */

/* Serial number that the device gave itself, or else its USB plug; "" as long as neither did.
 * Printable; valid until the next call on the device. */
const char *bw_device_serial(const bw_device *device);

/* What SPEC says of the wrench; 0: not known. */
typedef struct bw_tool_data {
    double range_low_Nm;      /* calibrated from here */
    double range_high_Nm;     /* to here; 0: range not known */
    double uncertainty_share; /* expanded (k = 2), of the torque */
    double uncertainty_deg;   /* expanded, of a turn */
    double windup_deg_per_Nm; /* what it twists itself */
} bw_tool_data;
bw_tool_data bw_device_data(const bw_device *device);

uint64_t bw_device_unread(const bw_device *device); /* bytes dropped and lines not understood */

/* Asks the device for something: sent at once, what comes of it comes by bw_device_pump.
 * BW_E_ABSENT the driver cannot do that, or the device is gone; BW_E_DATA the driver failed (as for
 * bw_device_pump). */
BW_MUST_USE bw_status bw_device_wish(bw_device *device, const bw_wish *wish,
                                     const bw_device_sink *sink, bw_err *err);

/* Seconds since the port was opened, in whole microseconds, as a sample without a time of the
 * device's gets it. */
double bw_device_time_s(const bw_device *device, int64_t now_ns);

/* `hand` and `keys` stand where a port would: a wrench that does not talk, whose torque the builder
 * types, and one that types it like a keyboard.  They have no handle and are never lost; their one
 * setting is unit=. */
bool bw_device_is_typed(const bw_device *device);

/* A line that was typed while a pull is asked for: delivers a result where the line is a torque,
 * `60 Nm`, or `60` where the unit is set.  BW_E_DATA with one line where it is none. */
BW_MUST_USE bw_status bw_device_type(bw_device *device, const char *line, int64_t now_ns,
                                     const bw_device_sink *sink, bw_err *err);

/* How often bw_device_pump is to be called where nothing comes, in ms: more often where its driver
 * has to ask. */
int bw_device_every_ms(const bw_device *device);

/* BW_CAN_* of its driver. */
uint32_t bw_device_can(const bw_device *device);

/* Makes a driver of a text that is no shared object (a Lua driver).  The driver worker reads the
 * file, gives up its rights and then calls this; *self is put at the beginning of each state.
 * text: valid for the life of the process.  BW_E_DATA with one line. */
enum { BW_DRIVER_TEXT_MAX = 256 << 10 };
typedef bw_status bw_driver_maker(const char *name, const char *text, size_t len, bw_driver *out,
                                  void **self, bw_err *err);

/* The driver worker's own main (see wall/worker.h).  maker: NULL where texts are not read. */
int bw_driver_worker_main(bw_driver_maker *maker);

#endif
