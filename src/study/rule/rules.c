/* A rule a game, condition and quantity, judged on takes left out, with the lapses that it does
 * not explain. */
#include "study/rule/rules.h"

#include <stdlib.h>
#include <string.h>

#include "maths/robust.h"
#include "study/curve/setting.h"
#include "study/rule/rule_fit.h"
#include "study/rule/rule_select.h"

/* Four parameters from fewer lapses than this would always fit. */
#define LEAST_LAPSES 5
#define LEAST_SHARE 0.5 /* of the states' seen time that must have a known quantity */
#define DRAWS 200
#define BEFORE_S FL_RULE_D_OFF_S

/* ---- the takes of one cell ---- */

struct tracks {
    struct fl_track *v;
    size_t n;
    const struct fl_setting *cell;
};

static struct tracks tracks_of(const struct fl_setting *cell, enum fl_quantity q)
{
    struct tracks t = {FL_NEW(struct fl_track, cell->n + 1), 0, cell};
    for (size_t i = 0; i < cell->n; i++)
        t.n += fl_track_make(&t.v[t.n], cell->takes[i], q);
    return t;
}

static void finish_tracks(struct tracks *t)
{
    for (size_t i = 0; i < t->n; i++)
        fl_track_finish(&t->v[i]);
    free(t->v);
}

/* A lapse without its brackets. */
static struct fl_span core_of(const struct fl_lapse *l)
{
    return (struct fl_span){fmax(l->start_s, l->start_range_s[1]),
                            fmin(l->end_s, l->end_range_s[0])};
}

static int lapses_seen(const struct tracks *t)
{
    int n = 0;
    for (size_t i = 0; i < t->n; i++)
        for (size_t k = 0; k < t->v[i].take->states.n_lapses; k++) {
            struct fl_span core = core_of(&t->v[i].take->states.lapse[k]);
            double on, off;
            fl_track_seen(&t->v[i], core.start_s, core.end_s, &on, &off);
            n += off > 0;
        }
    return n;
}

/* Time seen on and off in all takes of the cell, the quantity known or not. */
static double state_time(const struct fl_setting *cell)
{
    double sum = 0;
    for (size_t i = 0; i < cell->n; i++) {
        const struct fl_states *s = &cell->takes[i]->states;
        for (size_t k = 0; k < s->n_spans; k++)
            sum += s->span[k].state != FL_STATE_UNSEEN ? s->span[k].end_s - s->span[k].start_s : 0;
    }
    return sum;
}

static const char *refusal(struct fl_rule *r, const struct tracks *t, struct fl_arena *arena)
{
    const char *label = fl_quantity_info(r->quantity)->label;
    double known = r->seen_on_s + r->seen_off_s, all = state_time(t->cell);
    if (!(all > 0))
        return "neither on nor off was seen";
    if (!(known >= LEAST_SHARE * all) && !(r->seen_on_s > 0 && r->lapses >= LEAST_LAPSES))
        return fl_arena_printf(arena,
                               "%s is known for %.0f %% of the time in which the state was seen",
                               label, 100 * known / all);
    if (!(r->seen_on_s > 0))
        return "synthesis was never seen on";
    if (!r->lapses)
        return "no lapse was seen, so nothing is known of when it would trip";
    if (r->lapses < LEAST_LAPSES)
        return fl_arena_printf(arena, "%d lapse%s seen, %d are needed", r->lapses,
                               r->lapses == 1 ? " was" : "s were", LEAST_LAPSES);
    return NULL;
}

/* ---- judging ---- */

static double balanced(const struct fl_disagreement *d)
{
    return 1 -
           (d->on_wrong_s / d->on_s + d->off_wrong_s / d->off_s) / 2; /* NaN without on or off */
}

static void add(struct fl_disagreement *sum, const struct fl_disagreement *d)
{
    sum->on_s += d->on_s;
    sum->on_wrong_s += d->on_wrong_s;
    sum->off_s += d->off_s;
    sum->off_wrong_s += d->off_wrong_s;
}

/* Each take judged by the rule fitted to the others. wrong: of the tracks' seen time. */
static double left_out(struct fl_rule_fit *f, double *wrong)
{
    struct fl_disagreement sum = {0};
    for (size_t i = 0; i < f->n; i++) {
        struct fl_disagreement d = {0};
        unsigned *none = FL_NEW(unsigned, f->track[i].events);
        fl_track_weigh(&f->track[i], none);
        free(none);
        struct fl_cutoff c = fl_rule_fit_quick(f);
        fl_track_weigh(&f->track[i], NULL);
        fl_track_judge(&f->track[i], &c, &f->buffer, &d);
        wrong[i] = (d.on_wrong_s + d.off_wrong_s) / (d.on_s + d.off_s);
        add(&sum, &d);
    }
    return balanced(&sum);
}

