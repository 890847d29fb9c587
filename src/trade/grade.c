/* grade.c - see grade.h. */
#include "trade/grade.h"

#include <stdbool.h>
#include <string.h>

#define KSI 6.894757293168361

static const char iso[] = "ISO 898-1; proof stress seen in open tables, the rest from memory";
static const char sae[] =
    "SAE J429; proof and tensile seen in open tables, yield partly from memory";

static const bw_grade grades[] = {
    {"4.6", 0, 39, 225, 240, 400, iso},
    {"4.8", 0, 39, 310, 340, 420, iso},
    {"5.6", 0, 39, 280, 300, 500, iso},
    {"5.8", 0, 39, 380, 420, 520, iso},
    {"6.8", 0, 39, 440, 480, 600, iso},
    {"8.8", 0, 16, 580, 640, 800, iso},
    {"8.8", 16, 39, 600, 660, 830, iso},
    {"9.8", 0, 16, 650, 720, 900, iso},
    {"10.9", 0, 39, 830, 940, 1040, iso},
    {"12.9", 0, 39, 970, 1100, 1220, iso},
    {"grade 2", 0, 19.05, 55 * KSI, 57 * KSI, 74 * KSI, sae},
    {"grade 2", 19.05, 38.1, 33 * KSI, 36 * KSI, 60 * KSI, sae},
    {"grade 5", 0, 25.4, 85 * KSI, 92 * KSI, 120 * KSI, sae},
    {"grade 5", 25.4, 38.1, 74 * KSI, 81 * KSI, 105 * KSI, sae},
    {"grade 8", 0, 38.1, 120 * KSI, 130 * KSI, 150 * KSI, sae},
};

enum { GRADE_N = sizeof grades / sizeof grades[0] };

const bw_grade *bw_grade_at(size_t index) {
    return index < GRADE_N ? &grades[index] : NULL;
}

bw_status bw_grade_find(const char *name, double d_mm, const bw_grade **out, bw_err *err) {
    bool known = false;
    for (size_t i = 0; i < GRADE_N; i++) {
        if (strcmp(grades[i].name, name) != 0) {
            continue;
        }
        known = true;
        if (d_mm > grades[i].over_mm && d_mm <= grades[i].to_mm + 1e-9) {
            *out = &grades[i];
            return BW_OK;
        }
    }
    if (known) {
        return bw_fail(err, BW_E_DATA, "class %s has no figures for a diameter of %.9g mm", name,
                       d_mm);
    }
    return bw_fail(err, BW_E_DATA,
                   "'%s' is no class known here: 4.6, 4.8, 5.6, 5.8, 6.8, 8.8, 9.8, 10.9, 12.9, "
                   "grade 2, grade 5 or grade 8 is needed",
                   name);
}
