/* fuzz_display.c - what strangers and the command line hand to the bench display: a Cookie header,
 * a code, an address. */
#include "fuzz/fuzz.h"

#include "face/display/display.h"
#include "face/display/pair.h"

#include <string.h>

static void try_code(const char *text) {
    char token[BW_PAIR_TOKEN_MAX];
    bool show = false;
    const uint8_t random[BW_PAIR_TOKEN_BYTES] = {0};
    bw_pair pair = {0};
    (void)bw_pair_ask(&pair, 1, 0, 123456, &show);
    bw_pair_result result = bw_pair_enter(&pair, text, text, 1, random, token);
    FUZZ_CHECK((result == BW_PAIR_OK) == (strcmp(text, "123456") == 0));
    FUZZ_CHECK(pair.screen_n == (result == BW_PAIR_OK ? 1u : 0u));
    FUZZ_CHECK(pair.wrong == (result == BW_PAIR_WRONG ? 1u : 0u));
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    char token[BW_PAIR_TOKEN_MAX];
    bw_display_where where;
    bw_err err = {0};
    char *text = malloc(size + 1);
    if (text == NULL) {
        return 0;
    }
    memcpy(text, data, size);
    text[size] = '\0';
    try_code(text);
    if (bw_pair_cookie(text, "__Host-bench-1", token)) {
        FUZZ_CHECK(strlen(token) == BW_PAIR_TOKEN_MAX - 1 && strstr(text, token) != NULL);
    }
    for (int network = 0; network < 2; network++) {
        bw_status status = bw_display_where_read(text, network == 1, &where, &err);
        FUZZ_CHECK(status == BW_OK ? where.port >= 1 && where.port <= 65535 : err.text[0] != '\0');
    }
    free(text);
    return 0;
}