/* ---- what the rule does not explain ---- */

static double most(const struct fl_track *k, double from_s, double to_s)
{
    double top = FL_UNKNOWN;
    for (size_t i = 0; i < k->speeds.n && k->speeds.time_s[i] < to_s; i++)
        if (k->speeds.time_s[i] >= from_s)
            top = fmax(top, k->q[i]); /* fmax skips NaN */
    return top;
}

/* The flick that lies over [start, end) or, for a lapse that begins in its tail, just before. */
static double flick_of(const struct fl_take *t, double start_s, double end_s)
{
    double found = FL_UNKNOWN;
    for (size_t i = 0; i < t->n_flicks && t->flicks[i].start_s < end_s; i++)
        if (t->flicks[i].end_s + BEFORE_S > start_s &&
            !(fl_known(found) && t->flicks[i].start_s > start_s))
            found = t->flicks[i].start_s;
    return found;
}

static struct fl_rule_miss miss(const struct fl_track *k, double start_s, double end_s)
{
    return (struct fl_rule_miss){k->take, start_s, end_s, flick_of(k->take, start_s, end_s),
                                 most(k, start_s - BEFORE_S, end_s)};
}

/* Counted off time within [start, end) of which the rule, too, is off. */
static double off_together(const struct fl_track *k, const struct fl_span_list *rule,
                           struct fl_span in)
{
    double sum = 0, on, off;
    for (size_t i = 0; i < rule->n; i++) {
        fl_track_seen(k, fmax(in.start_s, rule->v[i].start_s), fmin(in.end_s, rule->v[i].end_s),
                      &on, &off);
        sum += off;
    }
    return sum;
}

static void find_unexplained(struct fl_rule *r, const struct fl_track *k,
                             const struct fl_span_list *rule, struct fl_arena *arena)
{
    const struct fl_states *s = &k->take->states;
    struct fl_rule_miss *all =
        FL_ARENA(arena, struct fl_rule_miss, r->n_unexplained + s->n_lapses + 1);
    if (r->n_unexplained)
        memcpy(all, r->unexplained, r->n_unexplained * sizeof *all);
    r->unexplained = all;
    for (size_t i = 0; i < s->n_lapses; i++) {
        struct fl_span core = core_of(&s->lapse[i]);
        double on, off;
        fl_track_seen(k, core.start_s, core.end_s, &on, &off);
        if (off > 0 && off_together(k, rule, core) < off / 2)
            all[r->n_unexplained++] = miss(k, s->lapse[i].start_s, s->lapse[i].end_s);
    }
}

static void find_held(struct fl_rule *r, const struct fl_track *k, const struct fl_span_list *rule,
                      struct fl_arena *arena)
{
    struct fl_rule_miss *all = FL_ARENA(arena, struct fl_rule_miss, r->n_held + rule->n + 1);
    if (r->n_held)
        memcpy(all, r->held, r->n_held * sizeof *all);
    r->held = all;
    for (size_t i = 0; i < rule->n; i++) {
        double on, off, frame = r->kernel_ms / 1000;
        fl_track_seen(k, rule->v[i].start_s, rule->v[i].end_s, &on, &off);
        if (on > off && !(on < frame)) /* less than a rendered frame is no disagreement */
            all[r->n_held++] = miss(k, rule->v[i].start_s, rule->v[i].end_s);
    }
}

static void find_misses(struct fl_rule *r, const struct fl_rule_fit *f, struct fl_arena *arena)
{
    struct fl_span_list rule = {0};
    for (size_t i = 0; i < f->n; i++) {
        fl_track_run(&f->track[i], &r->fit, &rule);
        find_unexplained(r, &f->track[i], &rule, arena);
        find_held(r, &f->track[i], &rule, arena);
    }
    free(rule.v);
}

/* ---- one rule ---- */

static void forget(struct fl_rule *r, const struct fl_setting *cell, enum fl_quantity q)
{
    const struct fl_cutoff unknown = {FL_UNKNOWN, FL_UNKNOWN, FL_UNKNOWN, FL_UNKNOWN};
    *r = (struct fl_rule){.game = cell->game,
                          .condition = cell->condition,
                          .quantity = q,
                          .fit = unknown,
                          .low = unknown,
                          .high = unknown,
                          .agreement = FL_UNKNOWN,
                          .agreement_fitted = FL_UNKNOWN,
                          .agreement_always_on = 0.5,
                          .explained_off_share = FL_UNKNOWN,
                          .false_off_share = FL_UNKNOWN};
    double *kernel = FL_NEW(double, cell->n + 1);
    for (size_t i = 0; i < cell->n; i++)
        kernel[i] = cell->takes[i]->kernel_ms;
    r->kernel_ms = fl_median(kernel, cell->n);
    free(kernel);
}

