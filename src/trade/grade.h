/* grade.h - property classes and grades of fasteners.
 *
 * Room: trade (pure).  Stresses in MPa.  A fastener's marking says its class; a fastener maker's
 * own figures go first. */
#ifndef BW_TRADE_GRADE_H
#define BW_TRADE_GRADE_H

#include "base/status.h"
#include "trade/thread.h"

#include <stddef.h>

typedef struct bw_grade {
    const char *name;      /* "8.8", "grade 5" */
    double over_mm, to_mm; /* nominal diameters: above over_mm, up to to_mm */
    double proof_MPa;      /* Sp: no permanent set below it */
    double yield_MPa;      /* Rp0.2 or lower yield, least */
    double tensile_MPa;    /* Rm, least */
    const char *source;
} bw_grade;

/* Static rows; NULL behind the last.  A class whose figures depend on diameter has two rows. */
const bw_grade *bw_grade_at(size_t index);

/* The row for a nominal diameter.  BW_E_DATA with the known names where there is none. */
BW_MUST_USE bw_status bw_grade_find(const char *name, double d_mm, const bw_grade **out,
                                    bw_err *err);

#endif
