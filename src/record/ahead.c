/* ahead.c - see ahead.h.
 *
 * Two batches take turns: of one the caller takes rows, of the other the thread makes leaves.  Who
 * has which is settled under the lock; nobody looks into a batch that the other one has. */
#include "record/ahead.h"

#include <pthread.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>

enum { ROWS = 1024, BATCH_BYTES = 1 << 20 };

typedef struct batch {
    bw_row row[ROWS];
    size_t at[ROWS]; /* where its data begins in bytes */
    bw_hash leaf[ROWS];
    size_t n;
    char *bytes;
    size_t used, room;
    bool last;        /* no row comes behind it */
    bw_status status; /* of reading on behind its rows, where it is the last; else of hashing */
    bw_err err;
} batch;

struct bw_ahead {
    bw_rows rows;
    batch batch[2];
    size_t taken; /* which of the two the caller has */
    size_t next;  /* row of it */
    bw_hasher *hasher;
    bool threaded; /* false: there is no thread, the caller hashes */
    pthread_t thread;
    pthread_mutex_t lock;
    pthread_cond_t changed;
    batch *work; /* NULL: the thread has nothing to do */
    bool stop;
};

/* ---- the thread ---- */

static void hash_batch(bw_hasher *hasher, batch *b) {
    for (size_t i = 0; i < b->n; i++) {
        if (b->row[i].readable &&
            bw_hasher_leaf(hasher, b->bytes + b->at[i], b->row[i].len, &b->leaf[i]) != BW_OK) {
            b->n = i;
            b->last = true;
            b->status = bw_fail(&b->err, BW_E_BUG, "cannot compute a hash");
        }
    }
}

static void *hash_on(void *ctx) {
    bw_ahead *ahead = ctx;
    (void)pthread_mutex_lock(&ahead->lock);
    while (!ahead->stop) {
        batch *work = ahead->work;
        if (work == NULL) {
            (void)pthread_cond_wait(&ahead->changed, &ahead->lock);
            continue;
        }
        (void)pthread_mutex_unlock(&ahead->lock);
        hash_batch(ahead->hasher, work);
        (void)pthread_mutex_lock(&ahead->lock);
        ahead->work = NULL;
        (void)pthread_cond_signal(&ahead->changed);
    }
    (void)pthread_mutex_unlock(&ahead->lock);
    return NULL;
}

/* Signals are for the thread that knows what to do with them. */
static bool start_thread(bw_ahead *ahead) {
    sigset_t all;
    sigset_t before;
    (void)sigfillset(&all);
    if (pthread_sigmask(SIG_SETMASK, &all, &before) != 0) {
        return false;
    }
    bool started = pthread_create(&ahead->thread, NULL, hash_on, ahead) == 0;
    (void)pthread_sigmask(SIG_SETMASK, &before, NULL);
    return started;
}

static void stop_thread(bw_ahead *ahead) {
    (void)pthread_mutex_lock(&ahead->lock);
    ahead->stop = true;
    (void)pthread_cond_signal(&ahead->changed);
    (void)pthread_mutex_unlock(&ahead->lock);
    (void)pthread_join(ahead->thread, NULL);
}

static void give(bw_ahead *ahead, batch *b) {
    if (!ahead->threaded) {
        hash_batch(ahead->hasher, b);
        return;
    }
    (void)pthread_mutex_lock(&ahead->lock);
    ahead->work = b;
    (void)pthread_cond_signal(&ahead->changed);
    (void)pthread_mutex_unlock(&ahead->lock);
}

static void wait_for_leaves(bw_ahead *ahead) {
    (void)pthread_mutex_lock(&ahead->lock);
    while (ahead->work != NULL) {
        (void)pthread_cond_wait(&ahead->changed, &ahead->lock);
    }
    (void)pthread_mutex_unlock(&ahead->lock);
}

/* ---- the caller ---- */

