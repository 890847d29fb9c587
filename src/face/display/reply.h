/* reply.h - the bench display's short answers: JSON read, JSON or a refusal in words sent.
 *
 * Room: face, this folder. */
#ifndef BW_FACE_DISPLAY_REPLY_H
#define BW_FACE_DISPLAY_REPLY_H

#include "face/display/http.h"

#include <jansson.h>

enum { BW_REPLY_UNPAIRED = 401 }; /* a status */

/* json: borrowed until the answer is sent. */
void bw_reply_json(bw_http_answer *answer, unsigned status, const char *json);

/* With the status, and its sentence where it has one. */
void bw_reply_refuse(bw_http_answer *answer, unsigned status);

/* The body, where it is an object of exactly these texts; NULL otherwise.  Owned by the caller. */
json_t *bw_reply_read(const bw_http_request *request, const char *const *name, size_t n);

/* A text of what bw_reply_read gave. */
const char *bw_reply_text(const json_t *object, const char *name);

#endif
