/* Pairs crossings of a threshold with the lapse edges that follow them. */
#include "study/rule/delay_cases.h"

#include <stdlib.h>

#define TAIL_S 0.15 /* a trip this long after a flick is still its own */

static struct fl_span_list crossings(const struct fl_track *k, double theta, bool above)
{
    struct fl_span_list list = {0};
    for (size_t i = 0; i < k->n_parts; i++)
        fl_crossings(&k->speeds, k->part[i].from, k->part[i].to, k->part[i].end_s, theta, above,
                     &list);
    return list;
}

/* Beyond the threshold already where the quantity begins to be known: no crossing. */
static bool cut_off_start(const struct fl_track *k, double start_s)
{
    for (size_t i = 0; i < k->n_parts; i++)
        if (k->take->time_s[k->part[i].from] == start_s)
            return true;
    return false;
}

/* The one run that starts after `after` and reaches into [from, to]; NULL if there is none or more
 * than one. */
static struct fl_span *only_run(const struct fl_span_list *runs, double after, double from,
                                double to)
{
    struct fl_span *found = NULL;
    for (size_t i = 0; i < runs->n; i++)
        if (runs->v[i].start_s > after && runs->v[i].end_s >= from && runs->v[i].start_s <= to) {
            if (found)
                return NULL;
            found = &runs->v[i];
        }
    return found;
}

/* A game judges once a rendered frame: without a delay it may switch half of one before the
 * crossing. */
static void add(struct fl_delay_list *out, const struct fl_track *k, double low, double high,
                enum fl_delay_outcome outcome)
{
    low = fmax(0, low);
    FL_PUSH(out->v, out->n, out->cap,
            ((struct fl_delay_case){low, fmax(low, high), outcome, k->take}));
}

static bool in_lapse(const struct fl_states *s, double t)
{
    for (size_t i = 0; i < s->n_lapses; i++)
        if (s->lapse[i].start_s <= t && t < fmax(s->lapse[i].end_s, s->lapse[i].end_range_s[1]))
            return true;
    return false;
}

/* Seen on when the run ended, and at no time off. */
static bool held(const struct fl_track *k, struct fl_span run, double frame_s)
{
    double on, off, late, unused;
    fl_track_seen(k, run.start_s, run.end_s + TAIL_S, &on, &off);
    fl_track_seen(k, run.end_s - frame_s, run.end_s + TAIL_S, &late, &unused);
    return off == 0 && late > 0;
}

void fl_trip_cases(const struct fl_track *k, double theta_off, double frame_s,
                   struct fl_delay_list *out)
{
    const struct fl_states *s = &k->take->states;
    struct fl_span_list runs = crossings(k, theta_off, true);
    bool *used = FL_NEW(bool, runs.n + 1);
    for (size_t i = 0; i < s->n_lapses; i++) {
        const double *edge = s->lapse[i].start_range_s;
        if (!s->lapse[i].has_trip)
            continue;
        double last_off =
            i ? s->lapse[i - 1].end_range_s[0] : -INFINITY; /* a run from before it is spent */
        struct fl_span *run = only_run(&runs, last_off, edge[0] - frame_s, edge[1] + frame_s);
        if (!run || cut_off_start(k, run->start_s)) {
            out->unmatched++;
            continue;
        }
        used[run - runs.v] = true;
        add(out, k, edge[0] - run->start_s, edge[1] - run->start_s, FL_DELAY_SWITCHED);
    }
    for (size_t i = 0; i < runs.n; i++) {
        double length = runs.v[i].end_s - runs.v[i].start_s;
        bool judged =
            !used[i] && !cut_off_start(k, runs.v[i].start_s) && !in_lapse(s, runs.v[i].start_s);
        if (judged && held(k, runs.v[i], frame_s))
            add(out, k, length, length, FL_DELAY_LEFT);
    }
    free(used);
    free(runs.v);
}

/* The runs below the threshold within a lapse, but for the last. */
static void add_earlier(const struct fl_track *k, const struct fl_span_list *runs,
                        const struct fl_lapse *l, double frame_s, struct fl_delay_list *out)
{
    for (size_t i = 0; i < runs->n; i++) {
        const struct fl_span *r = &runs->v[i];
        if (r->start_s > l->start_s && r->end_s < l->end_range_s[0] - frame_s)
            add(out, k, r->end_s - r->start_s, r->end_s - r->start_s, FL_DELAY_LEFT);
    }
}

void fl_return_cases(const struct fl_track *k, double theta_on, double frame_s,
                     struct fl_delay_list *out)
{
    const struct fl_states *s = &k->take->states;
    struct fl_span_list runs = crossings(k, theta_on, false);
    for (size_t i = 0; i < s->n_lapses; i++) {
        const struct fl_lapse *l = &s->lapse[i];
        double from = l->end_range_s[0], to = l->has_return ? l->end_range_s[1] : from;
        struct fl_span *run = only_run(&runs, -INFINITY, from - frame_s, to + frame_s);
        add_earlier(k, &runs, l, frame_s, out);
        if (!run || run->start_s < l->start_s)
            out->unmatched++;
        else if (l->has_return)
            add(out, k, from - run->start_s, to - run->start_s, FL_DELAY_SWITCHED);
        else
            add(out, k, to - run->start_s, to - run->start_s, FL_DELAY_CENSORED);
    }
    free(runs.v);
}