/* Bytes there are in any case: the first row of a file may have none. */
static bool make_room(batch *b, size_t more) {
    if (b->bytes != NULL && b->room - b->used >= more) {
        return true;
    }
    size_t room = b->used + more + BATCH_BYTES;
    char *moved = realloc(b->bytes, room);
    if (moved != NULL) {
        b->bytes = moved;
        b->room = room;
    }
    return moved != NULL;
}

static bw_status add_row(batch *b, const bw_row *row) {
    if (!make_room(b, row->len)) {
        return bw_fail(&b->err, BW_E_MEM, "no memory to read an entry");
    }
    b->row[b->n] = *row;
    b->at[b->n++] = b->used;
    if (row->readable) {
        memcpy(b->bytes + b->used, row->data, row->len);
        b->used += row->len;
    }
    return BW_OK;
}

static void fill(bw_ahead *ahead, batch *b) {
    bool got = true;
    b->n = 0;
    b->used = 0;
    b->status = BW_OK;
    while (b->status == BW_OK && got && b->n < ROWS && b->used < BATCH_BYTES) {
        bw_row row;
        b->status = bw_rows_next(&ahead->rows, &row, &got, &b->err);
        if (b->status == BW_OK && got) {
            b->status = add_row(b, &row);
        }
    }
    b->last = !got || b->status != BW_OK;
}

/* The batch whose leaves were made becomes the caller's, the other one is filled anew. */
static void turn(bw_ahead *ahead) {
    wait_for_leaves(ahead);
    batch *other = &ahead->batch[ahead->taken];
    ahead->taken = 1 - ahead->taken;
    ahead->next = 0;
    if (!ahead->batch[ahead->taken].last) {
        fill(ahead, other);
        give(ahead, other);
    }
}

bw_status bw_ahead_next(bw_ahead *ahead, bw_row *row, bw_hash *leaf, bool *got, bw_err *err) {
    if (ahead->next == ahead->batch[ahead->taken].n && !ahead->batch[ahead->taken].last) {
        turn(ahead);
    }
    const batch *b = &ahead->batch[ahead->taken];
    *got = ahead->next < b->n;
    if (!*got) {
        return b->status == BW_OK ? BW_OK : bw_fail(err, b->status, "%s", b->err.text);
    }
    *row = b->row[ahead->next];
    *leaf = b->leaf[ahead->next];
    row->data = row->readable ? b->bytes + b->at[ahead->next] : NULL;
    ahead->next++;
    return BW_OK;
}

bw_status bw_ahead_open(sqlite3 *db, int64_t first, int64_t last, bw_ahead **out, bw_err *err) {
    bw_ahead *ahead = calloc(1, sizeof *ahead);
    if (ahead == NULL || (ahead->hasher = bw_hasher_new()) == NULL) {
        free(ahead);
        return bw_fail(err, BW_E_MEM, "no memory to read the record");
    }
    bw_status status = bw_rows_open(db, first, last, &ahead->rows, err);
    (void)pthread_mutex_init(&ahead->lock, NULL);
    (void)pthread_cond_init(&ahead->changed, NULL);
    if (status != BW_OK) {
        bw_ahead_close(ahead);
        return status;
    }
    ahead->threaded = start_thread(ahead);
    fill(ahead, &ahead->batch[1]);
    give(ahead, &ahead->batch[1]);
    *out = ahead;
    return BW_OK;
}

void bw_ahead_close(bw_ahead *ahead) {
    if (ahead == NULL) {
        return;
    }
    if (ahead->threaded) {
        stop_thread(ahead);
    }
    (void)pthread_cond_destroy(&ahead->changed);
    (void)pthread_mutex_destroy(&ahead->lock);
    bw_rows_close(&ahead->rows);
    bw_hasher_free(ahead->hasher);
    free(ahead->batch[0].bytes);
    free(ahead->batch[1].bytes);
    free(ahead);
}
