/* Invented measured takes for tests of what comes after measuring: no footage, no maths room.
 * Flicks have log-uniform peaks; each trips by a logistic law in one chosen quantity. */
#ifndef FL_FAKE_TAKE_H
#define FL_FAKE_TAKE_H

#include <stdint.h>

#include "study/take/session.h"

struct fake_settings {
    const char *id, *game, *condition; /* text must outlive the take */
    double counts_per_inch, degrees_per_count;
    double v50_deg_s;       /* camera speed of an even chance */
    double slope;           /* of the logit, per octave */
    double take_sd_octaves; /* how far this take's own V50 strays, standard deviation */
    int flicks;
    double capture_hz;       /* 0: 120 */
    double slowest, fastest; /* peaks, deg/s; 0: 40 and 1200 */
    bool control;            /* synthesis disabled */
    bool camera_only;        /* no quantity but camera speed */
    bool flicks_only;        /* no frames, states or lapses: fast, for simulations */
    uint64_t seed;
};

/* Every field that the writers print is set. One flick each 1.5 s, 0.3 s long. */
struct fl_take *fake_take(const struct fake_settings *s);
/* 2 games × 800 and 1600 counts per inch × 2 takes, and a control of the first game; the second
 * game is the hair trigger. Not yet studied (fl_session_study). */
struct fl_session *fake_session(void);

#endif
