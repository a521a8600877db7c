/* A take as the rule sees it: samples beside seen time, with sums that make agreement cheap to
 * count. */
#include "study/rule/rule_track.h"

#include <stdlib.h>

#define CELL_S 0.004 /* step of the tables of seen time; between cells a line */
/* longest gap in the quantity that a line may bridge: under a flick's length */
#define BRIDGE_S 0.1

/* ---- the quantity, without short gaps ---- */

static void bridge(struct fl_track *k, size_t n)
{
    const double *time = k->take->time_s;
    for (size_t i = 1, last = 0; i < n; i++) {
        if (isnan(k->q[i]))
            continue;
        if (i - last > 1 && !isnan(k->q[last]) && time[i] - time[last] <= BRIDGE_S)
            for (size_t j = last + 1; j < i; j++)
                k->q[j] = (float)(k->q[last] + (k->q[i] - k->q[last]) * (time[j] - time[last]) /
                                                   (time[i] - time[last]));
        last = i;
    }
}

static double frame_end(const struct fl_take *t, size_t to)
{
    size_t n = (size_t)t->frames;
    return to < n ? t->time_s[to] : fmax(t->duration_s, t->time_s[n - 1]);
}

static void find_parts(struct fl_track *k, size_t n)
{
    size_t cap = 0;
    for (size_t i = 0; i < n;) {
        size_t from = i;
        while (i < n && !isnan(k->q[i]))
            i++;
        if (i > from)
            FL_PUSH(k->part, k->n_parts, cap,
                    ((struct fl_track_part){from, i, frame_end(k->take, i), false}));
        while (i < n && isnan(k->q[i]))
            i++;
    }
}

/* ---- events ---- */

/* Whether a lapse, its brackets included, lies over t. */
static bool in_lapse(const struct fl_states *s, double t)
{
    for (size_t i = 0; i < s->n_lapses; i++) {
        const struct fl_lapse *l = &s->lapse[i];
        if (fmin(l->start_s, l->start_range_s[0]) < t && t < fmax(l->end_s, l->end_range_s[0]))
            return true;
    }
    return false;
}

static void find_events(struct fl_track *k)
{
    const struct fl_take *t = k->take;
    k->event_end_s = FL_NEW(double, t->n_flicks + 1);
    for (size_t i = 1; i < t->n_flicks; i++) {
        double middle = (t->flicks[i - 1].end_s + t->flicks[i].start_s) / 2;
        if (!in_lapse(&t->states, middle))
            k->event_end_s[k->events++] = middle;
    }
    k->event_end_s[k->events++] = INFINITY;
}

/* ---- seen time ---- */

struct pieces {
    struct fl_track *k;
    size_t cap, event, part; /* event and part of the latest piece */
};

/* Cuts [a, b) at the ends of parts and events; calls come in time order. */
static void add_piece(struct pieces *p, double a, double b, bool off)
{
    struct fl_track *k = p->k;
    while (a < b) {
        while (p->part < k->n_parts && k->part[p->part].end_s <= a)
            p->part++;
        if (p->part == k->n_parts)
            return;
        a = fmax(a, k->take->time_s[k->part[p->part].from]);
        while (k->event_end_s[p->event] <= a)
            p->event++;
        double end = fmin(b, fmin(k->part[p->part].end_s, k->event_end_s[p->event]));
        if (end > a)
            FL_PUSH(k->piece, k->n_pieces, p->cap,
                    ((struct fl_track_piece){a, end, off, p->event}));
        a = fmax(a, end);
    }
}

/* Brackets of all lapse edges, in time order of their starts. */
static size_t brackets(const struct fl_states *s, struct fl_span *b)
{
    size_t n = 0;
    for (size_t i = 0; i < s->n_lapses; i++) {
        const struct fl_lapse *l = &s->lapse[i];
        if (l->start_range_s[1] > l->start_range_s[0])
            b[n++] = (struct fl_span){l->start_range_s[0], l->start_range_s[1]};
        if (l->end_range_s[1] > l->end_range_s[0])
            b[n++] = (struct fl_span){l->end_range_s[0], l->end_range_s[1]};
    }
    return n;
}

static void find_pieces(struct fl_track *k)
{
    const struct fl_states *s = &k->take->states;
    struct fl_span *bracket = FL_NEW(struct fl_span, 2 * s->n_lapses + 1);
    size_t n = brackets(s, bracket);
    struct pieces p = {.k = k};
    for (size_t i = 0; i < s->n_spans; i++) {
        double a = s->span[i].start_s, end = s->span[i].end_s;
        bool off = s->span[i].state == FL_STATE_OFF;
        if (s->span[i].state == FL_STATE_UNSEEN)
            continue;
        for (size_t b = 0; b < n && a < end; b++)
            if (bracket[b].end_s > a && bracket[b].start_s < end) {
                add_piece(&p, a, bracket[b].start_s, off);
                a = bracket[b].end_s;
            }
        add_piece(&p, a, end, off);
    }
    free(bracket);
}

