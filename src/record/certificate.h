/* certificate.h - what the bench display shows to the shop's network: a certificate and its key.
 *
 * Room: record, because libcrypto is used in this room only.  The bench's own is made at first use
 * and stays: whoever compared its fingerprint once need not do so again.
 * Source: RFC 5280 (X.509), profile of a server: names in subjectAltName. */
#ifndef BW_RECORD_CERTIFICATE_H
#define BW_RECORD_CERTIFICATE_H

#include "base/status.h"

#include <stdbool.h>
#include <stdint.h>

enum {
    BW_CERTIFICATE_PEM_MAX = 32768,
    BW_CERTIFICATE_KEY_MAX = 8192,
    BW_FINGERPRINT_MAX = 96,
    BW_CERTIFICATE_DAYS = 820 /* common practice, no source: some browsers take no more than 825 */
};

typedef struct bw_certificate {
    char certificate_pem[BW_CERTIFICATE_PEM_MAX]; /* with the chain behind it, where it came so */
    char key_pem[BW_CERTIFICATE_KEY_MAX];         /* PKCS#8; secret */
    char fingerprint[BW_FINGERPRINT_MAX];         /* SHA-256, "AB:CD:...", as browsers show it */
    bool names_address;                           /* it is made out to the address that was given */
} bw_certificate;

/* home/display-cert.pem and home/display-key.pem: made (EC P-256, signed by itself, mode 0600,
 * BW_CERTIFICATE_DAYS) where they are missing.  address: literal; host: a host name, or "".
 * Only for who holds the lock of home.
 * BW_E_DATA where one of the files is damaged, the two do not belong together or it has expired. */
BW_MUST_USE bw_status bw_certificate_own(const char *home, const char *address, const char *host,
                                         int64_t now_ms, bw_certificate *out, bw_err *err);

/* Another one's, from PEM files; the key is not locked, and closed to strangers.
 * BW_E_ARG with one line where a file is not there or not right. */
BW_MUST_USE bw_status bw_certificate_read(const char *certificate_path, const char *key_path,
                                          const char *address, int64_t now_ms, bw_certificate *out,
                                          bw_err *err);

/* Of the key nothing is left. */
void bw_certificate_wipe(bw_certificate *certificate);

/* Whether text may stand for a host in a certificate: letters, digits, dash and point, to 63. */
bool bw_host_name_ok(const char *text);

#endif
