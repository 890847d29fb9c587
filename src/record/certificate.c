/* certificate.c - see certificate.h. */
#include "record/certificate.h"

#include "base/text.h"
#include "record/files.h"

#include <errno.h>
#include <fcntl.h>
#include <openssl/bn.h>
#include <openssl/crypto.h>
#include <openssl/err.h>
#include <openssl/evp.h>
#include <openssl/pem.h>
#include <openssl/x509.h>
#include <openssl/x509v3.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

enum { SERIAL_BITS = 128, NAMES_BYTES = 200, HOST_MAX = 63, DAY_S = 86400 };

static bw_status library_failed(bw_err *err) {
    ERR_clear_error();
    return bw_fail(err, BW_E_MEM, "the certificate can't be made, probably for want of memory");
}

/* ---- text in and out ---- */

/* What the memory BIO holds, where the writer was content. */
static bool take_text(BIO *bio, bool written, char *out, size_t size) {
    char *data = NULL;
    long n = written ? BIO_get_mem_data(bio, &data) : 0;
    bool fits = n > 0 && (size_t)n < size;
    if (fits) {
        memcpy(out, data, (size_t)n);
        out[n] = '\0';
    }
    BIO_free(bio); /* a memory BIO wipes itself */
    return fits;
}

static bw_status write_key(EVP_PKEY *key, char *out, bw_err *err) {
    BIO *bio = BIO_new(BIO_s_secmem());
    bool written = bio != NULL &&
                   PEM_write_bio_PKCS8PrivateKey(bio, key, NULL, NULL, 0, NULL, NULL) == 1;
    return take_text(bio, written, out, BW_CERTIFICATE_KEY_MAX) ? BW_OK : library_failed(err);
}

static bw_status write_certificate(X509 *certificate, char *out, bw_err *err) {
    BIO *bio = BIO_new(BIO_s_mem());
    bool written = bio != NULL && PEM_write_bio_X509(bio, certificate) == 1;
    return take_text(bio, written, out, BW_CERTIFICATE_PEM_MAX) ? BW_OK : library_failed(err);
}

/* Nobody is asked for a passphrase. */
static int no_passphrase(char *out, int size, int writing, void *ctx) {
    (void)out;
    (void)size;
    (void)writing;
    (void)ctx;
    return -1;
}

/* A PEM file has both halves, and the library believes them: a damaged one would be found out by
 * the first browser only. */
static bool halves_fit(EVP_PKEY *key) {
    EVP_PKEY_CTX *context = EVP_PKEY_CTX_new(key, NULL);
    bool fit = context != NULL && EVP_PKEY_pairwise_check(context) == 1;
    EVP_PKEY_CTX_free(context);
    return fit;
}

static EVP_PKEY *parse_key(const char *pem) {
    BIO *bio = BIO_new_mem_buf(pem, -1);
    EVP_PKEY *key = bio != NULL ? PEM_read_bio_PrivateKey(bio, NULL, no_passphrase, NULL) : NULL;
    if (key != NULL && !halves_fit(key)) {
        EVP_PKEY_free(key);
        key = NULL;
    }
    BIO_free(bio);
    ERR_clear_error();
    return key;
}

static X509 *parse_certificate(const char *pem) {
    BIO *bio = BIO_new_mem_buf(pem, -1);
    X509 *certificate = bio != NULL ? PEM_read_bio_X509(bio, NULL, no_passphrase, NULL) : NULL;
    BIO_free(bio);
    ERR_clear_error();
    return certificate;
}

/* ---- one of our own ---- */

bool bw_host_name_ok(const char *text) {
    static const char takes[] = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-.";
    size_t len = strlen(text);
    return len > 0 && len <= HOST_MAX && strspn(text, takes) == len && text[0] != '-' &&
           text[0] != '.';
}

static bool add_extension(X509 *certificate, int what, const char *value) {
    X509_EXTENSION *extension = X509V3_EXT_conf_nid(NULL, NULL, what, value);
    bool added = extension != NULL && X509_add_ext(certificate, extension, -1) == 1;
    X509_EXTENSION_free(extension);
    return added;
}

