/* gate.h - who may ask the bench display for what: the checks that come before any answer.
 *
 * Room: face.  Pure.  A page from elsewhere that is open in the same browser can reach this server,
 * under its own name too; so the name that it was called by, where the request comes from and what
 * form it has are held against the few that our own page uses. */
#ifndef BW_FACE_DISPLAY_GATE_H
#define BW_FACE_DISPLAY_GATE_H

#include "face/display/http.h"

enum { BW_GATE_NAME_MAX = 80, BW_GATE_NAMES_MAX = 3 };

typedef struct bw_gate {
    char name[BW_GATE_NAMES_MAX][BW_GATE_NAME_MAX]; /* "127.0.0.1:8080", "localhost:8080" */
    size_t name_n;
    bool tls;
} bw_gate;

/* address: literal.  One that is loopback is called localhost, too. */
bw_gate bw_gate_for(const char *address, unsigned port, bool tls);

/* One more name that it is called by: a host's, in lower case, or an address.  Beyond
 * BW_GATE_NAMES_MAX none is taken. */
void bw_gate_name(bw_gate *gate, const char *name, unsigned port);

/* True for 127.0.0.0/8 and ::1. */
bool bw_gate_is_loopback(const char *address);

/* 0: let in.  Else the status to refuse with: 400 where the request itself is odd, 421 for a name
 * that is not ours, 403 for another page's request, 405, 415.  takes_post: the path is one that is
 * posted to; any other is only read. */
unsigned bw_gate_check(const bw_gate *gate, const bw_http_request *request, bool takes_post);

#endif
