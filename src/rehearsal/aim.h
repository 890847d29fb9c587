/* aim.h - where the hand wants to get in this pull: the room's own. */
#ifndef BW_REHEARSAL_AIM_H
#define BW_REHEARSAL_AIM_H

#include "rehearsal/hand.h"

/* Sets hand->aim and, for one that is tight already, the fastener in its grip.  Draws from the
 * hand's chance; grip and style are set before. */
void bw_aim_take(bw_hand *hand, const bw_hand_task *task);

/* The torque that the pull is about, for speeds and knocks. */
double bw_aim_scale_Nm(const bw_hand *hand, const bw_stage *stage);

#endif
