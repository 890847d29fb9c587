/* stretch.c - see stretch.h. */
#include "trade/stretch.h"

#include "base/decimal.h"
#include "trade/check.h"

#include <math.h>

static const double pi = 3.14159265358979323846;

#define RANGE_STIFFNESS(name, v)                                                                   \
    { name, v, 1, 1000000000, " N/mm" }
#define RANGE_PITCH(v)                                                                             \
    { "pitch", v, 0.05, 100, " mm" }
#define RANGE_STRETCH(name, v)                                                                     \
    { name, v, -10, 10, " mm" }
#define RANGE_ANGLE(v)                                                                             \
    { "angle", v, -36000, 36000, " deg" }
#define RANGE_BODY(name, v)                                                                        \
    { name, v, 1, 100000, " mm" }

bw_status bw_compliance_of(const bw_section *section, size_t n, double modulus_MPa,
                           double *mm_per_N, bw_err *err) {
    bw_status s = BW_CHECK(err, {"sections", (double)n, 1, BW_SECTIONS_MAX, ""},
                           BW_RANGE_MODULUS("modulus", modulus_MPa));
    double sum = 0;
    for (size_t i = 0; s == BW_OK && i < n; i++) {
        s = BW_CHECK(err, {"length", section[i].length_mm, 0.001, 100000, " mm"},
                     {"area", section[i].area_mm2, 0.01, 1000000, " mm2"});
        sum += section[i].length_mm / section[i].area_mm2;
    }
    if (s == BW_OK) {
        *mm_per_N = sum / modulus_MPa;
    }
    return s;
}

bw_status bw_plain_bolt(const bw_thread *thread, double shank_mm, double thread_mm, bw_section *out,
                        bw_err *err) {
    bw_thread_size size = {0};
    bw_status s = BW_CHECK(err, BW_RANGE_LENGTH("shank_length", shank_mm),
                           BW_RANGE_LENGTH("thread_length", thread_mm));
    if (s == BW_OK) {
        s = bw_thread_size_of(thread, &size, err);
    }
    if (s == BW_OK) {
        double d = thread->d_mm;
        out[0] = (bw_section){shank_mm + 0.4 * d, pi / 4 * d * d};
        out[1] = (bw_section){thread_mm + 0.4 * d, size.stress_area_mm2};
    }
    return s;
}

bw_status bw_cone_stiffness(double d_mm, double bearing_outer_mm, double grip_mm,
                            double modulus_MPa, double *N_per_mm, bw_err *err) {
    bw_status s = BW_CHECK(err, BW_RANGE_DIAMETER("d", d_mm),
                           {"bearing_outer", bearing_outer_mm, 1.0001 * d_mm, 20000, " mm"},
                           RANGE_BODY("grip", grip_mm), BW_RANGE_MODULUS("modulus", modulus_MPa));
    if (s == BW_OK) {
        double slope = tan(pi / 6);
        double wide = slope * grip_mm + bearing_outer_mm;
        double quotient = (wide - d_mm) * (bearing_outer_mm + d_mm) /
                          ((wide + d_mm) * (bearing_outer_mm - d_mm));
        *N_per_mm = slope * pi * modulus_MPa * d_mm / (2 * log(quotient));
    }
    return s;
}

bw_status bw_load_factor(double bolt_N_per_mm, double joint_N_per_mm, double *factor, bw_err *err) {
    bw_status s = BW_CHECK(err, RANGE_STIFFNESS("bolt_stiffness", bolt_N_per_mm),
                           RANGE_STIFFNESS("joint_stiffness", joint_N_per_mm));
    if (s == BW_OK) {
        *factor = bolt_N_per_mm / (bolt_N_per_mm + joint_N_per_mm);
    }
    return s;
}

bw_status bw_preload_from_angle(double angle_deg, double pitch_mm, double bolt_N_per_mm,
                                double joint_N_per_mm, double *preload_N, bw_err *err) {
    bw_status s = BW_CHECK(err, RANGE_ANGLE(angle_deg), RANGE_PITCH(pitch_mm),
                           RANGE_STIFFNESS("bolt_stiffness", bolt_N_per_mm),
                           RANGE_STIFFNESS("joint_stiffness", joint_N_per_mm));
    if (s == BW_OK) {
        double give_mm_per_N = 1 / bolt_N_per_mm + 1 / joint_N_per_mm;
        *preload_N = angle_deg / 360 * pitch_mm / give_mm_per_N;
    }
    return s;
}

bw_status bw_angle_from_preload(double preload_N, double pitch_mm, double bolt_N_per_mm,
                                double joint_N_per_mm, double *angle_deg, bw_err *err) {
    bw_status s = BW_CHECK(err, BW_RANGE_FORCE("preload", preload_N), RANGE_PITCH(pitch_mm),
                           RANGE_STIFFNESS("bolt_stiffness", bolt_N_per_mm),
                           RANGE_STIFFNESS("joint_stiffness", joint_N_per_mm));
    if (s == BW_OK) {
        double give_mm_per_N = 1 / bolt_N_per_mm + 1 / joint_N_per_mm;
        *angle_deg = 360 * preload_N * give_mm_per_N / pitch_mm;
    }
    return s;
}

bw_status bw_stretch_from_preload(const bw_section *section, size_t n, double modulus_MPa,
                                  double preload_N, double *stretch_mm, bw_err *err) {
    double mm_per_N = 0;
    bw_status s = BW_CHECK(err, BW_RANGE_FORCE("preload", preload_N));
    if (s == BW_OK) {
        s = bw_compliance_of(section, n, modulus_MPa, &mm_per_N, err);
    }
    if (s == BW_OK) {
        *stretch_mm = preload_N * mm_per_N;
    }
    return s;
}

bw_status bw_preload_from_stretch(const bw_section *section, size_t n, double modulus_MPa,
                                  double stretch_mm, double *preload_N, bw_err *err) {
    double mm_per_N = 0;
    bw_status s = BW_CHECK(err, RANGE_STRETCH("stretch", stretch_mm));
    if (s == BW_OK) {
        s = bw_compliance_of(section, n, modulus_MPa, &mm_per_N, err);
    }
    if (s == BW_OK) {
        *preload_N = stretch_mm / mm_per_N;
    }
    return s;
}

bw_status bw_effective_length(const bw_end_corrections *e, double *length_mm, bw_err *err) {
    bw_status s = BW_CHECK(err, BW_RANGE_DIAMETER("thread_diameter", e->thread_d_mm),
                           BW_RANGE_DIAMETER("shank_diameter", e->shank_d_mm),
                           BW_RANGE_LENGTH("joint_length", e->joint_mm),
                           {"shank_length", e->shank_mm, 0, e->joint_mm, " mm"},
                           BW_RANGE_LENGTH("head_height", e->head_mm),
                           BW_RANGE_LENGTH("nut_height", e->nut_mm));
    if (s == BW_OK) {
        double ratio = e->thread_d_mm / e->shank_d_mm;
        *length_mm = ratio * ratio * (e->shank_mm + 0.5 * e->head_mm) + e->joint_mm - e->shank_mm +
                     0.5 * e->nut_mm;
    }
    return s;
}

bw_status bw_length_gain(double before_mm, double after_mm, double *gain_mm, bw_err *err) {
    bw_status s = BW_CHECK(err, RANGE_BODY("before", before_mm),
                           {"after", after_mm, before_mm - 10, before_mm + 10, " mm"});
    if (s == BW_OK) {
        *gain_mm = bw_round_decimals(after_mm - before_mm, 7);
    }
    return s;
}
