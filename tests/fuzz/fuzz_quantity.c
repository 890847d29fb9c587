/* fuzz_quantity.c - what people type: quantities and decimals. */
#include "fuzz/fuzz.h"

#include "base/decimal.h"
#include "trade/units.h"

#include <math.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    const char *text = (const char *)data;
    bw_quantity q = {0};
    bw_decimal decimal = {0};
    double number = 0;
    if (bw_quantity_parse(text, size, BW_DIM_COUNT, BW_UNIT_MM, &q, NULL) == BW_OK) {
        char shown[128];
        FUZZ_CHECK(isfinite(q.value) && bw_unit_of(q.unit) != NULL);
        FUZZ_CHECK(isfinite(bw_to_base(q.value, q.unit)));
        FUZZ_CHECK(strlen(bw_quantity_text(q, shown, sizeof shown)) > 0);
    }
    if (bw_decimal_parse(text, size, &decimal, NULL) == BW_OK) {
        FUZZ_CHECK(isfinite(decimal.value) && decimal.decimals >= 0);
    }
    if (bw_number_parse(text, size, &number, NULL) == BW_OK) {
        char shown[40];
        double back = NAN;
        (void)bw_number_text(number, shown, sizeof shown);
        FUZZ_CHECK(bw_number_parse(shown, strlen(shown), &back, NULL) == BW_OK);
        FUZZ_CHECK(back == number);
    }
    return 0;
}
