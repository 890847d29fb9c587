/* fuzz_display.c - what strangers and the command line hand to the bench display: headers, paths,
 * posted bodies, a code, an address; and what a plan calls its points. */
#include "fuzz/fuzz.h"

#include "face/display/asked.h"
#include "face/display/display.h"
#include "face/display/gate.h"
#include "face/display/pages.h"
#include "face/display/pairing.h"
#include "face/display/reply.h"
#include "face/point_map.h"

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

/* In whichever header it stands: who is let in is called by our name and comes from our page. */
static void try_headers(const char *text) {
    const bw_gate gate = bw_gate_for("127.0.0.1", 8080, false);
    const bw_http_request own = {.method = "POST",
                                 .path = "/answer",
                                 .host = "127.0.0.1:8080",
                                 .host_n = 1,
                                 .length_n = 1,
                                 .origin = "http://127.0.0.1:8080",
                                 .fetch_site = "same-origin",
                                 .content_type = "application/json"};
    bw_http_request r = own;
    FUZZ_CHECK(bw_gate_check(&gate, &r, true) == 0);
    r.host = text;
    FUZZ_CHECK(bw_gate_check(&gate, &r, true) != 0 || strcmp(text, own.host) == 0);
    r = own;
    r.origin = text;
    FUZZ_CHECK((bw_gate_check(&gate, &r, true) == 0) == (strcmp(text, own.origin) == 0));
    r = own;
    r.fetch_site = text;
    FUZZ_CHECK((bw_gate_check(&gate, &r, true) == 0) == (strcmp(text, own.fetch_site) == 0));
    r = own;
    r.method = text;
    FUZZ_CHECK(bw_gate_check(&gate, &r, true) != 0 || strcmp(text, "POST") == 0);
    r = own;
    r.content_type = text;
    FUZZ_CHECK(bw_gate_check(&gate, &r, true) != 0 ||
               strncmp(text, own.content_type, strlen(own.content_type)) == 0);
}

static void try_path(const char *text) {
    bw_page page;
    if (bw_page_at(text, &page)) {
        FUZZ_CHECK(text[0] == '/' && strstr(text, "..") == NULL && page.len > 0);
    }
}

static void no_line(void *ctx, const char *line) {
    (void)ctx;
    (void)line;
}

/* An answer is a refusal or what was meant, and its body is JSON, whatever was posted. */
static void check_answer(const bw_http_answer *answer) {
    json_t *body = json_loadb(answer->body, answer->len, 0, NULL);
    FUZZ_CHECK(answer->status >= 200 && answer->status < 500 && json_is_object(body));
    json_decref(body);
}

static void try_body(const char *text, size_t len) {
    const bw_http_request r = {.method = "POST", .path = "/", .body = text, .body_len = len};
    const bw_display_network network = {.host = "", .tell = no_line};
    bw_asked asked = {.spent = true,
                      .echo_of = BW_DIM_LENGTH,
                      .echo_unit = BW_UNIT_MM,
                      .least = 0.05,
                      .most = 0.5};
    bw_pairing pairing = {0};
    bw_http_answer answer = {0};
    bw_asked_echo(&asked, &r, &answer);
    check_answer(&answer);
    bw_asked_answer(&asked, NULL, &r, &answer); /* spent: it never comes to the turn */
    check_answer(&answer);
    FUZZ_CHECK(answer.status == 400 || answer.status == 409);
    bw_pairing_open(&pairing, &network, 8443);
    bw_pairing_ask(&pairing, &r, 0, &answer);
    check_answer(&answer);
    bw_pairing_enter(&pairing, &r, 0, &answer);
    check_answer(&answer);
    FUZZ_CHECK(answer.status != 200 && answer.cookie == NULL && pairing.pair.screen_n == 0);
}

enum { LABELS_MAX = 24 };

/* Labels a line each: every point has one spot, and is found there again. */
static void try_points(char *text) {
    const char *at[LABELS_MAX];
    size_t n = 0;
    for (char *line = text; line != NULL && n < LABELS_MAX;) {
        char *end = strchr(line, '\n');
        at[n++] = line;
        line = end != NULL ? end + 1 : NULL;
        if (end != NULL) {
            *end = '\0';
        }
    }
    char bytes[2048];
    bw_text drawn = bw_text_on(bytes, sizeof bytes);
    const bw_reading_set set = {.id = "a", .say = "bore", .at_n = n, .at = at};
    const bw_step step = {.id = "s", .say = "Measure.", .set_n = 1, .set = &set};
    bw_point_map map = bw_point_map_of(&step, 0);
    FUZZ_CHECK(map.part_n * map.row_n * map.column_n == n);
    for (size_t i = 0; i < n; i++) {
        size_t back_set = 1;
        size_t back = n;
        bw_point_at(&map, bw_point_spot_of(&map, 0, i), &back_set, &back);
        FUZZ_CHECK(back_set == 0 && back == i);
    }
    for (size_t i = 0; i < map.part_n; i++) {
        bw_point_part_add(&drawn, &map, i);
    }
    for (size_t i = 0; i < map.column_n; i++) {
        bw_point_column_add(&drawn, &map, i);
    }
    bw_point_map_add(&drawn, &map, 0, 0, 2);
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
    try_headers(text);
    try_path(text);
    try_body(text, size);
    if (bw_pair_cookie(text, "__Host-bench-1", token)) {
        FUZZ_CHECK(strlen(token) == BW_PAIR_TOKEN_MAX - 1 && strstr(text, token) != NULL);
    }
    for (int network = 0; network < 2; network++) {
        bw_status status = bw_display_where_read(text, network == 1, &where, &err);
        FUZZ_CHECK(status == BW_OK ? where.port >= 1 && where.port <= 65535 : err.text[0] != '\0');
    }
    try_points(text); /* parts it */
    free(text);
    return 0;
}
