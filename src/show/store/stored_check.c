/* C11 6.3.1.4: a double outside the range of the integer it is converted to, or a NaN, is undefined
 * behaviour. Refusing such figures here keeps them from every conversion further on. */
#include "show/store/stored_check.h"

#include <math.h>
#include <stdlib.h>

#include "show/store/frame_columns.h"

static bool is_time(double t_s)
{
    return t_s >= 0 && t_s <= FL_FOOTAGE_MOST_S;
}

static bool is_rate(double hz)
{
    return hz > 0 && hz <= FL_STORED_RATE_MOST_HZ;
}

static void check_time(struct fl_reader *r, const char *name, double t_s)
{
    if (!is_time(t_s))
        fl_reader_complain(r, name, "is no time of a recording");
}

/* An end of a bracket may lie before the footage. */
static void check_bracket(struct fl_reader *r, const char *name, const double range_s[2])
{
    for (int i = 0; i < 2; i++)
        if (fl_known(range_s[i]) && !is_time(fabs(range_s[i])))
            fl_reader_complain(r, name, "is no time of a recording");
}

static void check_span(struct fl_reader *r, double start_s, double end_s)
{
    check_time(r, "start_s", start_s);
    check_time(r, "end_s", end_s);
    if (end_s < start_s)
        fl_reader_complain(r, "end_s", "lies before its start_s");
}

static void check_rate(struct fl_reader *r, const char *name, double hz)
{
    if (fl_known(hz) && !is_rate(hz))
        fl_reader_complain(r, name, "is no rate of a recording");
}

static void check_lapse(struct fl_reader *r, const struct fl_lapse *l)
{
    check_span(r, l->start_s, l->end_s);
    check_bracket(r, "start_range_s", l->start_range_s);
    check_bracket(r, "end_range_s", l->end_range_s);
}

void fl_check_stored(struct fl_reader *r, const struct fl_take *t)
{
    const struct fl_states *s = &t->states;
    check_time(r, "duration_s", t->duration_s);
    check_rate(r, "capture_rate_hz", t->capture_rate_hz);
    if (t->frames > 1 && !fl_known(t->capture_rate_hz)) /* one frame alone has no rate */
        fl_reader_complain(r, "capture_rate_hz", "is null");
    check_rate(r, "base_rate_on_hz", s->base_rate_on_hz);
    check_rate(r, "base_rate_off_hz", s->base_rate_off_hz);
    for (size_t i = 0; i < t->spec.n_use; i++) {
        check_time(r, "use_s", t->spec.use[i].start_s);
        check_time(r, "use_s", t->spec.use[i].end_s);
    }
    for (size_t i = 0; i < s->n_spans; i++)
        check_span(r, s->span[i].start_s, s->span[i].end_s);
    for (size_t i = 0; i < s->n_lapses; i++)
        check_lapse(r, &s->lapse[i]);
    for (size_t i = 0; i < t->n_flicks; i++) {
        check_span(r, t->flicks[i].start_s, t->flicks[i].end_s);
        if (fl_known(t->flicks[i].peak_s))
            check_time(r, "peak_s", t->flicks[i].peak_s);
    }
}

/* A float that was outgrown as the row was read. */
static bool outgrown(const struct fl_take *t, const struct fl_frame_column *column, size_t n,
                     long row)
{
    for (size_t k = 0; k < n; k++)
        if (column[k].kind == FL_COLUMN_FIGURE && isinf(fl_frame_value(t, &column[k], row)))
            return true;
    return false;
}

static const char *check_frame(const struct fl_take *t, const struct fl_frame_column *column,
                               size_t n, long row)
{
    if (!is_time(t->time_s[row]))
        return "has a time that no recording has";
    if (row > 0 && t->time_s[row] < t->time_s[row - 1]) /* equal by rounding is fine */
        return "has a time before that of the row above";
    return outgrown(t, column, n, row) ? "has a number out of range" : NULL;
}

const char *fl_check_frames(const struct fl_take *t, long *row)
{
    size_t n;
    struct fl_frame_column *column = fl_frame_columns(&n);
    const char *problem = NULL;
    for (*row = 0; *row < t->frames && !(problem = check_frame(t, column, n, *row)); ++*row)
        ;
    free(column);
    return problem;
}

const char *fl_check_flips(const struct fl_take *t, long *row)
{
    for (*row = 0; (size_t)*row < t->flips.n; ++*row) {
        const struct fl_flip *f = &t->flips.v[*row];
        if (!is_time(f->time_s))
            return "has a time that no recording has";
        if (f->frame < 0 || f->frame >= t->frames)
            return "has a capture frame that the take lacks";
        if (isinf(f->row) || isinf(f->confidence))
            return "has a number out of range";
    }
    return NULL;
}
