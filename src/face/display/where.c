/* where.c - the address that the bench display is served at, as a person writes it. */
#include "face/display/display.h"

#include "base/decimal.h"
#include "base/text.h"
#include "face/display/gate.h"

#include <arpa/inet.h>
#include <netinet/in.h>
#include <string.h>

typedef union literal {
    struct in_addr four;
    struct in6_addr six;
} literal;

/* Written as a browser writes it.  False: no address in figures. */
static bool set_plain(char *address, bool *every) {
    literal found;
    int family = strchr(address, ':') != NULL ? AF_INET6 : AF_INET;
    if (inet_pton(family, address, &found) != 1 ||
        inet_ntop(family, &found, address, BW_DISPLAY_ADDRESS_MAX) == NULL) {
        return false;
    }
    *every = strcmp(address, "0.0.0.0") == 0 || strcmp(address, "::") == 0;
    return true;
}

static bw_status check_reach(bw_display_where *where, bool network, bw_err *err) {
    char *address = where->address;
    bool every = false;
    bool plain = set_plain(address, &every);
    if (!network && !(plain && bw_gate_is_loopback(address))) {
        return bw_fail(err, BW_E_ARG,
                       "the display is served on this machine only: %s is not 127.0.0.1 or ::1 "
                       "(to open it to the shop's network: --display-network)",
                       address);
    }
    if (!plain) {
        return bw_fail(err, BW_E_ARG,
                       "the display's address is in figures, such as 192.168.1.20, not %s",
                       address);
    }
    return every ? bw_fail(err, BW_E_ARG,
                           "%s stands for every network of this machine; name the one address that "
                           "the display is to have",
                           address)
                 : BW_OK;
}

bw_status bw_display_where_read(const char *text, bool network, bw_display_where *out,
                                bw_err *err) {
    static const char right[] = "an address and a port, such as 127.0.0.1:8080 or [::1]:8080";
    const char *colon = strrchr(text, ':');
    bw_decimal port = {0};
    bool good = colon != NULL && colon > text &&
                bw_decimal_parse(colon + 1, strlen(colon + 1), &port, NULL) == BW_OK &&
                port.decimals <= 0 && port.value >= 1 && port.value <= 65535;
    size_t len = good ? (size_t)(colon - text) : 0;
    bool six = len > 2 && text[0] == '[' && text[len - 1] == ']';
    size_t skip = six ? 1 : 0;
    if (!good || len - 2 * skip >= BW_DISPLAY_ADDRESS_MAX) {
        return bw_fail(err, BW_E_ARG, "--display takes %s, not %s", right, text);
    }
    *out = (bw_display_where){.port = (unsigned)port.value};
    memcpy(out->address, text + skip, len - 2 * skip);
    if (strcmp(out->address, "localhost") == 0) {
        (void)bw_text_copy(out->address, sizeof out->address, "127.0.0.1");
    }
    return check_reach(out, network, err);
}
