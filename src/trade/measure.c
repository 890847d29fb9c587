/* measure.c - see measure.h. */
#include "trade/measure.h"

#include "base/decimal.h"
#include "trade/check.h"

#include <string.h>

static const double pi = 3.14159265358979323846;

enum { RESULT_DECIMALS = 7 };

static double rounded(double value) {
    return bw_round_decimals(value, RESULT_DECIMALS);
}

/* Largest minus smallest of n values, each `stride` after the last. */
static double span_of(const double *value, size_t n, size_t stride) {
    double least = value[0];
    double most = value[0];
    for (size_t i = 1; i < n; i++) {
        double v = value[i * stride];
        least = v < least ? v : least;
        most = v > most ? v : most;
    }
    return most - least;
}

bw_status bw_form_of(const double *reading_mm, size_t planes, size_t directions, bw_form *out,
                     bw_err *err) {
    bw_status s = BW_CHECK(err, {"planes", (double)planes, 2, 100, ""},
                           {"directions", (double)directions, 2, 100, ""});
    size_t n = planes * directions;
    if (s == BW_OK) {
        s = bw_check_list("readings", reading_mm, n, n, 0.1, 10000, " mm", err);
    }
    if (s != BW_OK) {
        return s;
    }
    bw_form form = {
        .least_mm = reading_mm[0], .most_mm = reading_mm[0], .out_of_round_mm = -1, .taper_mm = -1};
    double sum = 0;
    for (size_t i = 0; i < n; i++) {
        form.least_mm = reading_mm[i] < form.least_mm ? reading_mm[i] : form.least_mm;
        form.most_mm = reading_mm[i] > form.most_mm ? reading_mm[i] : form.most_mm;
        sum += reading_mm[i];
    }
    for (size_t p = 0; p < planes; p++) {
        double span = span_of(reading_mm + p * directions, directions, 1);
        if (span > form.out_of_round_mm) {
            form.out_of_round_mm = span;
            form.worst_plane = p + 1;
        }
    }
    for (size_t d = 0; d < directions; d++) {
        double span = span_of(reading_mm + d, planes, directions);
        if (span > form.taper_mm) {
            form.taper_mm = span;
            form.worst_direction = d + 1;
        }
    }
    form.mean_mm = rounded(sum / (double)n);
    form.out_of_round_mm = rounded(form.out_of_round_mm);
    form.taper_mm = rounded(form.taper_mm);
    *out = form;
    return BW_OK;
}

static double at_20(const bw_part *part) {
    return part->size_mm / (1 + part->expansion_1e6 * 1e-6 * (part->temperature_degC - 20));
}

static bw_status check_part(const char *size, const char *temperature, const char *expansion,
                            const bw_part *part, bw_err *err) {
    return BW_CHECK(err, BW_RANGE_DIAMETER(size, part->size_mm),
                    {temperature, part->temperature_degC, -60, 300, " degC"},
                    {expansion, part->expansion_1e6, 0, 100, " x 1e-6/K"});
}

bw_status bw_size_at_20(const bw_part *part, double *size_mm, bw_err *err) {
    bw_status s = check_part("size", "temperature", "expansion", part, err);
    if (s == BW_OK) {
        *size_mm = rounded(at_20(part));
    }
    return s;
}

bw_status bw_clearance_at_20(const bw_part *bore, const bw_part *shaft, double *clearance_mm,
                             bw_err *err) {
    bw_status s = check_part("bore", "bore_temperature", "bore_expansion", bore, err);
    if (s == BW_OK) {
        s = check_part("shaft", "shaft_temperature", "shaft_expansion", shaft, err);
    }
    if (s == BW_OK) {
        *clearance_mm = rounded(at_20(bore) - at_20(shaft));
    }
    return s;
}

static const char materials_book[] = "materials textbook, table of expansion, seen";

static const bw_material materials[] = {
    {"grey_iron", 10.8, 11.4, "materials textbook (11.4) and a tool maker's page (10.8), seen"},
    {"ductile_iron", 10.6, 11.2, materials_book},
    {"steel_1040", 11.3, 11.3, materials_book},
    {"steel_4140", 12.3, 12.3, materials_book},
    {"steel_4340", 12.3, 12.3, materials_book},
    {"gauge_block_steel", 11.5, 11.5, "JCGM 100, example H.1, seen"},
    {"aluminium_356", 21.5, 21.5, materials_book},
    {"aluminium_6061", 23.6, 23.6, materials_book},
    {"piston_4032", 19.4, 19.4, "from memory, not seen"},
    {"piston_2618", 22.3, 22.3, "from memory, not seen"},
};

enum { MATERIAL_N = sizeof materials / sizeof materials[0] };

const bw_material *bw_material_at(size_t index) {
    return index < MATERIAL_N ? &materials[index] : NULL;
}

