/* gate.c - see gate.h. */
#include "face/display/gate.h"

#include "base/text.h"

#include <string.h>

bool bw_gate_is_loopback(const char *address) {
    return strncmp(address, "127.", 4) == 0 || strcmp(address, "::1") == 0;
}

/* A browser leaves the usual port out. */
void bw_gate_name(bw_gate *gate, const char *name, unsigned port) {
    bool six = strchr(name, ':') != NULL;
    if (gate->name_n == BW_GATE_NAMES_MAX) {
        return;
    }
    bw_text text = bw_text_on(gate->name[gate->name_n], BW_GATE_NAME_MAX);
    bw_text_add(&text, "%s%s%s", six ? "[" : "", name, six ? "]" : "");
    if (port != (gate->tls ? 443u : 80u)) {
        bw_text_add(&text, ":%u", port);
    }
    gate->name_n += text.cut ? 0 : 1;
}

bw_gate bw_gate_for(const char *address, unsigned port, bool tls) {
    bw_gate gate = {.tls = tls};
    bw_gate_name(&gate, address, port);
    if (bw_gate_is_loopback(address)) {
        bw_gate_name(&gate, "localhost", port);
    }
    return gate;
}

static bool is_ours(const bw_gate *gate, const char *host) {
    for (size_t i = 0; i < gate->name_n; i++) {
        if (strcmp(gate->name[i], host) == 0) {
            return true;
        }
    }
    return false;
}

/* The page that was served under this very name. */
static bool is_own_origin(const bw_gate *gate, const bw_http_request *r) {
    const char *scheme = gate->tls ? "https://" : "http://";
    return r->origin != NULL && strncmp(r->origin, scheme, strlen(scheme)) == 0 &&
           strcmp(r->origin + strlen(scheme), r->host) == 0;
}

/* "none": typed into the address line, or a bookmark. */
static bool comes_from_us(const bw_http_request *r, bool post) {
    const char *site = r->fetch_site;
    return site == NULL || strcmp(site, "same-origin") == 0 || (!post && strcmp(site, "none") == 0);
}

static bool is_json(const char *type) {
    static const char json[] = "application/json";
    return type != NULL && strncmp(type, json, sizeof json - 1) == 0 &&
           (type[sizeof json - 1] == '\0' ||
            strcmp(type + sizeof json - 1, "; charset=utf-8") == 0);
}

unsigned bw_gate_check(const bw_gate *gate, const bw_http_request *r, bool takes_post) {
    bool post = strcmp(r->method, "POST") == 0;
    bool get = strcmp(r->method, "GET") == 0;
    if (r->host_n != 1 || r->length_n > 1 || r->path[0] != '/') {
        return 400;
    }
    if (!is_ours(gate, r->host)) {
        return 421;
    }
    if (!comes_from_us(r, post) || (post && !is_own_origin(gate, r)) ||
        (r->origin != NULL && !is_own_origin(gate, r))) {
        return 403;
    }
    if (takes_post ? !post : !get) {
        return 405;
    }
    return post && !is_json(r->content_type) ? 415 : 0;
}
