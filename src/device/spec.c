/* spec.c - see spec.h. */
#include "device/spec.h"

#include "base/decimal.h"
#include "base/text.h"

#include <string.h>

bool bw_driver_name_good(const char *name) {
    size_t len = strspn(name, "abcdefghijklmnopqrstuvwxyz0123456789_");
    return len >= 1 && len <= BW_DRIVER_NAME_MAX && name[len] == '\0';
}

bool bw_line_settings_good(const bw_line_settings *line) {
    return line->baud >= BW_BAUD_MIN && line->baud <= BW_BAUD_MAX &&
           (line->bits == 7 || line->bits == 8) &&
           (line->parity == 'N' || line->parity == 'E' || line->parity == 'O') &&
           (line->stops == 1 || line->stops == 2);
}

bw_line_settings bw_line_settings_over(bw_line_settings wanted, const bw_line_settings *asked) {
    if (asked->baud != 0) {
        wanted.baud = asked->baud;
    }
    if (asked->bits != 0) {
        wanted.bits = asked->bits;
        wanted.parity = asked->parity;
        wanted.stops = asked->stops;
    }
    return wanted;
}

const char *bw_line_settings_text(const bw_line_settings *line, char *out) {
    bw_text text = bw_text_on(out, BW_LINE_TEXT_MAX);
    bw_text_add(&text, "%u baud %u%c%u", (unsigned)line->baud, (unsigned)line->bits, line->parity,
                (unsigned)line->stops);
    return out;
}

/* ---- the host's own settings ---- */

static bw_status set_driver(bw_spec *spec, const char *value, bw_err *err) {
    if (!bw_driver_name_good(value)) {
        return bw_fail(err, BW_E_DATA,
                       "driver=%s: a driver's name is 1 to %d letters a-z, digits and _", value,
                       BW_DRIVER_NAME_MAX);
    }
    (void)bw_text_copy(spec->driver, sizeof spec->driver, value);
    return BW_OK;
}

static bw_status set_baud(bw_spec *spec, const char *value, bw_err *err) {
    size_t digits = strspn(value, "0123456789");
    uint32_t baud = 0;
    for (size_t i = 0; i < digits && baud <= BW_BAUD_MAX; i++) {
        baud = baud * 10 + (uint32_t)(value[i] - '0');
    }
    if (value[digits] != '\0' || baud < BW_BAUD_MIN || baud > BW_BAUD_MAX) {
        return bw_fail(err, BW_E_DATA,
                       "baud=%s: a whole number from %d to %d is needed, as in 9600", value,
                       BW_BAUD_MIN, BW_BAUD_MAX);
    }
    spec->line.baud = baud;
    return BW_OK;
}

static bw_status set_bits(bw_spec *spec, const char *value, bw_err *err) {
    bw_line_settings line = {.baud = BW_BAUD_MIN};
    if (strlen(value) == 3) {
        line.bits = (uint8_t)(value[0] - '0');
        line.parity = value[1];
        line.stops = (uint8_t)(value[2] - '0');
    }
    if (!bw_line_settings_good(&line)) {
        return bw_fail(err, BW_E_DATA,
                       "bits=%s: 7 or 8 bits, parity N, E or O, and 1 or 2 stop bits are needed, "
                       "as in 8N1",
                       value);
    }
    line.baud = spec->line.baud;
    spec->line = line;
    return BW_OK;
}

/* ---- what is known of the wrench ---- */

/* No hand tool does more; what is above is a slip. */
static const double torque_most_Nm = 100000;
static const double per_cent_most = 50;
static const double angle_most_deg = 45;
static const double windup_most_deg_per_Nm = 1;

/* A number that fills text[0..len), above 0 (or 0 where none is wrong) and up to most. */
static bool number(const char *text, size_t len, double most, bool zero, double *out) {
    bw_decimal read;
    bw_err unsaid;
    if (bw_decimal_parse(text, len, &read, &unsaid) != BW_OK || read.value > most ||
        !(zero ? read.value >= 0 : read.value > 0)) {
        return false;
    }
    *out = read.value;
    return true;
}

static bw_status set_range(bw_spec *spec, const char *value, bw_err *err) {
    const char *dots = strstr(value, "..");
    bw_tool_data *known = &spec->known;
    bool good = dots != NULL &&
                number(value, (size_t)(dots - value), torque_most_Nm, true, &known->range_low_Nm) &&
                number(dots + 2, strlen(dots + 2), torque_most_Nm, false, &known->range_high_Nm) &&
                known->range_low_Nm < known->range_high_Nm;
    return good ? BW_OK
                : bw_fail(err, BW_E_DATA,
                          "range=%s: the torques in N.m from which to which the wrench is "
                          "calibrated are needed, as in 20..200",
                          value);
}

static bw_status set_uncertainty(bw_spec *spec, const char *value, bw_err *err) {
    double per_cent = 0;
    if (!number(value, strlen(value), per_cent_most, false, &per_cent)) {
        return bw_fail(err, BW_E_DATA,
                       "uncertainty=%s: the expanded uncertainty (k = 2) in per cent of the torque "
                       "is needed, above 0 and at most 50, as in 1.5",
                       value);
    }
    spec->known.uncertainty_share = per_cent / 100;
    return BW_OK;
}

static bw_status set_angle_uncertainty(bw_spec *spec, const char *value, bw_err *err) {
    if (!number(value, strlen(value), angle_most_deg, false, &spec->known.uncertainty_deg)) {
        return bw_fail(err, BW_E_DATA,
                       "angle_uncertainty=%s: the expanded uncertainty (k = 2) of a turn in "
                       "degrees is needed, above 0 and at most 45, as in 1",
                       value);
    }
    return BW_OK;
}

