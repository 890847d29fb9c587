/* ed25519.c - see ed25519.h.  With hash.c and certificate.c the only file that calls the signing
 * library. */
#include "record/ed25519.h"

#include <limits.h>
#include <openssl/bio.h>
#include <openssl/crypto.h>
#include <openssl/err.h>
#include <openssl/evp.h>
#include <openssl/pem.h>
#include <openssl/pkcs12.h>
#include <openssl/x509.h>
#include <stdlib.h>
#include <string.h>

struct bw_ed25519 {
    EVP_PKEY *pkey;
};

static bw_status library_failed(bw_err *err) {
    ERR_clear_error();
    return bw_fail(err, BW_E_MEM, "the signing library failed, probably out of memory");
}

/* Takes over pkey. */
static bw_status wrap(EVP_PKEY *pkey, bw_ed25519 **out, bw_err *err) {
    bw_ed25519 *key = calloc(1, sizeof *key);
    if (key == NULL) {
        EVP_PKEY_free(pkey);
        return library_failed(err);
    }
    key->pkey = pkey;
    *out = key;
    return BW_OK;
}

bw_status bw_ed25519_new(bw_ed25519 **out, bw_err *err) {
    EVP_PKEY *pkey = EVP_PKEY_Q_keygen(NULL, NULL, "ED25519");
    return pkey == NULL ? library_failed(err) : wrap(pkey, out, err);
}

void bw_ed25519_free(bw_ed25519 *key) {
    if (key != NULL) {
        EVP_PKEY_free(key->pkey);
        free(key);
    }
}

void bw_wipe(void *secret, size_t len) {
    OPENSSL_cleanse(secret, len);
}

/* The bytes of the first PEM block, if it has this label and no headers (an encrypted block of the
 * old kind has them).  NULL otherwise; freed by OPENSSL_clear_free(data, *data_len). */
static unsigned char *pem_block(const char *pem, size_t len, const char *label, long *data_len) {
    BIO *bio = len > INT_MAX ? NULL : BIO_new_mem_buf(pem, (int)len);
    char *name = NULL;
    char *header = NULL;
    unsigned char *data = NULL;
    bool read = bio != NULL && PEM_read_bio(bio, &name, &header, &data, data_len) == 1;
    bool fits = read && strcmp(name, label) == 0 && header[0] == '\0';
    if (read && !fits) {
        OPENSSL_clear_free(data, (size_t)*data_len);
        data = NULL;
    }
    OPENSSL_free(name);
    OPENSSL_free(header);
    BIO_free(bio);
    ERR_clear_error();
    return data;
}

static EVP_PKEY *private_from_der(const unsigned char *der, long len) {
    const unsigned char *at = der;
    PKCS8_PRIV_KEY_INFO *info = d2i_PKCS8_PRIV_KEY_INFO(NULL, &at, len);
    EVP_PKEY *pkey = info == NULL || at != der + len ? NULL : EVP_PKCS82PKEY(info);
    PKCS8_PRIV_KEY_INFO_free(info);
    ERR_clear_error();
    return pkey;
}

static EVP_PKEY *private_from_locked(const unsigned char *der, long len, const char *passphrase) {
    const unsigned char *at = der;
    X509_SIG *locked = d2i_X509_SIG(NULL, &at, len);
    PKCS8_PRIV_KEY_INFO *info = NULL;
    if (locked != NULL && at == der + len) {
        info = PKCS8_decrypt(locked, passphrase, (int)strlen(passphrase));
    }
    EVP_PKEY *pkey = info == NULL ? NULL : EVP_PKCS82PKEY(info);
    PKCS8_PRIV_KEY_INFO_free(info);
    X509_SIG_free(locked);
    ERR_clear_error();
    return pkey;
}

static bw_status read_locked(const char *pem, size_t len, const char *passphrase, EVP_PKEY **out,
                             bw_err *err) {
    long der_len = 0;
    unsigned char *der = pem_block(pem, len, "ENCRYPTED PRIVATE KEY", &der_len);
    if (der == NULL) {
        return BW_OK;
    }
    *out = passphrase == NULL ? NULL : private_from_locked(der, der_len, passphrase);
    OPENSSL_clear_free(der, (size_t)der_len);
    return passphrase == NULL ? bw_fail(err, BW_E_STATE,
                                        "the key is locked: its passphrase is "
                                        "needed")
           : *out == NULL     ? bw_fail(err, BW_E_ARG, "the key does not open with this passphrase")
                              : BW_OK;
}

bw_status bw_ed25519_read(const char *pem, size_t len, const char *passphrase, bw_ed25519 **out,
                          bw_err *err) {
    long der_len = 0;
    unsigned char *der = pem_block(pem, len, "PRIVATE KEY", &der_len);
    EVP_PKEY *pkey = der == NULL ? NULL : private_from_der(der, der_len);
    if (der != NULL) {
        OPENSSL_clear_free(der, (size_t)der_len);
    } else {
        bw_status status = read_locked(pem, len, passphrase, &pkey, err);
        if (status != BW_OK) {
            return status;
        }
    }
    if (pkey == NULL || EVP_PKEY_get_id(pkey) != EVP_PKEY_ED25519) {
        EVP_PKEY_free(pkey);
        return bw_fail(err, BW_E_DATA,
                       "an Ed25519 key in PKCS#8 PEM is needed (\"BEGIN PRIVATE KEY\" or \"BEGIN "
                       "ENCRYPTED PRIVATE KEY\")");
    }
    return wrap(pkey, out, err);
}

