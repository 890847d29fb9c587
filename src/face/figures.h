/* figures.h - figures as people read them: the manual's unit, and the other one beside it.
 *
 * Room: face.  All functions write into the caller's buffer and return it. */
#ifndef BW_FACE_FIGURES_H
#define BW_FACE_FIGURES_H

#include "base/text.h"
#include "sequence/plan.h"

enum { BW_FIGURE_MAX = 96 };

/* "60.0 N·m (44.3 lbf·ft)": as written, and in the other torque unit.  An angle stands alone. */
void bw_figure_add(bw_text *text, bw_quantity figure);

/* "60.0 N·m" as written alone; "44.3 lbf·ft" alone: false, and nothing, where there is no other. */
void bw_figure_own_add(bw_text *text, bw_quantity figure);
bool bw_figure_other_add(bw_text *text, bw_quantity figure);

/* "57.0 to 63.0 N·m (42.0 to 46.5 lbf·ft)". */
void bw_limits_add(bw_text *text, bw_quantity low, bw_quantity high);

/* What a stage asks for, in a line to be read aloud: "60.0 N·m (44.3 lbf·ft), limits 57.0 to
 * 63.0 N·m (...)", "back off by 90°, limits 75 to 105°", "loosen fully". */
void bw_target_add(bw_text *text, const bw_plan_stage *stage);

/* "Place 3, 3 left"; the label is left out where it is the number. */
void bw_place_add(bw_text *text, const bw_group *group, size_t place);

/* A measured torque in `unit`. */
void bw_torque_add(bw_text *text, double torque_Nm, bw_unit unit);

/* A length or other value in the unit that the builder reads, and the other one (mm and thou). */
void bw_value_add(bw_text *text, double base_value, bw_unit unit, int decimals);

/* The same beside its limits: with as many digits as it takes to be seen on its side of them. */
void bw_value_beside_add(bw_text *text, double base_value, double low, double high, bw_unit unit,
                         int decimals);

/* Limits of a derived value; nothing where it has none. */
void bw_value_limits_add(bw_text *text, double low, double high, bw_unit unit, int decimals);

#endif
