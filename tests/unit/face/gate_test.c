/* gate_test.c - who is let in to the bench display, cell by cell. */
#include "cmocka_all.h"

#include "face/display/gate.h"
#include "face/display/display.h"
#include "face/display/pages.h"

#include <string.h>

static const char own[] = "127.0.0.1:8080";
static const char origin[] = "http://127.0.0.1:8080";
static const char json[] = "application/json";

static unsigned check(bw_http_request r, bool takes_post) {
    bw_gate gate = bw_gate_for("127.0.0.1", 8080, false);
    return bw_gate_check(&gate, &r, takes_post);
}

static bw_http_request get(void) {
    return (bw_http_request){.method = "GET", .path = "/", .host = own, .host_n = 1};
}

static bw_http_request post(void) {
    return (bw_http_request){.method = "POST",
                             .path = "/answer",
                             .host = own,
                             .host_n = 1,
                             .length_n = 1,
                             .origin = origin,
                             .fetch_site = "same-origin",
                             .content_type = json};
}

static void test_own_page(void **state) {
    (void)state;
    assert_int_equal(check(get(), false), 0);
    assert_int_equal(check(post(), true), 0);
    bw_http_request r = get();
    r.fetch_site = "none";
    assert_int_equal(check(r, false), 0);
    r.host = "localhost:8080";
    assert_int_equal(check(r, false), 0);
    r = post();
    r.fetch_site = NULL; /* an old browser: the origin still tells */
    r.content_type = "application/json; charset=utf-8";
    assert_int_equal(check(r, true), 0);
}

static void test_names(void **state) {
    (void)state;
    static const char *const foreign[] = {
        "evil.test",       "evil.test:8080",  "127.0.0.1",       "127.0.0.1:80",
        "127.0.0.1.:8080", "LOCALHOST:8080",  "127.0.0.1:8080 ", "",
        "127.0.0.2:8080",  "127.0.0.1:80800", "[::1]:8080"};
    for (size_t i = 0; i < sizeof foreign / sizeof foreign[0]; i++) {
        bw_http_request r = get();
        r.host = foreign[i];
        assert_int_equal(check(r, false), 421);
    }
    bw_http_request r = get();
    r.host_n = 0;
    assert_int_equal(check(r, false), 400);
    r.host_n = 2;
    assert_int_equal(check(r, false), 400);
    r = get();
    r.path = "http://127.0.0.1:8080/";
    assert_int_equal(check(r, false), 400);
}

static void test_state_changes(void **state) {
    (void)state;
    static const char *const origins[] = {NULL,
                                          "null",
                                          "http://evil.test",
                                          "http://127.0.0.1:80",
                                          "https://127.0.0.1:8080",
                                          "http://localhost:8080",
                                          ""};
    static const char *const sites[] = {"cross-site", "same-site", "none", "", "SAME-ORIGIN"};
    static const char *const types[] = {NULL, "", "text/plain", "application/jsonp",
                                        "application/json; charset=latin-1"};
    for (size_t i = 0; i < sizeof origins / sizeof origins[0]; i++) {
        bw_http_request r = post();
        r.origin = origins[i];
        assert_int_equal(check(r, true), 403);
    }
    for (size_t i = 0; i < sizeof sites / sizeof sites[0]; i++) {
        bw_http_request r = post();
        r.fetch_site = sites[i];
        assert_int_equal(check(r, true), 403);
    }
    for (size_t i = 0; i < sizeof types / sizeof types[0]; i++) {
        bw_http_request r = post();
        r.content_type = types[i];
        assert_int_equal(check(r, true), 415);
    }
    bw_http_request r = post();
    r.length_n = 2;
    assert_int_equal(check(r, true), 400);
    assert_int_equal(check(post(), false), 405);
    assert_int_equal(check(get(), true), 405);
    r = get();
    r.fetch_site = "cross-site";
    assert_int_equal(check(r, false), 403);
}

static void test_other_addresses(void **state) {
    (void)state;
    bw_gate six = bw_gate_for("::1", 8080, false);
    assert_string_equal(six.name[0], "[::1]:8080");
    bw_gate open = bw_gate_for("192.0.2.7", 8443, true);
    assert_int_equal(open.name_n, 1);
    bw_http_request r = post();
    r.host = "192.0.2.7:8443";
    r.origin = "https://192.0.2.7:8443";
    assert_int_equal(bw_gate_check(&open, &r, true), 0);
    r.origin = "http://192.0.2.7:8443";
    assert_int_equal(bw_gate_check(&open, &r, true), 403);
    bw_gate_name(&open, "shop-bench", 8443);
    r.host = "shop-bench:8443";
    r.origin = "https://shop-bench:8443";
    assert_int_equal(bw_gate_check(&open, &r, true), 0);
    r.origin = "https://192.0.2.7:8443"; /* another name's page */
    assert_int_equal(bw_gate_check(&open, &r, true), 403);
    bw_gate_name(&open, "third", 8443);
    bw_gate_name(&open, "fourth", 8443);
    assert_int_equal(open.name_n, BW_GATE_NAMES_MAX);
    assert_true(bw_gate_is_loopback("127.0.0.1"));
    assert_true(bw_gate_is_loopback("127.9.9.9"));
    assert_true(bw_gate_is_loopback("::1"));
    assert_false(bw_gate_is_loopback("0.0.0.0"));
    assert_false(bw_gate_is_loopback("128.0.0.1"));
}