/* A part begins in the state that is seen first in it; on where none is. */
static void begin_parts(struct fl_track *k)
{
    for (size_t i = 0, j = 0; i < k->n_parts; i++) {
        while (j < k->n_pieces && k->piece[j].start_s < k->take->time_s[k->part[i].from])
            j++;
        if (j < k->n_pieces && k->piece[j].start_s < k->part[i].end_s)
            k->part[i].off = k->piece[j].off;
    }
}

/* ---- tables ---- */

static void add_time(double *table, size_t cells, double start_s, double end_s, double weight)
{
    for (size_t c = (size_t)(start_s / CELL_S); c < cells && (double)c * CELL_S < end_s; c++) {
        double inside = fmin(end_s, (double)(c + 1) * CELL_S) - fmax(start_s, (double)c * CELL_S);
        table[c + 1] += inside > 0 ? weight * inside : 0;
    }
}

static double cumulate(double *table, size_t cells)
{
    for (size_t i = 0; i < cells; i++)
        table[i + 1] += table[i];
    return table[cells];
}

void fl_track_weigh(struct fl_track *k, const unsigned *weight)
{
    for (size_t i = 0; i <= k->cells; i++)
        k->on_s[i] = k->off_s[i] = 0;
    for (size_t i = 0; i < k->n_pieces; i++) {
        const struct fl_track_piece *p = &k->piece[i];
        double w = weight ? weight[p->event] : 1;
        if (w > 0)
            add_time(p->off ? k->off_s : k->on_s, k->cells, p->start_s, p->end_s, w);
    }
    k->total_on_s = cumulate(k->on_s, k->cells);
    k->total_off_s = cumulate(k->off_s, k->cells);
}

static double up_to(const double *table, size_t cells, double t)
{
    double at = fl_clamp(t / CELL_S, 0, (double)cells);
    size_t i = (size_t)at;
    return i < cells ? table[i] + (at - (double)i) * (table[i + 1] - table[i]) : table[cells];
}

/* ---- the track ---- */

bool fl_track_make(struct fl_track *k, const struct fl_take *t, enum fl_quantity q)
{
    *k = (struct fl_track){.take = t, .quantity = q};
    size_t n = t->frames > 0 ? (size_t)t->frames : 0;
    if (!n || !t->quantity[q] || !t->time_s)
        return false;
    k->q = FL_NEW(float, n);
    for (size_t i = 0; i < n; i++)
        k->q[i] = isfinite(t->quantity[q][i]) ? t->quantity[q][i] : NAN;
    bridge(k, n);
    fl_speeds_index(&k->speeds, t->time_s, k->q, n);
    find_parts(k, n);
    find_events(k);
    find_pieces(k);
    begin_parts(k);
    k->cells = (size_t)(frame_end(t, n) / CELL_S) + 1;
    k->on_s = FL_NEW(double, k->cells + 1);
    k->off_s = FL_NEW(double, k->cells + 1);
    fl_track_weigh(k, NULL);
    return true;
}

void fl_track_finish(struct fl_track *k)
{
    fl_speeds_finish(&k->speeds);
    free(k->q);
    free(k->part);
    free(k->piece);
    free(k->event_end_s);
    free(k->on_s);
    free(k->off_s);
    *k = (struct fl_track){0};
}

void fl_track_run(const struct fl_track *k, const struct fl_cutoff *c, struct fl_span_list *buffer)
{
    buffer->n = 0;
    for (size_t i = 0; i < k->n_parts; i++)
        fl_cutoff_run(c, &k->speeds, k->part[i].from, k->part[i].to, k->part[i].end_s,
                      k->part[i].off, buffer);
}

void fl_track_judge(const struct fl_track *k, const struct fl_cutoff *c,
                    struct fl_span_list *buffer, struct fl_disagreement *d)
{
    double on = 0, off = 0;
    fl_track_run(k, c, buffer);
    for (size_t i = 0; i < buffer->n; i++) {
        double a = buffer->v[i].start_s, b = buffer->v[i].end_s;
        on += up_to(k->on_s, k->cells, b) - up_to(k->on_s, k->cells, a);
        off += up_to(k->off_s, k->cells, b) - up_to(k->off_s, k->cells, a);
    }
    d->on_s += k->total_on_s;
    d->on_wrong_s += on;
    d->off_s += k->total_off_s;
    d->off_wrong_s += k->total_off_s - off;
}

void fl_track_seen(const struct fl_track *k, double start_s, double end_s, double *on_s,
                   double *off_s)
{
    *on_s = *off_s = 0;
    for (size_t i = 0; i < k->n_pieces; i++) {
        double s = fmin(end_s, k->piece[i].end_s) - fmax(start_s, k->piece[i].start_s);
        if (s > 0)
            *(k->piece[i].off ? off_s : on_s) += s;
    }
}

double fl_track_most(const struct fl_track *k, double from_s, double to_s)
{
    double top = FL_UNKNOWN;
    size_t lo = 0, hi = k->speeds.n;
    while (lo < hi) {
        size_t mid = (lo + hi) / 2;
        if (k->speeds.time_s[mid] < from_s)
            lo = mid + 1;
        else
            hi = mid;
    }
    for (; lo < k->speeds.n && k->speeds.time_s[lo] <= to_s; lo++)
        top = fmax(top, k->q[lo]); /* fmax skips NaN */
    return top;
}