static bool add_names(X509 *certificate, const char *address, const char *host) {
    char value[NAMES_BYTES];
    bw_text text = bw_text_on(value, sizeof value);
    bw_text_add(&text, "IP:%s", address);
    if (bw_host_name_ok(host)) {
        bw_text_add(&text, ",DNS:%s", host);
    }
    X509_NAME *name = X509_get_subject_name(certificate);
    const unsigned char *common = (const unsigned char *)"Boltwright bench display";
    return !text.cut &&
           X509_NAME_add_entry_by_txt(name, "CN", MBSTRING_UTF8, common, -1, -1, 0) == 1 &&
           X509_set_issuer_name(certificate, name) == 1 &&
           add_extension(certificate, NID_subject_alt_name, value);
}

static bool add_serial(X509 *certificate) {
    BIGNUM *number = BN_new();
    bool added = number != NULL &&
                 BN_rand(number, SERIAL_BITS, BN_RAND_TOP_ONE, BN_RAND_BOTTOM_ANY) == 1 &&
                 BN_to_ASN1_INTEGER(number, X509_get_serialNumber(certificate)) != NULL;
    BN_free(number);
    return added;
}

/* From yesterday on: clocks of tablets are behind now and then. */
static bool add_times(X509 *certificate, int64_t now_ms) {
    time_t now_s = (time_t)(now_ms / 1000);
    return X509_time_adj_ex(X509_getm_notBefore(certificate), -1, 0, &now_s) != NULL &&
           X509_time_adj_ex(X509_getm_notAfter(certificate), BW_CERTIFICATE_DAYS - 1, 0, &now_s) !=
               NULL;
}

static X509 *make_certificate(EVP_PKEY *key, const char *address, const char *host,
                              int64_t now_ms) {
    X509 *certificate = X509_new();
    bool made = certificate != NULL && X509_set_version(certificate, X509_VERSION_3) == 1 &&
                add_serial(certificate) && add_times(certificate, now_ms) &&
                X509_set_pubkey(certificate, key) == 1 && add_names(certificate, address, host) &&
                add_extension(certificate, NID_basic_constraints, "critical,CA:FALSE") &&
                add_extension(certificate, NID_key_usage, "critical,digitalSignature") &&
                add_extension(certificate, NID_ext_key_usage, "serverAuth") &&
                X509_sign(certificate, key, EVP_sha256()) != 0;
    if (!made) {
        X509_free(certificate);
        certificate = NULL;
    }
    return certificate;
}

static bw_status make_key_file(const char *path, char *pem, bw_err *err) {
    EVP_PKEY *key = EVP_PKEY_Q_keygen(NULL, NULL, "EC", "P-256");
    bw_status status = key == NULL ? library_failed(err) : write_key(key, pem, err);
    EVP_PKEY_free(key);
    return status == BW_OK ? bw_files_write_new(path, pem, strlen(pem), err) : status;
}

static bw_status make_certificate_file(const char *path, EVP_PKEY *key, const char *address,
                                       const char *host, int64_t now_ms, char *pem, bw_err *err) {
    X509 *certificate = make_certificate(key, address, host, now_ms);
    bw_status status = certificate == NULL ? library_failed(err)
                                           : write_certificate(certificate, pem, err);
    X509_free(certificate);
    return status == BW_OK ? bw_files_write_new(path, pem, strlen(pem), err) : status;
}

/* ---- any ---- */

static bw_status set_fingerprint(X509 *certificate, char *out, bw_err *err) {
    uint8_t digest[EVP_MAX_MD_SIZE];
    unsigned n = 0;
    if (X509_digest(certificate, EVP_sha256(), digest, &n) != 1) {
        return library_failed(err);
    }
    bw_text text = bw_text_on(out, BW_FINGERPRINT_MAX);
    for (unsigned i = 0; i < n; i++) {
        bw_text_add(&text, "%s%02X", i > 0 ? ":" : "", digest[i]);
    }
    return BW_OK;
}

/* Of the certificate in out, for the key: which is set there in one known form. */
static bw_status check_pair(EVP_PKEY *key, const char *address, int64_t now_ms, bw_certificate *out,
                            bw_err *err) {
    X509 *certificate = parse_certificate(out->certificate_pem);
    time_t now_s = (time_t)(now_ms / 1000);
    bw_status status = BW_OK;
    if (certificate == NULL) {
        status = bw_fail(err, BW_E_DATA, "no certificate in PEM (\"BEGIN CERTIFICATE\")");
    } else if (X509_check_private_key(certificate, key) != 1) {
        status = bw_fail(err, BW_E_DATA, "the certificate is not of this key");
    } else if (X509_cmp_time(X509_get0_notAfter(certificate), &now_s) != 1) {
        status = bw_fail(err, BW_E_DATA, "the certificate has expired");
    } else {
        out->names_address = X509_check_ip_asc(certificate, address, 0) == 1;
        status = set_fingerprint(certificate, out->fingerprint, err);
    }
    X509_free(certificate);
    ERR_clear_error();
    return status == BW_OK ? write_key(key, out->key_pem, err) : status;
}

