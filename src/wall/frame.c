/* frame.c - frames as the worker reads and writes them.  See worker.h.
 *
 * Blocking, on one descriptor: the worker has nothing else to do, and the host keeps the time. */
#include "wall/worker.h"

#include "wall/frame_int.h"

#include <errno.h>
#include <unistd.h>

static bw_status read_all(uint8_t *out, size_t n, bw_err *err) {
    for (size_t got = 0; got < n;) {
        ssize_t part = read(BW_WORKER_FD, out + got, n - got);
        if (part > 0) {
            got += (size_t)part;
        } else if (part == 0 || errno != EINTR) {
            return bw_fail(err, BW_E_IO, "the host is gone");
        }
    }
    return BW_OK;
}

static bw_status write_all(const uint8_t *data, size_t n, bw_err *err) {
    for (size_t done = 0; done < n;) {
        ssize_t part = write(BW_WORKER_FD, data + done, n - done);
        if (part >= 0) {
            done += (size_t)part;
        } else if (errno != EINTR) {
            return bw_fail(err, BW_E_IO, "the host is gone");
        }
    }
    return BW_OK;
}

bw_status bw_frame_read(uint8_t *buffer, size_t size, uint8_t *type, size_t *len, bw_err *err) {
    uint8_t head[BW_FRAME_HEAD];
    bw_status rc = read_all(head, sizeof head, err);
    if (rc != BW_OK) {
        return rc;
    }
    uint32_t announced = bw_frame_announced(head);
    if (announced == 0 || announced - 1 > size) {
        return bw_fail(err, BW_E_LIMIT, "a frame of %u bytes does not fit", (unsigned)announced);
    }
    rc = read_all(buffer, announced - 1, err);
    if (rc == BW_OK) {
        *type = head[4];
        *len = announced - 1;
    }
    return rc;
}

bw_status bw_frame_write(uint8_t type, const void *data, size_t len, bw_err *err) {
    if (len > BW_FRAME_BYTES_MAX) {
        return bw_fail(err, BW_E_LIMIT, "a frame has at most %d bytes", BW_FRAME_BYTES_MAX);
    }
    uint8_t head[BW_FRAME_HEAD];
    bw_frame_put_head(head, type, len);
    bw_status rc = write_all(head, sizeof head, err);
    return rc == BW_OK ? write_all(data, len, err) : rc;
}
