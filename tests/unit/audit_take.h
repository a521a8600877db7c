/* A take whose states are written by hand, for the tests of audits. */
#ifndef FL_AUDIT_TAKE_H
#define FL_AUDIT_TAKE_H

#include <stdlib.h>
#include <string.h>

#include "study/take/session.h"

/* 100 frames a second; base rates such that the longer period is 1/26 s, 3.85 frames. */
enum { AUDIT_HZ = 100 };

struct audit_stretch {
    double end_s;
    enum fl_state state;
};

/* Stretches follow each other from 0 on; speed of the camera throughout, deg/s; NaN: not known. */
static inline struct fl_take *audit_take(const char *id, const struct audit_stretch *v, size_t n,
                                         double speed)
{
    struct fl_take *t = fl_take_new();
    t->spec.id = id;
    t->spec.game = "Glass Canyon";
    t->spec.condition = "default";
    t->duration_s = v[n - 1].end_s;
    t->frames = lrint(AUDIT_HZ * t->duration_s);
    t->capture_rate_hz = AUDIT_HZ;
    t->constant_rate = true;
    t->time_s = FL_ARENA(t->arena, double, (size_t)t->frames);
    t->states.base_rate_on_hz = 52;
    t->states.base_rate_off_hz = 26;
    t->states.span = FL_NEW(struct fl_state_span, n);
    t->states.n_spans = n;
    for (size_t i = 0; i < n; i++)
        t->states.span[i] = (struct fl_state_span){.start_s = i ? v[i - 1].end_s : 0,
                                                   .end_s = v[i].end_s,
                                                   .state = v[i].state,
                                                   .confidence = 1};
    if (fl_known(speed))
        t->quantity[FL_CAMERA_SPEED] = FL_ARENA(t->arena, float, (size_t)t->frames);
    for (long f = 0; f < t->frames; f++) {
        t->time_s[f] = (double)f / AUDIT_HZ;
        if (fl_known(speed))
            t->quantity[FL_CAMERA_SPEED][f] = (float)speed;
    }
    return t;
}

#endif