bw_status bw_certificate_own(const char *home, const char *address, const char *host,
                             int64_t now_ms, bw_certificate *out, bw_err *err) {
    char certificate_path[BW_PATH_MAX];
    char key_path[BW_PATH_MAX];
    size_t len = 0;
    bw_status status = bw_files_path(home, "display-cert.pem", certificate_path, err);
    *out = (bw_certificate){0};
    status = status == BW_OK ? bw_files_path(home, "display-key.pem", key_path, err) : status;
    if (status != BW_OK) {
        return status;
    }
    status = bw_files_read_own(key_path, out->key_pem, sizeof out->key_pem, &len, err);
    if (status == BW_E_ABSENT) {
        status = make_key_file(key_path, out->key_pem, err);
    }
    EVP_PKEY *key = status == BW_OK ? parse_key(out->key_pem) : NULL;
    if (status == BW_OK && key == NULL) {
        status = bw_fail(err, BW_E_DATA, "no private key in PEM, or a damaged one");
    }
    if (status == BW_OK) {
        status = bw_files_read_own(certificate_path, out->certificate_pem,
                                   sizeof out->certificate_pem, &len, err);
    }
    if (key != NULL && status == BW_E_ABSENT) {
        status = make_certificate_file(certificate_path, key, address, host, now_ms,
                                       out->certificate_pem, err);
    }
    status = status == BW_OK ? check_pair(key, address, now_ms, out, err) : status;
    EVP_PKEY_free(key);
    if (status == BW_E_DATA) {
        (void)bw_fail_in(err, status, certificate_path);
        (void)bw_fail_in(err, status,
                         "remove display-cert.pem and display-key.pem, and new ones "
                         "are made");
    }
    return status;
}

/* Links are followed: a renewed certificate is often behind one. */
static bw_status read_given(const char *path, bool secret, char *out, size_t size, bw_err *err) {
    struct stat found;
    FILE *in = fopen(path, "re");
    if (in == NULL) {
        return bw_fail(err, BW_E_ARG, "%s can't be read: %s", path, strerror(errno));
    }
    size_t n = fread(out, 1, size - 1, in);
    bool whole = ferror(in) == 0 && n < size - 1 && memchr(out, '\0', n) == NULL;
    bool closed = fstat(fileno(in), &found) == 0 && (!secret || (found.st_mode & S_IRWXO) == 0);
    (void)fclose(in);
    out[n] = '\0';
    return !closed ? bw_fail(err, BW_E_ARG, "%s is open to everybody: chmod o-rwx it", path)
           : whole ? BW_OK
                   : bw_fail(err, BW_E_ARG, "%s is no PEM file", path);
}

bw_status bw_certificate_read(const char *certificate_path, const char *key_path,
                              const char *address, int64_t now_ms, bw_certificate *out,
                              bw_err *err) {
    *out = (bw_certificate){0};
    bw_status status = read_given(certificate_path, false, out->certificate_pem,
                                  sizeof out->certificate_pem, err);
    if (status == BW_OK) {
        status = read_given(key_path, true, out->key_pem, sizeof out->key_pem, err);
    }
    if (status != BW_OK) {
        return status;
    }
    EVP_PKEY *key = parse_key(out->key_pem);
    if (key == NULL) {
        return bw_fail(err, BW_E_ARG,
                       "%s: a whole private key in PEM without a passphrase is needed "
                       "(\"BEGIN PRIVATE KEY\")",
                       key_path);
    }
    status = check_pair(key, address, now_ms, out, err);
    EVP_PKEY_free(key);
    if (status == BW_E_DATA) {
        status = BW_E_ARG;
        if (err != NULL) {
            (void)bw_fail_in(err, status, certificate_path);
            err->code = status;
        }
    }
    return status;
}

void bw_certificate_wipe(bw_certificate *certificate) {
    OPENSSL_cleanse(certificate->key_pem, sizeof certificate->key_pem);
}
