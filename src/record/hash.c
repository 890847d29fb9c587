/* hash.c - see hash.h. */
#include "record/hash.h"

#include <errno.h>
#include <fcntl.h>
#include <openssl/evp.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

struct bw_hasher {
    EVP_MD *sha256;
    EVP_MD_CTX *context;
};

bw_hasher *bw_hasher_new(void) {
    bw_hasher *hasher = calloc(1, sizeof *hasher);
    if (hasher == NULL) {
        return NULL;
    }
    hasher->sha256 = EVP_MD_fetch(NULL, "SHA256", NULL);
    hasher->context = EVP_MD_CTX_new();
    if (hasher->sha256 == NULL || hasher->context == NULL) {
        bw_hasher_free(hasher);
        return NULL;
    }
    return hasher;
}

void bw_hasher_free(bw_hasher *hasher) {
    if (hasher != NULL) {
        EVP_MD_CTX_free(hasher->context);
        EVP_MD_free(hasher->sha256);
        free(hasher);
    }
}

bw_status bw_hasher_sum(bw_hasher *hasher, const bw_piece *piece, size_t n, bw_hash *out) {
    bool fine = EVP_DigestInit_ex2(hasher->context, hasher->sha256, NULL) == 1;
    for (size_t i = 0; fine && i < n; i++) {
        fine = EVP_DigestUpdate(hasher->context, piece[i].data, piece[i].len) == 1;
    }
    unsigned len = 0;
    bw_hash hash;
    fine = fine && EVP_DigestFinal_ex(hasher->context, hash.byte, &len) == 1;
    if (!fine || len != BW_HASH_BYTES) {
        return BW_E_BUG;
    }
    *out = hash;
    return BW_OK;
}

/* RFC 6962 section 2.1: the first byte keeps a leaf from passing for a node. */
bw_status bw_hasher_leaf(bw_hasher *hasher, const void *data, size_t len, bw_hash *out) {
    const bw_piece piece[] = {{"\x00", 1}, {data, len}};
    return bw_hasher_sum(hasher, piece, 2, out);
}

bw_status bw_hasher_node(bw_hasher *hasher, const bw_hash *left, const bw_hash *right,
                         bw_hash *out) {
    const bw_piece piece[] = {
        {"\x01", 1}, {left->byte, BW_HASH_BYTES}, {right->byte, BW_HASH_BYTES}};
    return bw_hasher_sum(hasher, piece, 3, out);
}

static bw_status hash_bytes(bw_hasher *hasher, int fd, const char *path, bw_hash *out,
                            bw_err *err) {
    char bytes[1 << 16];
    ssize_t n = 1;
    unsigned len = 0;
    bool fine = EVP_DigestInit_ex2(hasher->context, hasher->sha256, NULL) == 1;
    while (fine && n != 0) {
        n = read(fd, bytes, sizeof bytes);
        if (n < 0 && errno != EINTR) {
            return bw_fail(err, BW_E_IO, "%s cannot be read: %s", path, strerror(errno));
        }
        fine = n <= 0 || EVP_DigestUpdate(hasher->context, bytes, (size_t)n) == 1;
    }
    fine = fine && EVP_DigestFinal_ex(hasher->context, out->byte, &len) == 1;
    return fine ? BW_OK : bw_fail(err, BW_E_BUG, "cannot compute a hash");
}

bw_status bw_sha256_file(const char *path, uint64_t most, bw_hash *out, bw_err *err) {
    struct stat found;
    bw_hash hash = {0};
    /* O_NONBLOCK: a named pipe in its place must not hold us up. */
    int fd = open(path, O_RDONLY | O_NONBLOCK | O_CLOEXEC);
    if (fd < 0 || fstat(fd, &found) != 0) {
        bw_status why = errno == ENOENT ? BW_E_ABSENT : BW_E_IO;
        (void)bw_fail(err, why, "%s cannot be read: %s", path, strerror(errno));
        if (fd >= 0) {
            (void)close(fd);
        }
        return why;
    }
    bw_hasher *hasher = bw_hasher_new();
    bw_status status = hasher == NULL ? bw_fail(err, BW_E_MEM, "no memory for a hash")
                       : !S_ISREG(found.st_mode)
                           ? bw_fail(err, BW_E_IO, "%s is not a plain file", path)
                       : (uint64_t)found.st_size > most
                           ? bw_fail(err, BW_E_LIMIT, "%s is too large", path)
                           : hash_bytes(hasher, fd, path, &hash, err);
    bw_hasher_free(hasher);
    (void)close(fd);
    if (status == BW_OK) {
        *out = hash;
    }
    return status;
}