/* What the memory BIO holds, where the writer was content; *len may be NULL. */
static bool take_pem(BIO *bio, bool written, char *pem, size_t size, size_t *len) {
    char *data = NULL;
    long n = written ? BIO_get_mem_data(bio, &data) : 0;
    bool fits = n > 0 && (size_t)n < size;
    if (fits) {
        memcpy(pem, data, (size_t)n);
        pem[n] = '\0';
        *len = (size_t)n;
    }
    BIO_free(bio); /* a memory BIO wipes itself */
    return fits;
}

bw_status bw_ed25519_pem(const bw_ed25519 *key, const char *passphrase, char *pem, size_t *len,
                         bw_err *err) {
    BIO *bio = BIO_new(BIO_s_mem());
    const EVP_CIPHER *cipher = passphrase == NULL ? NULL : EVP_aes_256_cbc();
    bool written = bio != NULL &&
                   PEM_write_bio_PKCS8PrivateKey(bio, key->pkey, cipher, passphrase,
                                                 passphrase == NULL ? 0 : (int)strlen(passphrase),
                                                 NULL, NULL) == 1;
    return take_pem(bio, written, pem, BW_KEY_PEM_MAX, len) ? BW_OK : library_failed(err);
}

bw_status bw_ed25519_public_pem(const uint8_t *public_key, char *pem, bw_err *err) {
    EVP_PKEY *pkey = EVP_PKEY_new_raw_public_key(EVP_PKEY_ED25519, NULL, public_key,
                                                 BW_PUBLIC_KEY_BYTES);
    BIO *bio = BIO_new(BIO_s_mem());
    bool written = pkey != NULL && bio != NULL && PEM_write_bio_PUBKEY(bio, pkey) == 1;
    size_t len = 0;
    EVP_PKEY_free(pkey);
    return take_pem(bio, written, pem, BW_PUBLIC_PEM_MAX, &len) ? BW_OK : library_failed(err);
}

bw_status bw_ed25519_public(const bw_ed25519 *key, uint8_t *public_key, bw_err *err) {
    size_t len = BW_PUBLIC_KEY_BYTES;
    if (EVP_PKEY_get_raw_public_key(key->pkey, public_key, &len) != 1 ||
        len != BW_PUBLIC_KEY_BYTES) {
        return library_failed(err);
    }
    return BW_OK;
}

bw_status bw_ed25519_sign(const bw_ed25519 *key, const void *text, size_t len, uint8_t *signature,
                          bw_err *err) {
    EVP_MD_CTX *context = EVP_MD_CTX_new();
    size_t n = BW_SIGNATURE_BYTES;
    bool fine = context != NULL && EVP_DigestSignInit(context, NULL, NULL, NULL, key->pkey) == 1 &&
                EVP_DigestSign(context, signature, &n, text, len) == 1 && n == BW_SIGNATURE_BYTES;
    EVP_MD_CTX_free(context);
    return fine ? BW_OK : library_failed(err);
}

bw_status bw_ed25519_verify(const uint8_t *public_key, const void *text, size_t len,
                            const uint8_t *signature, bool *good, bw_err *err) {
    EVP_PKEY *pkey = EVP_PKEY_new_raw_public_key(EVP_PKEY_ED25519, NULL, public_key,
                                                 BW_PUBLIC_KEY_BYTES);
    EVP_MD_CTX *context = EVP_MD_CTX_new();
    bool ready = pkey != NULL && context != NULL &&
                 EVP_DigestVerifyInit(context, NULL, NULL, NULL, pkey) == 1;
    if (ready) {
        *good = EVP_DigestVerify(context, signature, BW_SIGNATURE_BYTES, text, len) == 1;
    }
    EVP_MD_CTX_free(context);
    EVP_PKEY_free(pkey);
    ERR_clear_error();
    return ready ? BW_OK : library_failed(err);
}

bw_status bw_ed25519_read_public(const char *pem, size_t len, uint8_t *public_key, bw_err *err) {
    long der_len = 0;
    unsigned char *der = pem_block(pem, len, "PUBLIC KEY", &der_len);
    const unsigned char *at = der;
    EVP_PKEY *pkey = der == NULL ? NULL : d2i_PUBKEY(NULL, &at, der_len);
    size_t n = BW_PUBLIC_KEY_BYTES;
    bool fine = pkey != NULL && at == der + der_len && EVP_PKEY_get_id(pkey) == EVP_PKEY_ED25519 &&
                EVP_PKEY_get_raw_public_key(pkey, public_key, &n) == 1;
    EVP_PKEY_free(pkey);
    OPENSSL_free(der);
    ERR_clear_error();
    return fine ? BW_OK
                : bw_fail(err, BW_E_DATA,
                          "an Ed25519 public key in PEM is needed (\"BEGIN PUBLIC KEY\")");
}
