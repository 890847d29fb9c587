/* engine.c - see engine.h. */
#include "trade/engine.h"

#include "base/decimal.h"
#include "trade/check.h"

static const double pi = 3.14159265358979323846;

static double disc_mm3(double diameter_mm, double height_mm) {
    return pi / 4 * diameter_mm * diameter_mm * height_mm;
}

bw_status bw_compression_of(const bw_cylinder *c, bw_compression *out, bw_err *err) {
    bw_status s = BW_CHECK(
        err, {"bore", c->bore_mm, 1, 2000, " mm"}, {"stroke", c->stroke_mm, 1, 5000, " mm"},
        {"chamber", c->chamber_mm3, 0, 1e9, " mm3"},
        {"gasket_bore", c->gasket_bore_mm, c->bore_mm / 2, 3000, " mm"},
        {"gasket", c->gasket_mm, 0, 50, " mm"}, {"deck", c->deck_mm, -50, 100, " mm"},
        {"crown", c->crown_mm3, -1e9, 1e9, " mm3"});
    if (s != BW_OK) {
        return s;
    }
    bw_compression v = {
        .swept_mm3 = disc_mm3(c->bore_mm, c->stroke_mm),
        .gasket_mm3 = disc_mm3(c->gasket_bore_mm, c->gasket_mm),
        .deck_mm3 = disc_mm3(c->bore_mm, c->deck_mm),
    };
    v.closed_mm3 = c->chamber_mm3 + v.gasket_mm3 + v.deck_mm3 + c->crown_mm3;
    if (v.closed_mm3 <= 0.001 * v.swept_mm3) {
        return bw_fail(err, BW_E_DATA,
                       "chamber, gasket, deck and crown leave %.9g mm3 above the piston: more than "
                       "%.9g mm3 is needed",
                       v.closed_mm3, 0.001 * v.swept_mm3);
    }
    v.ratio = (v.swept_mm3 + v.closed_mm3) / v.closed_mm3;
    *out = v;
    return BW_OK;
}

bw_status bw_valve_clearance(const double *travel_mm, const double *cam_lift_mm, size_t n,
                             double ratio, double *clearance_mm, size_t *index, bw_err *err) {
    bw_status s = BW_CHECK(err, {"ratio", ratio, 0.5, 3, ""});
    if (s == BW_OK) {
        s = bw_check_list("travels", travel_mm, n, 1, 0, 200, " mm", err);
    }
    if (s == BW_OK) {
        s = bw_check_list("cam_lifts", cam_lift_mm, n, 1, 0, 100, " mm", err);
    }
    if (s != BW_OK) {
        return s;
    }
    size_t worst = 0;
    double least = travel_mm[0] - cam_lift_mm[0] * ratio;
    for (size_t i = 1; i < n; i++) {
        double clearance = travel_mm[i] - cam_lift_mm[i] * ratio;
        if (clearance < least) {
            least = clearance;
            worst = i;
        }
    }
    *clearance_mm = bw_round_decimals(least, 7);
    *index = worst;
    return BW_OK;
}

bw_status bw_cam_centreline(double opening_deg, double closing_deg, double *centreline_deg,
                            bw_err *err) {
    bw_status s = BW_CHECK(err, {"opening", opening_deg, -720, 720, " deg"},
                           {"closing", closing_deg, opening_deg, opening_deg + 720, " deg"});
    if (s == BW_OK) {
        *centreline_deg = (opening_deg + closing_deg) / 2;
    }
    return s;
}
