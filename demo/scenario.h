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
    ST_KEY_SPEED, /* camera displacement × nominal base rate, deg/s */
    ST_KEY_IMAGE, /* shift at the middle of the picture, px */
    ST_KEY_COUNTS /* mouse counts × nominal base rate, counts/s */
};

enum st_capture_kind {
    ST_TORN, /* a card scans the output out at its own rate: tears */
    ST_SYNC, /* flips wait for the vertical blank of the capture clock */
    ST_LOCAL /* a recorder on the same machine takes each output frame once, at its time */
};

struct st_scenario {
    const char *name, *about, *game;
    uint64_t seed;
    enum st_place place;
    int width, height; /* even */
    double seconds, fps, hfov_deg;
    /* hand */
    double counts_per_inch, degrees_per_count;
    double flick_low, flick_high; /* peak speeds, log-uniform, deg/s */
    bool no_hand;                 /* it never moves */
    double still_s;               /* one menu-like still in the middle; below 0 = none */
    bool strafes, edge_flicks;    /* edge_flicks: in mid-flick at the first and at the last frame */
    /* game */
    double base_hz, off_gain; /* base rate with synthesis off = base_hz × off_gain */
    bool heavy;               /* the base rate halves for a second or two, here and there */
    enum st_synthesis synthesis;
    enum st_key key;
    double theta_hi, theta_lo; /* in the unit of key */
    double d_on_s, d_off_s; /* above theta_hi for d_on: off; below theta_lo for d_off: on again */
    double pair_fraction;   /* share of a pair's time that the rendered frame is on screen */
    double delay_on_ms, delay_off_ms; /* mouse sample to screen */
    /* capture */
    enum st_capture_kind capture;
    double blank;         /* vertical blank's share of a capture period */
    double missing_share; /* of the synthesised frames, local recordings */
    double clock_offset_s, drift_ppm, mic_ms;
    const char *encoder, *preset, *container; /* FFmpeg's names; container: mkv or mp4 */
    int crf;
    bool b_frames; /* a device that writes as it films uses none */
};

/* Entry i of the table with every open field filled in; false past its end. */
bool st_scenario_get(struct st_scenario *out, size_t i);
bool st_scenario_find(struct st_scenario *out, const char *name);

#endif