static void settle(struct fl_rule *r, struct fl_rule_fit *f, struct fl_arena *arena)
{
    r->fit = fl_rule_fit_best(f);
    struct fl_disagreement d = fl_rule_fit_judge(f, &r->fit);
    r->agreement_fitted = balanced(&d);
    r->wrong_share = FL_ARENA(arena, double, f->n);
    r->n_wrong_share = f->n > 1 ? f->n : 0;
    r->agreement = f->n > 1 ? left_out(f, r->wrong_share) : FL_UNKNOWN;
    r->explained_off_share = 1 - d.off_wrong_s / d.off_s;
    r->false_off_share = d.on_wrong_s / d.on_s;
    find_misses(r, f, arena);
}

static void set_interval(struct fl_rule *r, struct fl_rule_fit *f, struct fl_arena *arena)
{
    struct fl_rule_band band;
    /* States change with a rendered frame, up to half of one from where a rule in continuous time
     * says: one frame in all is no evidence against a rule. */
    double slack = fl_known(r->kernel_ms) ? r->kernel_ms / 1000 : 0;
    r->draws = FL_ARENA(arena, struct fl_cutoff, DRAWS);
    r->n_draws = DRAWS;
    r->interval_method = fl_rule_fit_interval(f, &r->fit, slack, r->draws, r->n_draws, &band);
    r->low = band.low;
    r->high = band.high;
    r->alike = FL_ARENA(arena, struct fl_cutoff, FL_RULE_ALIKE);
    r->n_alike = FL_RULE_ALIKE;
    memcpy(r->alike, band.alike, sizeof band.alike);
}

/* One rule at work. */
struct work {
    struct tracks tracks;
    struct fl_rule_fit fit;
};

static void fit_rule(struct fl_rule *r, struct work *w, const struct fl_setting *cell,
                     enum fl_quantity q, struct fl_arena *arena)
{
    struct tracks *t = &w->tracks;
    forget(r, cell, q);
    *t = tracks_of(cell, q);
    for (size_t i = 0; i < t->n; i++) {
        r->seen_on_s += t->v[i].total_on_s;
        r->seen_off_s += t->v[i].total_off_s;
        r->takes += t->v[i].total_on_s + t->v[i].total_off_s > 0;
    }
    r->lapses = lapses_seen(t);
    r->refused = refusal(r, t, arena);
    if (!r->refused && !fl_rule_fit_begin(&w->fit, t->v, t->n))
        r->refused = "nothing moved while the state was seen";
    if (!r->refused)
        settle(r, &w->fit, arena);
}

/* ---- the session ---- */

static bool measured(const struct fl_setting *c, int q)
{
    for (size_t i = 0; i < c->n; i++)
        if (c->takes[i]->frames > 0 && c->takes[i]->time_s && c->takes[i]->quantity[q])
            return true;
    return false;
}

/* All quantities of one cell; intervals only for those that may be what is watched: they take the
 * time. */
static void fit_cell(struct fl_session *s, const struct fl_setting *cell)
{
    struct work work[FL_QUANTITIES] = {0};
    struct fl_rule *r = s->rules + s->n_rules;
    size_t n = 0;
    for (int q = 0; q < FL_QUANTITIES && !cell->control; q++)
        if (measured(cell, q)) {
            fit_rule(&r[n], &work[n], cell, q, s->arena);
            n++;
        }
    fl_rules_select(s, r, n);
    for (size_t i = 0; i < n; i++) {
        if (!r[i].refused && (r[i].lead || r[i].rival))
            set_interval(&r[i], &work[i].fit, s->arena);
        fl_rule_fit_end(&work[i].fit);
        finish_tracks(&work[i].tracks);
    }
    s->n_rules += n;
}

void fl_study_rules(struct fl_session *s)
{
    struct fl_setting *cells;
    size_t n = fl_settings(s, true, &cells);
    s->rules = FL_NEW(struct fl_rule, n * FL_QUANTITIES + 1);
    for (size_t i = 0; i < n; i++)
        fit_cell(s, &cells[i]);
}

const struct fl_rule *fl_rule_of(const struct fl_session *s, const char *game,
                                 const char *condition)
{
    for (size_t i = 0; i < s->n_rules; i++) {
        const struct fl_rule *r = &s->rules[i];
        if (r->lead && !r->refused && !strcmp(r->game, game) && !strcmp(r->condition, condition))
            return r;
    }
    return NULL;
}
