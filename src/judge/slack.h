/* slack.h - whether a fastener that is backed off has come loose.
 *
 * Room: judge (pure).  Torque and angle as the hand sees them: both rise while it backs off.  Loose
 * is where the torque is gone and the hand still turned on; a hand that lets go gives back the
 * wind-up. */
#ifndef BW_JUDGE_SLACK_H
#define BW_JUDGE_SLACK_H

#include "trade/trace.h"

#include <stdbool.h>

typedef struct bw_slack {
    double threshold_Nm;
    double peak_Nm; /* of the attempt */
    bw_sample last;
    bool gone; /* hardly any torque is left, and the hand may still be turning on */
    double gone_s, gone_deg;
    bool easy; /* between the threshold and a small share of the peak */
    double easy_deg, easy_Nm;
    bool loose;
    double loose_s;
} bw_slack;

/* peak_Nm: of the attempt's earlier pulls. */
void bw_slack_begin(bw_slack *slack, double threshold_Nm, double peak_Nm);

/* A sample without an angle is left out. */
void bw_slack_take(bw_slack *slack, const bw_sample *sample);

#endif
