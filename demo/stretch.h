/* Stretches of a take in which something is different: heavy scenes, aiming, cuts, flashes, fades.
 *
 * Times are those at which the hand is sampled; on screen all of it comes later by the delay. */
#ifndef STAGE_STRETCH_H
#define STAGE_STRETCH_H

#include "hand.h"

struct st_event {
    unsigned kind; /* ST_CUTS, ST_FLASHES or ST_FADES */
    struct fl_span span;
};

struct st_stretches {
    struct fl_span *heavy; /* half the base rate */
    size_t n_heavy, cap_heavy;
    struct fl_span *aim; /* zoomed in, ramps included */
    size_t n_aim, cap_aim;
    struct st_event *event;
    size_t n_event, cap_event;
};

void st_stretches_init(struct st_stretches *p, const struct st_scenario *s, const struct st_hand *h,
                       uint64_t seed);
void st_stretches_finish(struct st_stretches *p);

bool st_heavy_at(const struct st_stretches *p, double t);
/* Focal length at t, 1 = unzoomed. */
double st_zoom_at(const struct st_stretches *p, const struct st_scenario *s, double t);
/* How far cuts up to t have turned the view, degrees: no hand turns it, no motion shows it. */
double st_cut_deg(const struct st_stretches *p, double t);
/* Light of the picture at t: out = gain · in + lift · white. */
struct st_light {
    double gain, lift;
};
struct st_light st_light_at(const struct st_stretches *p, double t);

#endif
