#include "scenario.h"

#include <math.h>
#include <string.h>

#include "rng.h"
#include "table.h"

double st_base_on(const struct st_scenario *s)
{
    double rate = s->base_hz;
    if (s->cap_hz > 0)
        rate = fmin(rate, s->cap_hz / s->factor);
    return s->sync_hz > 0 ? fmin(rate, s->sync_hz / s->factor) : rate;
}

double st_base_off(const struct st_scenario *s)
{
    double rate = s->base_hz * s->off_gain;
    if (s->cap_hz > 0)
        rate = fmin(rate, s->cap_hz);
    return s->sync_hz > 0 ? fmin(rate, s->sync_hz) : rate;
}

static int larger_even(int size, double by)
{
    return (int)lround(size * by / 2) * 2;
}

int st_render_width(const struct st_scenario *s)
{
    return larger_even(s->width, s->oversize);
}

int st_render_height(const struct st_scenario *s)
{
    return larger_even(s->height, s->oversize);
}

/* Whole pictures at a fixed rate that both states keep filled look alike. With tears the rows still
 * tell, but a frame may hold more tears than anyone must find. */
enum st_telling st_telling(const struct st_scenario *s, const char **reason)
{
    bool filled = s->capture != ST_LOCAL && st_base_off(s) > 0.97 * s->fps;
    *reason = NULL;
    if (s->no_hand && s->pace <= 1)
        *reason = "motion";
    else if (filled)
        *reason = "rates";
    if (!*reason)
        return ST_TELL_YES;
    return filled && s->capture == ST_TORN ? ST_TELL_EITHER : ST_TELL_NO;
}

static void or_else(double *x, double otherwise)
{
    if (*x == 0)
        *x = otherwise;
}

static void or_else_text(const char **x, const char *otherwise)
{
    if (!*x)
        *x = otherwise;
}

static void fill(struct st_scenario *s)
{
    s->width = s->width ? s->width : 1280;
    s->height = s->height ? s->height : 720;
    s->crf = s->crf ? s->crf : 21;
    bool small = s->family != NULL;
    or_else(&s->seconds, small ? 12 : 29);
    or_else(&s->fps, 120);
    or_else(&s->hfov_deg, 90);
    or_else(&s->counts_per_inch, 800);
    or_else(&s->degrees_per_count, 0.044);
    or_else(&s->stick.power, 1);
    or_else(&s->stick.fastest_deg_s, 320);
    or_else(&s->stick.noise, 0.003);
    or_else(&s->stick.rest_spread, 0.012);
    or_else(&s->flick_low, 15);
    or_else(&s->flick_high, 600);
    or_else(&s->pause_low, 0.36);
    or_else(&s->pause_high, 0.72);
    or_else(&s->still_s, small ? 1.5 : 3);
    or_else(&s->base_hz, 70);
    or_else(&s->off_gain, s->sync_hz > 0 ? 1 : 1.03);
    or_else(&s->wander, 0.024);
    s->factor = s->factor ? s->factor : 2;
    or_else(&s->pace, 1);
    or_else(&s->oversize, 1);
    or_else(&s->key_s, 2);
    s->ticks_hz = s->ticks_hz ? s->ticks_hz : 1000;
    or_else(&s->theta_hi, 60);
    or_else(&s->theta_lo, 40);
    s->holds_as_usual = !(s->d_off_s > 0);
    or_else(&s->d_off_s, 0.1);
    or_else(&s->pair_fraction, 0.5);
    or_else(&s->delay_on_ms, 34);
    or_else(&s->delay_off_ms, 27);
    if (s->synthesis == ST_NEVER_ON)
        s->delay_on_ms = s->delay_off_ms;
    if (s->synthesis == ST_ALWAYS_ON)
        s->delay_off_ms = s->delay_on_ms;
    or_else(&s->blank, 0.045);
    or_else(&s->clock_offset_s, 3.2051);
    or_else(&s->drift_ppm, 33);
    or_else(&s->mic_ms, 28 + (double)(s->seed % 7));
    or_else_text(&s->encoder, "libx264");
    or_else_text(&s->preset, "superfast");
    or_else_text(&s->container, "mkv");
}

bool st_scenario_get(struct st_scenario *out, size_t i)
{
    if (i >= st_table_size)
        return false;
    *out = st_table[i];
    fill(out);
    return true;
}

bool st_scenario_find(struct st_scenario *out, const char *name)
{
    for (size_t i = 0; st_scenario_get(out, i); i++)
        if (!strcmp(out->name, name))
            return true;
    return false;
}

void st_scenario_draw_hold(struct st_scenario *s)
{
    struct st_rng rng = st_rng(s->seed, 12);
    if (s->holds_as_usual)
        s->d_off_s = st_log_uniform(&rng, 0.03, 0.5);
}
