/* slack.c - see slack.h. */
#include "judge/slack.h"

#include <math.h>
#include <string.h>

/* Turned on by so much without torque: more than a step of any wrench, above any drift.  A hand
 * that lets go goes the other way. */
static const double turned_on_deg = 1.5;
static const double given_back_deg = 0.5;

/* What a wrench may show at rest: two hundredths of the torque that it just measured, twice the
 * zero error of one that suits it; and no less than the least threshold of judge.c. */
static const double gone_share = 0.02;
static const double gone_least_Nm = 0.3;

/* Later than this the hand may have put the wrench on anew; its angle says nothing then. */
static const double still_turning_s = 0.5;

/* A locking feature keeps dragging when the preload is gone: a torque that is a small share of what
 * it took and does not fall any more while it is turned on.  Over so much turn the last fifth of
 * any metal joint is gone: those have their whole torque within 150 degrees. */
static const double dragging_share = 0.2;
static const double dragging_deg = 30.0;
static const double dragging_keeps = 0.5;

void bw_slack_begin(bw_slack *slack, double threshold_Nm, double peak_Nm) {
    memset(slack, 0, sizeof *slack);
    slack->threshold_Nm = threshold_Nm;
    slack->peak_Nm = peak_Nm;
}

static void is_loose(bw_slack *slack, const bw_sample *now) {
    if (!slack->loose) {
        slack->loose = true;
        slack->loose_s = now->time_s;
    }
}

static double crossing_deg(const bw_sample *a, const bw_sample *b, double torque_Nm) {
    double share = (a->torque_Nm - torque_Nm) / (a->torque_Nm - b->torque_Nm);
    return a->angle_deg + share * (b->angle_deg - a->angle_deg);
}

static void watch_gone(bw_slack *slack, const bw_sample *now) {
    double gone_Nm = fmax(gone_share * slack->peak_Nm, gone_least_Nm);
    if (now->torque_Nm >= gone_Nm) {
        slack->gone = false;
        return;
    }
    if (slack->last.torque_Nm >= gone_Nm) {
        slack->gone = true;
        slack->gone_s = now->time_s;
        slack->gone_deg = crossing_deg(&slack->last, now, gone_Nm);
    }
    double on_deg = now->angle_deg - slack->gone_deg;
    slack->gone = slack->gone && on_deg >= -given_back_deg &&
                  now->time_s - slack->gone_s <= still_turning_s;
    if (slack->gone && on_deg >= turned_on_deg) {
        is_loose(slack, now);
    }
}

static void watch_dragging(bw_slack *slack, const bw_sample *now) {
    bool easy = now->torque_Nm >= slack->threshold_Nm &&
                now->torque_Nm < dragging_share * slack->peak_Nm;
    bool gone_far = slack->easy && now->angle_deg - slack->easy_deg >= dragging_deg;
    if (easy && gone_far && now->torque_Nm >= dragging_keeps * slack->easy_Nm) {
        is_loose(slack, now);
    }
    if (!slack->easy || gone_far) {
        slack->easy_deg = now->angle_deg;
        slack->easy_Nm = now->torque_Nm;
    }
    slack->easy = easy;
}

void bw_slack_take(bw_slack *slack, const bw_sample *sample) {
    if (!sample->has_angle) {
        return;
    }
    slack->peak_Nm = fmax(slack->peak_Nm, sample->torque_Nm);
    watch_gone(slack, sample);
    watch_dragging(slack, sample);
    slack->last = *sample;
}
