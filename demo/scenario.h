/* Named scenarios: everything about a take that is settled before the dice are thrown. */
#ifndef STAGE_SCENARIO_H
#define STAGE_SCENARIO_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "scene.h"

enum st_synthesis { ST_CUT_OFF, ST_ALWAYS_ON, ST_NEVER_ON };

/* What the cut-off watches, from one rendered frame to the next. */
enum st_key {
    ST_KEY_SPEED,  /* camera displacement × nominal base rate with synthesis on, deg/s */
    ST_KEY_IMAGE,  /* shift at the middle of the picture, px */
    ST_KEY_COUNTS, /* mouse counts × that rate, counts/s */
    ST_KEY_CHANGE  /* mean |ΔY'| of the view, 0..1 of nominal range */
};

enum st_capture_kind {
    ST_TORN,  /* a card scans the output out at its own rate: tears */
    ST_WHOLE, /* each capture frame is the newest output frame as it begins: variable refresh, or a
                 display that waits for its blank */
    ST_LOCAL  /* a recorder on the same machine takes each output frame once, at its time */
};

/* What befalls the whole picture now and then; several may be joined. */
enum { ST_CUTS = 1, ST_FLASHES = 2, ST_FADES = 4 };

/* Can on and off be told apart in a faultless measurement? From true rates alone. */
enum st_telling { ST_TELL_YES, ST_TELL_EITHER, ST_TELL_NO };

/* A pad in place of the mouse, and how the game turns by its stick. */
struct st_stick {
    double report_hz;          /* 0: it is a mouse */
    double dead;               /* deflection, 0..1, up to which nothing turns */
    double power;              /* of what is past it */
    double fastest_deg_s;      /* at full deflection */
    double noise, rest_spread; /* standard deviations of full: of each reading, and of where it
                                  comes to rest */
    bool by_frames;            /* the game turns by the last reading times the frame's length; else
                                  by each reading for as long as it is held */
};

struct st_scenario {
    const char *name, *about, *game;
    const char *family; /* of the accuracy table; NULL: not part of it */
    uint64_t seed;
    enum st_place place;
    int width, height; /* of the footage, even */
    double seconds, fps, hfov_deg;
    /* hand */
    double counts_per_inch, degrees_per_count;
    struct st_stick stick;
    double flick_low, flick_high; /* peak speeds, log-uniform, deg/s */
    bool no_hand;                 /* it never moves */
    double still_s;               /* one still in the middle, a menu over it; below 0 = none */
    bool loading;                 /* a black loading screen instead of the menu */
    bool strafes;                 /* side steps */
    bool lifts, rides;            /* up and down with the hand at rest; a vehicle */
    bool edge_flicks;             /* in mid-flick at the first and at the last frame */
    bool corrective;              /* a brisk move back after every flick */
    bool up_and_down;             /* every other movement or so, instead of to the sides */
    double pause_low, pause_high; /* seconds from one flick to the next; 0: 0.36 and 0.72 */
    /* game */
    double base_hz, off_gain; /* base rate with synthesis off = base_hz × off_gain */
    double wander;            /* of the base rate: standard deviation of its logarithm */
    double cap_hz;            /* most output frames a second, of either kind; 0: none */
    double sync_hz; /* flips wait for the blank of a display at this rate; 0: they do not */
    int factor;     /* output frames per rendered one with synthesis on */
    int fewer;      /* if set: so many instead, while motion is above fewer_hi (until it has been
                       below fewer_lo for d_off) but the cut-off has not let go */
    double fewer_hi, fewer_lo;
    bool heavy, heavy_in_flicks; /* the base rate halves for a second or two, here and there */
    bool hitches;                /* it halves for a single base period, in every flick */
    enum st_synthesis synthesis;
    enum st_key key;
    double theta_hi, theta_lo; /* in the unit of key */
    double d_on_s, d_off_s; /* above theta_hi for d_on: off; below theta_lo for d_off: on again */
    double d_off_most_s;    /* if above d_off: each time drawn between the two */
    bool holds_as_usual;    /* d_off is not this scenario's own */
    int off_frames_low, off_frames_high; /* if set: off for so many rendered frames, whatever the
                                            speed, then on for at least on_frames */
    int on_frames;
    bool latches;         /* once off it stays off until the menu (still_s) */
    bool starts_off;      /* off until the menu, whatever the speed */
    double pair_fraction; /* share of a pair's time that the rendered frame is on screen */
    double delay_on_ms, delay_off_ms; /* mouse sample to screen */
    /* picture */
    double zoom;     /* focal length while aiming, here and there; turns slow down alike; 0: none */
    unsigned events; /* ST_CUTS and so on */
    double pace;     /* of what moves by itself */
    bool panel;      /* a still panel over a quarter of the picture */
    double grain;    /* standard deviation, grey levels of 255 */
    double shutter;  /* in-game motion blur of rendered frames, share of a base period */
    double bars;     /* each black bar's share of the height */
    bool desk;       /* a mouse pointer and subtitles, laid over by the recorder */
    double pillars;  /* each black bar's share of the width, laid over by the recorder */
    bool inset;      /* another, moving picture in a corner, put in by the recorder at 30/s */
    /* capture */
    enum st_capture_kind capture;
    double blank;                    /* vertical blank's share of a capture period */
    double missing_share;            /* of the synthesised frames, local recordings */
    double drop_share, repeat_share; /* of the capture frames: lost; there twice */
    bool renumbered;                 /* the times of lost and doubled ones are smoothed over */
    double oversize; /* output is this much larger than the footage and scaled down */
    double clock_offset_s, drift_ppm, mic_ms;
    const char *encoder, *preset, *container; /* FFmpeg's names; container: mkv or mp4 */
    int crf;
    int qp;                       /* if set: one quantiser throughout, instead of crf */
    int kbit_s;                   /* if set: constant bit rate, small buffer, instead of crf */
    double key_s;                 /* keyframe interval */
    bool b_frames;                /* a device that writes as it films uses none */
    bool ten_bit, full_range, pq; /* pq: ten bit, SMPTE ST 2084 */
    int ticks_hz;                 /* of times in local recordings */
};

/* Base rates and rendered pictures' sizes as they come out. */
double st_base_on(const struct st_scenario *s);
double st_base_off(const struct st_scenario *s);
int st_render_width(const struct st_scenario *s);
int st_render_height(const struct st_scenario *s);
/* reason: a word, or NULL with ST_TELL_YES. */
enum st_telling st_telling(const struct st_scenario *s, const char **reason);

/* Entry i of the table with every open field filled in; false past its end. */
bool st_scenario_get(struct st_scenario *out, size_t i);
bool st_scenario_find(struct st_scenario *out, const char *name);
/* The hold, unless it is the scenario's own: from its seed, 30 to 500 ms, evenly by octaves. */
void st_scenario_draw_hold(struct st_scenario *s);

#endif
