/* stage_form.h - what the stages of `tighten{...}` are written with: a target, limits, torques.
 *
 * Room: sequence, private to it.  All functions note what is wrong and answer false then. */
#ifndef BW_SEQUENCE_STAGE_FORM_H
#define BW_SEQUENCE_STAGE_FORM_H

#include "sequence/draft.h"
#include "sequence/fields.h"

#include <stdbool.h>

typedef struct bw_stage_form {
    bw_draft *draft;
    bw_fields form;
    bw_plan_stage *out;
    bw_dimension dimension; /* of the target and its limits */
    bw_written target;      /* once bw_stage_form_target has read it */
} bw_stage_form;

/* Always false. */
bool bw_stage_form_note(const bw_stage_form *form, bw_spot spot, const char *what);

/* The one quantity without a name, above zero. */
bool bw_stage_form_target(bw_stage_form *form);

/* `low` and `high`, or `within`, around the target; the limits in the base unit. */
bool bw_stage_form_limits(bw_stage_form *form, double *low, double *high);

/* `low` and `high` of a stage that has no target. */
bool bw_stage_form_ends(bw_stage_form *form, double *low, double *high);

/* A torque above zero; out and base are left alone where it is optional and not there. */
bool bw_stage_form_torque(const bw_stage_form *form, const char *field, bw_need need,
                          bw_quantity *out, double *base_Nm);

/* An angle above zero. */
bool bw_stage_form_turn(const bw_stage_form *form, const char *field, double *base_deg);

/* In the base unit, rounded so far that 30 less 5 per cent is 28.5 and no hair beside it. */
double bw_stage_form_base(bw_quantity quantity);

#endif
