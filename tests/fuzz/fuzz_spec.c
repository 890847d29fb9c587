/* fuzz_spec.c - what stands behind --wrench. */
#include "fuzz/fuzz.h"

#include "device/spec.h"

#include <math.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    static bw_spec spec;
    char text[2 * BW_SPEC_MAX];
    if (size >= sizeof text) {
        return 0;
    }
    memcpy(text, data, size);
    text[size] = '\0';
    if (bw_spec_parse(text, &spec, NULL) != BW_OK) {
        return 0;
    }
    FUZZ_CHECK(spec.port[0] != '\0' && strlen(spec.port) < sizeof spec.port);
    FUZZ_CHECK(bw_driver_name_good(spec.driver));
    FUZZ_CHECK(spec.settings <= BW_SPEC_SETTINGS_MAX);
    for (size_t i = 0; i < spec.settings; i++) {
        FUZZ_CHECK(bw_driver_name_good(spec.setting[i].key) && spec.setting[i].value[0] != '\0');
    }
    FUZZ_CHECK(spec.factor >= 0.1 && spec.factor <= 10);
    FUZZ_CHECK(spec.resends_s >= 0 && spec.resends_s <= 60);
    FUZZ_CHECK(isfinite(spec.known.range_high_Nm) && spec.known.range_low_Nm >= 0);
    return 0;
}
