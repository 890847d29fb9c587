/* calc_int.h - what the topics of the table of functions share; only calc*.c include it.
 *
 * Room: trade (pure).  A row's `eval` gets its arguments checked for presence, type and finiteness.
 * It puts its results into r as it likes: bw_calc_eval hands them out only where BW_OK came back.
 */
#ifndef BW_TRADE_CALC_INT_H
#define BW_TRADE_CALC_INT_H

#include "trade/calc.h"
#include "trade/check.h"
#include "trade/preload.h"
#include "trade/thread.h"

/* One table for each topic; a row with name NULL ends it. */
extern const bw_calc_function bw_calc_fastener[];
extern const bw_calc_function bw_calc_scatter[];
extern const bw_calc_function bw_calc_stretch[];
extern const bw_calc_function bw_calc_reading[];
extern const bw_calc_function bw_calc_engine[];
extern const bw_calc_function bw_calc_number[];
extern const bw_calc_function bw_calc_weight[];

#define BW_EVAL const bw_calc_value *a, bw_calc_result *r, size_t *n, bw_err *err

/* Rows of arguments: needed quantity, list, word; or ones that may be left out. */
#define BW_ARG(name, dim, says)                                                                    \
    { name, BW_CALC_QUANTITY, BW_DIM_##dim, false, says }
#define BW_ARG_LIST(name, dim, says)                                                               \
    { name, BW_CALC_LIST, BW_DIM_##dim, false, says }
#define BW_ARG_TEXT(name, says)                                                                    \
    { name, BW_CALC_TEXT, BW_DIM_NUMBER, false, says }
#define BW_OPT(name, dim, says)                                                                    \
    { name, BW_CALC_QUANTITY, BW_DIM_##dim, true, says }
#define BW_OPT_LIST(name, dim, says)                                                               \
    { name, BW_CALC_LIST, BW_DIM_##dim, true, says }
#define BW_OPT_TEXT(name, says)                                                                    \
    { name, BW_CALC_TEXT, BW_DIM_NUMBER, true, says }
#define BW_OPT_FLAG(name, says)                                                                    \
    { name, BW_CALC_FLAG, BW_DIM_NUMBER, true, says }
#define BW_ARG_END                                                                                 \
    { NULL, BW_CALC_QUANTITY, BW_DIM_NUMBER, false, NULL }

/* The first arguments of what deals with a thread: by name, or by d and pitch. */
#define BW_ARGS_THREAD                                                                             \
    BW_OPT_TEXT("thread", "M10x1.25, M10, 3/8-24 ...; else d and pitch"),                          \
        BW_OPT("d", LENGTH, "nominal diameter"), BW_OPT("pitch", LENGTH, "pitch")

/* Behind them, what friction needs. */
#define BW_ARGS_TIGHTENING                                                                         \
    BW_ARGS_THREAD, BW_ARG("friction_thread", NUMBER, "coefficient of friction in the thread"),    \
        BW_ARG("friction_head", NUMBER, "coefficient of friction under the head"),                 \
        BW_ARG("bearing_outer", LENGTH, "outer diameter of the ring on which the head bears"),     \
        BW_ARG("bearing_inner", LENGTH, "its inner diameter, the hole with its chamfer")

enum { BW_AFTER_THREAD = 3, BW_AFTER_TIGHTENING = 7 };

BW_MUST_USE bw_status bw_calc_thread(const bw_calc_value *a, bw_thread *out, bw_err *err);
BW_MUST_USE bw_status bw_calc_tightening(const bw_calc_value *a, bw_tightening *out, bw_err *err);

/* Where given its number, else `otherwise`. */
double bw_calc_or(const bw_calc_value *a, double otherwise);

/* Adds one result.  value in the base unit. */
void bw_put(bw_calc_result *r, size_t *n, const char *name, double value, bw_unit shown);
void bw_put_text(bw_calc_result *r, size_t *n, const char *name, const char *text);
void bw_put_flag(bw_calc_result *r, size_t *n, const char *name, bool flag);

/* BW_E_DATA unless both lists have as many values. */
BW_MUST_USE bw_status bw_calc_same_length(const char *one, const bw_calc_value *a,
                                          const char *other, const bw_calc_value *b, bw_err *err);

#endif