static bw_status set_windup(bw_spec *spec, const char *value, bw_err *err) {
    if (!number(value, strlen(value), windup_most_deg_per_Nm, false,
                &spec->known.windup_deg_per_Nm)) {
        return bw_fail(err, BW_E_DATA,
                       "windup=%s: by how many degrees the wrench itself twists for 1 N.m is "
                       "needed, above 0 and at most 1, as in 0.05",
                       value);
    }
    return BW_OK;
}

static bw_status set_tool(bw_spec *spec, const char *value, bw_err *err) {
    return bw_text_copy(spec->tool, sizeof spec->tool, value)
               ? BW_OK
               : bw_fail(err, BW_E_DATA, "tool=: a name of 1 to %d bytes is needed",
                         BW_TOOL_NAME_MAX - 1);
}

/* A crowfoot that points back may take nearly all of it; none gives twice. */
static bw_status set_factor(bw_spec *spec, const char *value, bw_err *err) {
    if (!number(value, strlen(value), 10, false, &spec->factor) || spec->factor < 0.1) {
        return bw_fail(err, BW_E_DATA,
                       "factor=%s: what the fastener gets for 1 N.m at the square drive is needed, "
                       "0.1 to 10, as in 1.125 with a crowfoot",
                       value);
    }
    return BW_OK;
}

static bw_status set_resends(bw_spec *spec, const char *value, bw_err *err) {
    if (!number(value, strlen(value), 60, false, &spec->resends_s)) {
        return bw_fail(err, BW_E_DATA,
                       "resends=%s: within how many seconds the same result is the one before it, "
                       "sent again, is needed, above 0 and at most 60, as in 3",
                       value);
    }
    return BW_OK;
}

/* ---- the text ---- */

static bw_status take(bw_spec *spec, const char *key, const char *value, bw_err *err) {
    static const struct {
        const char *key;
        bw_status (*set)(bw_spec *spec, const char *value, bw_err *err);
    } own[] = {{"driver", set_driver},
               {"baud", set_baud},
               {"bits", set_bits},
               {"range", set_range},
               {"uncertainty", set_uncertainty},
               {"angle_uncertainty", set_angle_uncertainty},
               {"tool", set_tool},
               {"factor", set_factor},
               {"resends", set_resends},
               {"windup", set_windup}};
    for (size_t i = 0; i < sizeof own / sizeof own[0]; i++) {
        if (strcmp(key, own[i].key) == 0) {
            return own[i].set(spec, value, err);
        }
    }
    if (!bw_driver_name_good(key)) {
        return bw_fail(err, BW_E_DATA, "\"%s\" is no setting's name: those are a-z, 0-9 and _",
                       key);
    }
    if (spec->settings == BW_SPEC_SETTINGS_MAX) {
        return bw_fail(err, BW_E_DATA, "a wrench has at most %d settings", BW_SPEC_SETTINGS_MAX);
    }
    spec->setting[spec->settings++] = (bw_setting){key, value};
    return BW_OK;
}

/* True where spec->text, up to word, has the key already. */
static bool named_before(const bw_spec *spec, const char *key) {
    for (const char *word = spec->text; word < key;) {
        if (strcmp(word, key) == 0) {
            return true;
        }
        word += strlen(word) + 1; /* to the value */
        word += strlen(word) + 1; /* to the next key */
    }
    return false;
}

/* Splits KEY=VALUE in place. */
static bw_status take_word(bw_spec *spec, char *word, bw_err *err) {
    char *equals = strchr(word, '=');
    if (equals == NULL || equals == word || equals[1] == '\0') {
        return bw_fail(err, BW_E_DATA,
                       "\"%s\" is no setting: KEY=VALUE is needed, as in driver=line or baud=9600",
                       word);
    }
    *equals = '\0';
    if (named_before(spec, word)) {
        return bw_fail(err, BW_E_DATA, "%s= is there twice", word);
    }
    return take(spec, word, equals + 1, err);
}

bw_status bw_spec_parse(const char *text, bw_spec *out, bw_err *err) {
    memset(out, 0, sizeof *out);
    size_t len = strlen(text);
    if (len >= BW_SPEC_MAX || !bw_text_printable(text, len, false)) {
        return bw_fail(err, BW_E_DATA,
                       "PORT[,KEY=VALUE...] of at most %d plain characters is needed",
                       BW_SPEC_MAX - 1);
    }
    size_t port_len = strcspn(text, ",");
    if (port_len == 0 || port_len >= sizeof out->port) {
        return bw_fail(err, BW_E_DATA, "a port of 1 to %d characters is needed, as in /dev/ttyUSB0",
                       BW_PORT_PATH_MAX - 1);
    }
    memcpy(out->port, text, port_len);
    (void)bw_text_copy(out->driver, sizeof out->driver, "line");
    out->factor = 1;
    if (text[port_len] == '\0') {
        return BW_OK;
    }
    (void)bw_text_copy(out->rest, sizeof out->rest, text + port_len + 1);
    (void)bw_text_copy(out->text, sizeof out->text, out->rest);
    bw_status rc = BW_OK;
    for (char *word = out->text; rc == BW_OK && word != NULL;) {
        char *comma = strchr(word, ',');
        if (comma != NULL) {
            *comma++ = '\0';
        }
        rc = take_word(out, word, err);
        word = comma;
    }
    return rc;
}
