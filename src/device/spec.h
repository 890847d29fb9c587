/* spec.h - what --wrench says: PORT[,driver=NAME][,baud=N][,bits=8N1][,range=20..200]
 * [,uncertainty=1.5][,angle_uncertainty=1][,resends=3][,KEY=VALUE...].
 *
 * Room: device, private to it.  Pure. */
#ifndef BW_DEVICE_SPEC_H
#define BW_DEVICE_SPEC_H

#include "base/status.h"
#include "boltwright/driver.h"
#include "device/device.h"

enum { BW_SPEC_SETTINGS_MAX = 16, BW_DRIVER_NAME_MAX = 16, BW_BAUD_MIN = 50 };
enum { BW_BAUD_MAX = 4000000, BW_TOOL_NAME_MAX = 64 };

/* One setting of the driver's own; both point into bw_spec.text. */
typedef struct bw_setting {
    const char *key;
    const char *value;
} bw_setting;

typedef struct bw_spec {
    char port[BW_PORT_PATH_MAX];
    char rest[BW_SPEC_MAX];              /* as given behind the port, "" where nothing is */
    char driver[BW_DRIVER_NAME_MAX + 1]; /* "line" unless named */
    bw_line_settings line;               /* what was named; 0 where nothing was */
    bw_tool_data known;                  /* what was named; 0 where nothing was */
    char tool[BW_TOOL_NAME_MAX];         /* its name in the register, "" where none was given */
    double factor;                       /* torque at the fastener for 1 at the drive; 1 */
    double resends_s; /* the same result within so long is the one before it; 0: not said */
    bw_setting setting[BW_SPEC_SETTINGS_MAX];
    size_t settings;
    char text[BW_SPEC_MAX]; /* the settings' words, each ended by NUL */
} bw_spec;

/* text: not NULL, untrusted.  out is filled in place (it points into itself: never copy it) and
 * undefined on failure.  BW_E_DATA with one line. */
BW_MUST_USE bw_status bw_spec_parse(const char *text, bw_spec *out, bw_err *err);

/* True for [a-z0-9_]{1,16}. */
bool bw_driver_name_good(const char *name);

/* True where every member is one that a port can be set to. */
bool bw_line_settings_good(const bw_line_settings *line);

/* Puts what `asked` names in the place of what `wanted` has. */
bw_line_settings bw_line_settings_over(bw_line_settings wanted, const bw_line_settings *asked);

/* "9600 baud 8N1".  out has BW_LINE_TEXT_MAX bytes; returned. */
enum { BW_LINE_TEXT_MAX = 32 };
const char *bw_line_settings_text(const bw_line_settings *line, char *out);

#endif