bw_status bw_material_find(const char *name, const bw_material **out, bw_err *err) {
    for (size_t i = 0; i < MATERIAL_N; i++) {
        if (strcmp(materials[i].name, name) == 0) {
            *out = &materials[i];
            return BW_OK;
        }
    }
    return bw_fail(err, BW_E_DATA,
                   "no material is called '%s': grey_iron, ductile_iron, steel_1040, steel_4140, "
                   "steel_4340, gauge_block_steel, aluminium_356, aluminium_6061, piston_4032 or "
                   "piston_2618 is needed",
                   name);
}

static bw_status check_card(const double *width_mm, const double *clearance_mm, size_t n,
                            bw_err *err) {
    bw_status s = bw_check_list("widths", width_mm, n, 2, 0.01, 100, " mm", err);
    if (s == BW_OK) {
        s = bw_check_list("clearances", clearance_mm, n, 2, 0.001, 10, " mm", err);
    }
    for (size_t i = 1; s == BW_OK && i < n; i++) {
        if (width_mm[i] <= width_mm[i - 1] || clearance_mm[i] >= clearance_mm[i - 1]) {
            s = bw_fail(err, BW_E_DATA,
                        "the card's mark %zu must be wider than the one before, its clearance "
                        "smaller",
                        i + 1);
        }
    }
    return s;
}

bw_status bw_plastic_gauge(double width_mm, const double *card_width_mm,
                           const double *card_clearance_mm, size_t n, double *clearance_mm,
                           bw_err *err) {
    bw_status s = check_card(card_width_mm, card_clearance_mm, n, err);
    if (s == BW_OK && !(width_mm >= card_width_mm[0] && width_mm <= card_width_mm[n - 1])) {
        s = bw_fail(
            err, BW_E_DATA,
            "width is %.9g mm: the card's marks go from %.9g to %.9g mm, take another strip",
            width_mm, card_width_mm[0], card_width_mm[n - 1]);
    }
    if (s != BW_OK) {
        return s;
    }
    size_t i = 1;
    while (card_width_mm[i] < width_mm) {
        i++;
    }
    double share = (width_mm - card_width_mm[i - 1]) / (card_width_mm[i] - card_width_mm[i - 1]);
    *clearance_mm = rounded(card_clearance_mm[i - 1] +
                            share * (card_clearance_mm[i] - card_clearance_mm[i - 1]));
    return BW_OK;
}

bw_status bw_ring_gap(double bore_mm, double factor, double *gap_mm, bw_err *err) {
    bw_status s = BW_CHECK(err, BW_RANGE_DIAMETER("bore", bore_mm),
                           {"factor", factor, 0.0005, 0.02, ""});
    if (s == BW_OK) {
        *gap_mm = rounded(bore_mm * factor);
    }
    return s;
}

bw_status bw_ring_filing(double gap_mm, double least_mm, double most_mm, double *left_mm,
                         bool *too_big, bw_err *err) {
    bw_status s = BW_CHECK(err, {"gap", gap_mm, 0, 50, " mm"}, {"least", least_mm, 0, 50, " mm"},
                           {"most", most_mm, least_mm, 50, " mm"});
    if (s == BW_OK) {
        double left = rounded(least_mm - gap_mm);
        *left_mm = left > 0 ? left : 0;
        *too_big = rounded(gap_mm - most_mm) > 0;
    }
    return s;
}

bw_status bw_ring_gap_growth(double bore_growth_mm, double *gap_growth_mm, bw_err *err) {
    bw_status s = BW_CHECK(err, {"bore_growth", bore_growth_mm, -10, 10, " mm"});
    if (s == BW_OK) {
        *gap_growth_mm = rounded(pi * bore_growth_mm);
    }
    return s;
}

static double mean_of(const double *value, size_t from, size_t to) {
    double mean = 0;
    for (size_t i = from; i < to; i++) {
        mean += (value[i] - mean) / (double)(i - from + 1);
    }
    return mean;
}

bw_status bw_running_torque_of(const double *torque_Nm, size_t n, bw_running_torque *out,
                               bw_err *err) {
    bw_status s = bw_check_list("torques", torque_Nm, n, 8, -100000, 100000, " N.m", err);
    if (s != BW_OK) {
        return s;
    }
    double running_most = torque_Nm[n / 2];
    for (size_t i = n / 2 + 1; i < n; i++) {
        running_most = torque_Nm[i] > running_most ? torque_Nm[i] : running_most;
    }
    size_t peak = 0;
    for (size_t i = 1; i < n / 2; i++) {
        peak = torque_Nm[i] > torque_Nm[peak] ? i : peak;
    }
    size_t start_end = peak + 1;
    while (start_end < n / 2 && torque_Nm[start_end] > running_most) {
        start_end++;
    }
    *out = (bw_running_torque){mean_of(torque_Nm, start_end, n), torque_Nm[peak], start_end};
    return BW_OK;
}
