/* A column is a row of the table; what is done with it goes by the row's kind and place alone. */
#include "show/store/frame_columns.h"

#include <assert.h>
#include <math.h>
#include <string.h>

#include "base/figure.h"
#include "signal/kinds.h"
#include "signal/shift.h"

#define AT(member) .offset = offsetof(struct fl_take, member)
#define OF_STATES(member) AT(states.member), .of_states = true

static const struct fl_frame_column before_shift[] = {
    {"frame", FL_COLUMN_NUMBER, .unit = "", .meaning = "Number of the capture frame, from 0."},
    {"time_s", FL_COLUMN_TIME, AT(time_s), .unit = "s", .meaning = "Its footage time."},
};
static const struct fl_frame_column after_shift[] = {
    {"changed_share", FL_COLUMN_FIGURE, OF_STATES(changed_share), .unit = "",
     .meaning = "Share of the row bands that changed since the frame before, 0..1."},
    {"unique_rate_hz", FL_COLUMN_FIGURE, OF_STATES(unique_rate_hz), .unit = "flips/s",
     .label = "unique rate", .meaning = "Flips per second over 0.25 s of seen time about it."},
    {"state", FL_COLUMN_STATE, OF_STATES(frame_state), .unit = "", .label = "synthesis",
     .meaning = "on, off or unseen."},
    {"confidence", FL_COLUMN_FIGURE, OF_STATES(frame_confidence), .unit = "", .label = "confidence",
     .meaning = "Of the state, 0..1."},
};
enum {
    BEFORE = sizeof before_shift / sizeof *before_shift,
    AFTER = sizeof after_shift / sizeof *after_shift
};

static struct fl_frame_column signal_column(size_t i)
{
    const struct fl_signal_column *s = fl_signal_column(i);
    struct fl_frame_column c = {
        .kind = FL_COLUMN_FIGURE,
        .offset = i * sizeof(float *),
        .of_signals = true,
        .unit = s->unit ? s->unit : "",
        .label = s->label,
        .meaning = s->meaning,
    };
    assert(strlen(s->name) < sizeof c.name);
    strcpy(c.name, s->name);
    return c;
}

/* The format settles where the shift stands; what other signals give follows the confidence. */
static bool of_shift(size_t i)
{
    for (const struct fl_signal_column *c = fl_shift_signal.columns; c->name; c++)
        if (c == fl_signal_column(i))
            return true;
    return false;
}

static struct fl_frame_column quantity_column(enum fl_quantity q)
{
    const struct fl_quantity_info *info = fl_quantity_info(q);
    struct fl_frame_column c = {
        .kind = FL_COLUMN_FIGURE,
        .offset = offsetof(struct fl_take, quantity) + q * sizeof(float *),
        .of_quantity = true,
        .unit = info->unit_label,
        .meaning = info->meaning,
    };
    fl_quantity_column(c.name, "", q);
    return c;
}

struct fl_frame_column *fl_frame_columns(size_t *n)
{
    size_t signals = fl_signal_column_count();
    *n = BEFORE + signals + AFTER + FL_QUANTITIES;
    struct fl_frame_column *all = FL_NEW(struct fl_frame_column, *n), *next = all + BEFORE;
    memcpy(all, before_shift, sizeof before_shift);
    for (size_t i = 0; i < signals; i++)
        if (of_shift(i))
            *next++ = signal_column(i);
    memcpy(next, after_shift, sizeof after_shift);
    next += AFTER;
    for (size_t i = 0; i < signals; i++)
        if (!of_shift(i))
            *next++ = signal_column(i);
    for (int q = 0; q < FL_QUANTITIES; q++)
        *next++ = quantity_column((enum fl_quantity)q);
    return all;
}

/* Where the pointer to the values stands. */
static char *place(const struct fl_take *t, const struct fl_frame_column *c)
{
    return (c->of_signals ? (char *)t->signal : (char *)t) + c->offset;
}

static void *values(const struct fl_take *t, const struct fl_frame_column *c)
{
    void *p;
    memcpy(&p, place(t, c), sizeof p);
    return p;
}

static long length(const struct fl_take *t, const struct fl_frame_column *c)
{
    return c->of_states ? (long)t->states.n_frames : t->frames;
}

double fl_frame_value(const struct fl_take *t, const struct fl_frame_column *c, long i)
{
    if (c->kind == FL_COLUMN_NUMBER)
        return (double)i;
    const void *v = values(t, c);
    if (!v || i >= length(t, c))
        return c->kind == FL_COLUMN_STATE ? FL_STATE_UNSEEN : FL_UNKNOWN;
    return c->kind == FL_COLUMN_TIME     ? ((const double *)v)[i]
           : c->kind == FL_COLUMN_FIGURE ? (double)((const float *)v)[i]
                                         : ((const enum fl_state *)v)[i];
}

static size_t value_size(enum fl_frame_column_kind kind)
{
    return kind == FL_COLUMN_TIME     ? sizeof(double)
           : kind == FL_COLUMN_FIGURE ? sizeof(float)
                                      : sizeof(enum fl_state);
}

void fl_frame_column_alloc(struct fl_take *t, const struct fl_frame_column *c)
{
    size_t n = (size_t)t->frames, size = value_size(c->kind);
    if (c->kind == FL_COLUMN_NUMBER || (c->of_quantity && !values(t, c)))
        return;
    void *v = c->of_states ? fl_calloc(n, size) : fl_arena_alloc(t->arena, n, size);
    memcpy(place(t, c), &v, sizeof v);
    if (c->of_states)
        t->states.n_frames = n;
}

void fl_frame_set(struct fl_take *t, const struct fl_frame_column *c, long i, double value)
{
    void *v = c->kind == FL_COLUMN_NUMBER ? NULL : values(t, c);
    if (!v)
        return;
    if (c->kind == FL_COLUMN_TIME)
        ((double *)v)[i] = value;
    else if (c->kind == FL_COLUMN_FIGURE)
        ((float *)v)[i] = (float)value;
    else
        ((enum fl_state *)v)[i] = (enum fl_state)value;
}

void fl_frame_column_round(struct fl_take *t, const struct fl_frame_column *c)
{
    bool time = c->kind == FL_COLUMN_TIME;
    if (!time && c->kind != FL_COLUMN_FIGURE)
        return;
    for (long i = 0, n = values(t, c) ? length(t, c) : 0; i < n; i++) {
        double v = fl_frame_value(t, c, i);
        fl_frame_set(t, c, i,
                     time ? fl_round_decimals(v, FL_TIME_DECIMALS)
                          : fl_round_digits(v, FL_FIGURE_DIGITS));
    }
}
