/* Made-up footage as trains of flips with a known state, and the rows that a perfect eye would see
 * of them. */
#ifndef FL_FLIP_TRAIN_H
#define FL_FLIP_TRAIN_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "state/evidence.h"
#include "signal/rows.h"
#include "state/renewal.h"

enum train_state { TRAIN_ON, TRAIN_OFF, TRAIN_REST };

/* From the end of the part before (or 0) to end_s. In a rest nothing moves; synthesis stays on. */
struct train_part {
    enum train_state state;
    double end_s;
    int frames; /* N from here on, if on; 0: the plan's */
};

struct train_plan {
    double on_hz, off_hz; /* base rates */
    int frames;           /* N with synthesis on; 0: 2 */
    double share;         /* of the rendered frame in a base period on, the others alike; 0: 1/N */
    double jitter;        /* sd of ln gap; 0: 3 % */
    double missed;        /* share of pairs without their synthesised frame */
    double slide;         /* by which the first five gaps off are shorter, relative: less delay */
    double quantum_s;     /* flips wait for the next multiple of this; 0: they do not */
    double sway;     /* of the camera's speed, a share of it, three times a second; 0: steady */
    double softness; /* ln contrast that a synthesised frame lacks; 0: detail is unknown */
    const struct train_part *part;
    size_t n_parts;
    uint64_t seed;
};

struct train_flip {
    double time_s;
    enum fl_gap_mode mode; /* of the gap that it starts */
};

struct train {
    struct train_flip *flip;
    size_t n;
    const struct train_plan *plan;
};

/* How it is filmed; zero: 120/s, 16 bands, 4.5 % blank. */
struct train_camera {
    double rate_hz, blank;
    int bands;
    double wrong; /* share of bands of which the eye says the opposite */
    /* a frame: missing from the file; NULL: none. The first and the last never are */
    const bool *lost;
    uint64_t seed;
};

struct train_film {
    struct fl_rows rows;
    struct fl_scene_speed speed;
    struct fl_scan scan;
    struct fl_evidence evidence;
    double *time_s;
    long *number;
};

void train_run(struct train *t, const struct train_plan *plan);
void train_finish(struct train *t);
/* State at a time, by the flips: that of the gap that holds it. TRAIN_REST where nothing moves. */
enum train_state train_at(const struct train *t, double time_s);
/* Last flip up to time_s. */
size_t train_last_flip(const struct train *t, double time_s);
double train_duration(const struct train_plan *plan);

void train_film(struct train_film *f, const struct train *t, const struct train_camera *camera);
void train_film_finish(struct train_film *f);

#endif