/* Browsers leave the usual port out of Host and Origin. */
static void test_usual_port(void **state) {
    (void)state;
    assert_string_equal(bw_gate_for("192.0.2.7", 443, true).name[0], "192.0.2.7");
    assert_string_equal(bw_gate_for("192.0.2.7", 80, true).name[0], "192.0.2.7:80");
    assert_string_equal(bw_gate_for("127.0.0.1", 80, false).name[1], "localhost");
    assert_string_equal(bw_gate_for("::1", 443, false).name[0], "[::1]:443");
}

static void test_pages(void **state) {
    (void)state;
    bw_page page;
    assert_true(bw_page_at("/", &page));
    assert_int_equal(strncmp((const char *)page.data, "<!doctype html>", 15), 0);
    assert_true(bw_page_at("/watch", &page));
    assert_true(bw_page_at("/main.js", &page));
    assert_true(page.len > 1000 && strcmp(page.type, "text/javascript; charset=utf-8") == 0);
    static const char *const none[] = {"",        "/..",      "/main.js/",
                                       "main.js", "/MAIN.js", "/main.js%00"};
    for (size_t i = 0; i < sizeof none / sizeof none[0]; i++) {
        assert_false(bw_page_at(none[i], &page));
    }
}

/* What a screen gets before it is paired: to add one here is to give it away. */
static void test_open_pages(void **state) {
    (void)state;
    static const char *const all[] = {"/index.html",  "/style.css",  "/main.js",   "/wire.js",
                                      "/parts.js",    "/ask.js",     "/keypad.js", "/joint.js",
                                      "/gauge.js",    "/verdict.js", "/panels.js", "/sound.js",
                                      "/settings.js", "/icon.svg",   "/pair.html", "/pair.js"};
    static const char *const open[] = {"/style.css", "/icon.svg", "/pair.html", "/pair.js"};
    size_t n = 0;
    bw_page page;
    for (size_t i = 0; i < sizeof all / sizeof all[0]; i++) {
        assert_true(bw_page_at(all[i], &page));
        n += page.open ? 1 : 0;
    }
    assert_int_equal(n, sizeof open / sizeof open[0]);
    for (size_t i = 0; i < n; i++) {
        assert_true(bw_page_at(open[i], &page) && page.open);
    }
}

static void test_where(void **state) {
    (void)state;
    bw_display_where where;
    bw_err err = {0};
    assert_int_equal(bw_display_where_read("localhost:8080", false, &where, &err), BW_OK);
    assert_string_equal(where.address, "127.0.0.1");
    assert_int_equal(where.port, 8080);
    assert_int_equal(bw_display_where_read("[::1]:1", false, &where, &err), BW_OK);
    assert_string_equal(where.address, "::1");
    static const char *const wrong[] = {"",
                                        "8080",
                                        ":8080",
                                        "127.0.0.1:",
                                        "127.0.0.1:0",
                                        "127.0.0.1:65536",
                                        "127.0.0.1:80.5",
                                        "127.0.0.1:x"};
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        assert_int_equal(bw_display_where_read(wrong[i], false, &where, &err), BW_E_ARG);
        assert_non_null(strstr(err.text, "127.0.0.1:8080"));
    }
    assert_int_equal(bw_display_where_read("192.0.2.7:8080", false, &where, &err), BW_E_ARG);
    assert_non_null(strstr(err.text, "--display-network"));
}

static void test_network(void **state) {
    (void)state;
    static const char *const right[][2] = {
        {"192.0.2.7:8443", "192.0.2.7"},
        {"[2001:DB8:0:0::7]:8443", "2001:db8::7"}, /* as a browser writes it */
        {"127.0.0.1:8443", "127.0.0.1"},
        {"localhost:8443", "127.0.0.1"},
    };
    static const char *const wrong[] = {"0.0.0.0:8443",     "[::]:8443",      "[0::0]:8443",
                                        "bench.test:8443",  "192.0.2:8443",   "[fe80::1%lo]:8443",
                                        "192.0.2.256:8443", "[127.0.0.1]:1x", " 192.0.2.7:8443"};
    bw_display_where where;
    bw_err err = {0};
    for (size_t i = 0; i < sizeof right / sizeof right[0]; i++) {
        assert_int_equal(bw_display_where_read(right[i][0], true, &where, &err), BW_OK);
        assert_string_equal(where.address, right[i][1]);
    }
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        assert_int_equal(bw_display_where_read(wrong[i], true, &where, &err), BW_E_ARG);
    }
    static const char *const lookalike[] = {"127.evil:8080", "127.0.0.1.evil:8080", "127.1:8080"};
    for (size_t i = 0; i < sizeof lookalike / sizeof lookalike[0]; i++) {
        assert_int_equal(bw_display_where_read(lookalike[i], false, &where, &err), BW_E_ARG);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_own_page),      cmocka_unit_test(test_names),
        cmocka_unit_test(test_state_changes), cmocka_unit_test(test_other_addresses),
        cmocka_unit_test(test_pages),         cmocka_unit_test(test_where),
        cmocka_unit_test(test_usual_port),    cmocka_unit_test(test_network),
        cmocka_unit_test(test_open_pages),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
