/* bench_display.c - see bench_display.h. */
#include "command/bench_display.h"

#include "base/clock.h"
#include "base/text.h"
#include "command/command.h"

#include <ctype.h>
#include <string.h>
#include <unistd.h>

enum { HOST_BYTES = 64, PLACE_BYTES = BW_DISPLAY_ADDRESS_MAX + 24 };

static bw_status check_options(const bw_bench_display *o, bw_err *err) {
    bool files = o->certificate != NULL || o->key != NULL;
    if (o->network && o->where == NULL) {
        return bw_fail(err, BW_E_ARG, "--display-network needs --display ADDRESS:PORT");
    }
    if (files && !o->network) {
        return bw_fail(err, BW_E_ARG, "--display-cert and --display-key go with --display-network");
    }
    return files && (o->certificate == NULL || o->key == NULL)
               ? bw_fail(err, BW_E_ARG, "--display-cert and --display-key go together")
               : BW_OK;
}

bw_status bw_bench_display_read(const bw_bench_display *o, bw_bench_display_ready *out,
                                bw_err *err) {
    bw_status status = check_options(o, err);
    if (status == BW_OK && o->where != NULL) {
        status = bw_display_where_read(o->where, o->network, &out->where, err);
    }
    return status == BW_OK && o->certificate != NULL
               ? bw_certificate_read(o->certificate, o->key, out->where.address, bw_clock_wall_ms(),
                                     &out->certificate, err)
               : status;
}

/* "" where this machine has no name that a browser could write. */
static void own_host(char *out) {
    if (gethostname(out, HOST_BYTES) != 0) {
        out[0] = '\0';
    }
    out[HOST_BYTES - 1] = '\0';
    for (char *at = out; *at != '\0'; at++) {
        *at = (char)tolower((unsigned char)*at);
    }
    if (!bw_host_name_ok(out)) {
        out[0] = '\0';
    }
}

/* Standard error, so that a script's lines stay whole. */
static void tell_where(const bw_bench_display *o, const bw_bench_display_ready *ready) {
    bool six = strchr(ready->where.address, ':') != NULL;
    char place[PLACE_BYTES];
    bw_text text = bw_text_on(place, sizeof place);
    bw_text_add(&text, "%s://%s%s%s:%u/", o->network ? "https" : "http", six ? "[" : "",
                ready->where.address, six ? "]" : "", ready->where.port);
    bw_complain("the display is at %s, to look on at %swatch", place, place);
}

static void tell_certificate(const bw_bench_display_ready *ready) {
    bw_complain("the SHA-256 of its certificate, to compare with what a browser shows: %s",
                ready->certificate.fingerprint);
    if (!ready->certificate.names_address) {
        bw_complain("that certificate is not made out to %s: browsers will say so",
                    ready->where.address);
    }
}

static void tell(void *ctx, const char *line) {
    (void)ctx;
    bw_complain("%s", line);
}

static bw_status serve_network(const bw_bench_display *o, const char *home,
                               bw_bench_display_ready *ready, bw_display *display, bw_turn *turn,
                               bw_err *err) {
    char host[HOST_BYTES];
    bw_certificate *certificate = &ready->certificate;
    own_host(host);
    bw_status status = o->certificate != NULL
                           ? BW_OK
                           : bw_certificate_own(home, ready->where.address, host,
                                                bw_clock_wall_ms(), certificate, err);
    const bw_display_network network = {.certificate_pem = certificate->certificate_pem,
                                        .key_pem = certificate->key_pem,
                                        .host = host,
                                        .tell = tell};
    status = status == BW_OK ? bw_display_serve(display, turn, &ready->where, &network, err)
                             : status;
    bw_certificate_wipe(certificate);
    return status;
}

bw_status bw_bench_display_serve(const bw_bench_display *o, const char *home,
                                 bw_bench_display_ready *ready, bw_display *display, bw_turn *turn,
                                 bw_err *err) {
    bw_status status = o->network ? serve_network(o, home, ready, display, turn, err)
                                  : bw_display_serve(display, turn, &ready->where, NULL, err);
    if (status == BW_OK) {
        tell_where(o, ready);
    }
    if (status == BW_OK && o->network) {
        tell_certificate(ready);
    }
    return status;
}
