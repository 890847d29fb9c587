/* view.h - what the bench display shows, as JSON: the facts of a prompt and of the job around it.
 *
 * Room: face, this folder. */
#ifndef BW_FACE_DISPLAY_VIEW_H
#define BW_FACE_DISPLAY_VIEW_H

#include "face/display/display.h"
#include "face/display/history.h"

#include <jansson.h>

enum { BW_VIEW_TEXT_MAX = 1600 };

/* The prompt; owned by the caller, NULL where memory is out. */
json_t *bw_view_prompt(const bw_prompt *prompt, const bw_session *session);

/* The job around it: build, people, what is open, what is half done, what is buried next. */
json_t *bw_view_job(const bw_display_setup *setup, const bw_prompt *prompt);

/* Which fasteners must be seen to again, as [{group, say, due}]. */
json_t *bw_view_dues(const bw_plan *plan, const bw_session *session);

/* A quantity in the unit that it is shown in, and in the other one. */
void bw_view_figure(json_t *object, const char *name, bw_quantity figure);

bw_quantity bw_view_in(double base_value, bw_unit unit, int decimals);

/* What is read at a READING prompt, where, and what was read before (reading.c). */
json_t *bw_view_reading(const bw_prompt *prompt, const bw_session *session);

#endif
