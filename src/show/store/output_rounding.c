#include <math.h>

#include "show/store/fields.h"
#include "show/store/output_rounding.h"
#include "show/store/writer.h"
#include "show/text/escape.h"

static void round_all(double *v, int n)
{
    for (int i = 0; i < n; i++)
        v[i] = fl_round_digits(v[i], FL_FIGURE_DIGITS);
}

static void round_series(float *v, size_t n)
{
    for (size_t i = 0; v && i < n; i++)
        v[i] = (float)fl_round_digits(v[i], FL_FIGURE_DIGITS);
}

static void round_times(double *v, size_t n)
{
    for (size_t i = 0; v && i < n; i++)
        v[i] = fl_round_decimals(v[i], FL_TIME_DECIMALS);
}

static void settle_states(struct fl_states *s)
{
    for (size_t i = 0; i < s->n_spans; i++)
        fl_fields_round(&s->span[i], fl_span_fields);
    for (size_t i = 0; i < s->n_lapses; i++) {
        fl_fields_round(&s->lapse[i], fl_lapse_fields);
        round_times(s->lapse[i].start_range_s, 2);
        round_times(s->lapse[i].end_range_s, 2);
    }
    round_series(s->frame_confidence, s->n_frames);
    round_series(s->unique_rate_hz, s->n_frames);
    round_series(s->changed_share, s->n_frames);
}

static void settle_flick(struct fl_flick *f)
{
    fl_fields_round(f, fl_flick_fields);
    round_all(f->peak, FL_QUANTITIES);
    round_all(f->mean, FL_QUANTITIES);
    round_all(f->peak_to_trip, FL_QUANTITIES);
}

static void settle_flips(struct fl_flips *flips)
{
    for (size_t i = 0; i < flips->n; i++) {
        round_times(&flips->v[i].time_s, 1);
        round_series(&flips->v[i].row, 1);
        round_series(&flips->v[i].confidence, 1);
    }
}

static void settle_frames(struct fl_take *t)
{
    size_t n = (size_t)t->frames;
    round_times(t->time_s, n);
    round_series(t->shift_x_px, n);
    round_series(t->shift_y_px, n);
    round_series(t->shift_quality, n);
    for (int q = 0; q < FL_QUANTITIES; q++)
        round_series(t->quantity[q], n);
}

void fl_take_round(struct fl_take *t)
{
    locale_t was = fl_point_begin();
    fl_fields_round(t, fl_footage_fields);
    fl_fields_round(t, fl_figure_fields);
    fl_fields_round(&t->clock, fl_clock_fields);
    fl_fields_round(&t->exposure, fl_exposure_fields);
    fl_fields_round(&t->without_trace, fl_without_trace_fields);
    fl_fields_round(&t->smoothness, fl_smoothness_fields);
    fl_fields_round(&t->pacing.on, fl_pacing_fields);
    fl_fields_round(&t->pacing.off, fl_pacing_fields);
    settle_states(&t->states);
    settle_flips(&t->flips);
    settle_frames(t);
    for (size_t i = 0; i < t->n_flicks; i++)
        settle_flick(&t->flicks[i]);
    fl_point_end(was);
}
