/* Pieces of sentences, each handed on with whether it is a figure to be set off. A share of seen
 * time is not among them: rest is unseen, so seen time is mostly time off. */
#include "show/text/result_words.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/figure.h"
#include "base/mem.h"
#include "base/text_stream.h"
#include "base/units.h"
#include "show/text/game_groups.h"

const char fl_share_assumption[] =
    "Of a recording, rest counts as on unless a lapse goes on through it; left open, all that was "
    "not seen may be on or off.";

struct speech {
    fl_say *say;
    void *to;
};

static void put(const struct speech *s, const char *fmt, ...) __attribute__((format(printf, 2, 3)));

static void put(const struct speech *s, const char *fmt, ...)
{
    char text[400];
    va_list args;
    va_start(args, fmt);
    vsnprintf(text, sizeof text, fmt, args);
    va_end(args);
    s->say(s->to, text, false);
}

static void put_strong(const struct speech *s, const char *text)
{
    s->say(s->to, text, true);
}

/* ---- figures ---- */

const char *fl_share_text(char buf[FL_SHARE_SIZE], double share)
{
    double percent = 100 * share;
    if (!fl_known(share))
        snprintf(buf, FL_SHARE_SIZE, "–");
    else
        snprintf(buf, FL_SHARE_SIZE, percent > 0 && percent < 9.95 ? "%.1f %%" : "%.0f %%",
                 percent);
    return buf;
}

const char *fl_share_range(char buf[FL_SHARE_SIZE], double low, double high)
{
    char from[FL_SHARE_SIZE], to[FL_SHARE_SIZE];
    fl_share_text(from, low);
    fl_share_text(to, high);
    if (!strcmp(from, to)) {
        snprintf(buf, FL_SHARE_SIZE, "%s", to);
        return buf;
    }
    from[strcspn(from, " ")] = 0;
    snprintf(buf, FL_SHARE_SIZE, "%.15s to %.15s", from, to);
    return buf;
}

char *fl_result_name(const struct fl_result *r)
{
    const struct fl_curve of = {.counts_per_inch = r->counts_per_inch,
                                .degrees_per_count = r->degrees_per_count};
    char setting[FL_SETTING_SIZE];
    char *game = fl_group_name(r->game, r->condition);
    char *name = fl_format("%s, %s", game, fl_setting_text(setting, &of));
    free(game);
    return name;
}

const char *fl_rank_text(char buf[FL_RANK_SIZE], const struct fl_result *r)
{
    const struct fl_rank_range *k = &r->rank;
    if (k->first < k->last)
        snprintf(buf, FL_RANK_SIZE, "%zu–%zu", k->first, k->last);
    else if (k->first)
        snprintf(buf, FL_RANK_SIZE, "%zu", k->first);
    else
        snprintf(buf, FL_RANK_SIZE, "–");
    return buf;
}

const char *fl_watched_over(char buf[FL_POOLED_SIZE], const struct fl_watched_v50 *w)
{
    const char *of = w->resolutions ? "resolutions" : "settings";
    if (w->settings == 2)
        snprintf(buf, FL_POOLED_SIZE, "at both %s", of);
    else if (w->settings > 2)
        snprintf(buf, FL_POOLED_SIZE, "at all %zu %s", w->settings, of);
    else
        *buf = 0;
    return buf;
}

/* ---- sentences ---- */

static void say_shares(const struct speech *s, const struct fl_off_shares *o, size_t n)
{
    char at[FL_SHARE_SIZE], range[FL_SHARE_SIZE];
    const char *of = n == 1 ? "this recording" : "these recordings";
    if (!(o->on_s + o->off_s > 0)) {
        put(s, "neither on nor off was seen");
        return;
    }
    if (!(o->on_s > 0)) {
        put(s, "never seen on, so nothing can be called a lapse");
        return;
    }
    put(s, "off for ");
    if (fl_known(o->turning)) {
        put_strong(s, fl_share_text(at, o->turning));
        put(s, " of the time spent turning (%s) and for ",
            fl_share_range(range, o->turning_low, o->turning_high));
    }
    if (fl_known(o->take)) {
        put_strong(s, fl_share_text(at, o->take));
        put(s, " of %s (%s; ", of, fl_share_range(range, o->take_low, o->take_high));
        put(s, "%s if rest is left open)", fl_share_range(range, o->plain_low, o->plain_high));
    } else {
        put_strong(s, fl_share_range(range, o->plain_low, o->plain_high));
        put(s, " of %s (what rest hides cannot be inferred here)", of);
    }
}

static void say_lapses(const struct speech *s, const struct fl_lapse_figures *l)
{
    char rate[FL_FIGURE_SIZE];
    struct fl_interval_text t;
    put(s, "; ");
    if (!l->n) {
        put(s, "no lapse");
        return;
    }
    fl_interval_text(&t, l->per_min, l->per_min_low, l->per_min_high);
    put_strong(s, l->low < l->high ? t.at : fl_rough_figure(rate, l->per_min));
    put(s, " lapses a minute");
    if (l->low < l->high)
        put(s, " (%s to %s)", t.low, t.high);
    if (fl_known(l->median_s))
        put(s, ", median length %s s", fl_rough_figure(rate, l->median_s));
    else
        put(s, ", median length not known");
}

/* "110 to 150", "at least 110". */
static void say_range(const struct speech *s, double x, double low, double high)
{
    struct fl_interval_text t;
    fl_interval_text(&t, x, low, high);
    if (fl_known(low) && fl_known(high))
        put(s, "%s to %s", t.low, t.high);
    else if (fl_known(low) || fl_known(high))
        put(s, "%s %s", fl_known(low) ? "at least" : "at most", fl_known(low) ? t.low : t.high);
    else
        put(s, "open at both ends");
}

static void say_speed(const struct speech *s, const char *figure, enum fl_quantity q)
{
    char text[FL_FIGURE_SIZE + 32];
    snprintf(text, sizeof text, "%s %s", figure, fl_quantity_info(q)->unit_label);
    put_strong(s, text);
}

/* With one take its own leads: how far another would lie from it is the prior's to say. */
static void say_number(const struct speech *s, const struct fl_curve *c)
{
    const struct fl_take_v50 *own = fl_curve_one_take(c);
    const double v = own ? own->v50 : c->v50, low = own ? own->low : c->v50_low,
                 high = own ? own->high : c->v50_high;
    struct fl_interval_text t;
    say_speed(s, fl_interval_text(&t, v, low, high)->at, c->quantity);
    put(s, own ? " in the one take recorded (" : " (");
    say_range(s, v, low, high);
    if (own) {
        put(s, "; another take may differ: ");
        say_range(s, FL_UNKNOWN, c->another_low, c->another_high);
    }
    put(s, ")");
}

static void say_v50(const struct speech *s, const struct fl_curve *c)
{
    if (!c || c->bound == FL_BOUND_TOO_FEW) {
        put(s, "too few flicks for a trip speed");
    } else if (c->bound == FL_BOUND_NO_RELATION) {
        put(s, "no trip speed: faster flicks did not trip it more often");
    } else if (c->bound == FL_BOUND_NONE) {
        put(s, "V50 ");
        say_number(s, c);
    } else {
        bool above = c->bound == FL_BOUND_ABOVE;
        put(s, "%s, V50 %s ", above ? "no flick tripped it" : "the slowest flicks trip it",
            above ? "above" : "below");
        char at[FL_FIGURE_SIZE];
        say_speed(s, fl_figure(at, c->bound_at), c->quantity);
    }
}

static void say_trip(const struct speech *s, const struct fl_result *r)
{
    char over[FL_POOLED_SIZE];
    const struct fl_watched_v50 *w = &r->watched;
    say_v50(s, r->curve);
    if (!w->curve || w->curve->bound != FL_BOUND_NONE || !fl_known(w->curve->v50))
        return;
    put(s, ", ");
    say_number(s, w->curve);
    put(s, "%s%s", w->settings > 1 ? " " : "", fl_watched_over(over, w));
}

static void say_how_often(const struct speech *s, const struct fl_result *r)
{
    say_shares(s, &r->shares, r->share_takes);
    if (r->shares.on_s > 0)
        say_lapses(s, &r->lapses);
}

static void say_measured(const struct speech *s, const struct fl_result *r)
{
    if (r->drill) {
        say_trip(s, r);
        put(s, "; of these deliberate flicks: ");
        say_how_often(s, r);
    } else {
        say_how_often(s, r);
        put(s, "; ");
        say_trip(s, r);
    }
    if (r->share_takes < r->takes)
        put(s, "; shares and lapses are those of play, %zu of %zu takes", r->share_takes, r->takes);
    put(s, ".");
    if (r->why)
        put(s, " Not to be quoted: %s.", r->why);
}

void fl_say_result(const struct fl_result *r, fl_say *say, void *to)
{
    const struct speech s = {say, to};
    if (!r->control)
        say_measured(&s, r);
    else
        put(&s, "a control, the feature disabled; %s.",
            r->lapses.n ? "lapses were found all the same: distrust the others"
                        : "no lapse found, as it should be");
}

void fl_say_shares(const struct fl_off_shares *o, size_t n, fl_say *say, void *to)
{
    say_shares(&(struct speech){say, to}, o, n);
}

void fl_say_lapses(const struct fl_lapse_figures *l, fl_say *say, void *to)
{
    say_lapses(&(struct speech){say, to}, l);
}

void fl_say_trip(const struct fl_result *r, fl_say *say, void *to)
{
    say_trip(&(struct speech){say, to}, r);
}

static void to_stream(void *to, const char *text, bool strong)
{
    (void)strong;
    fputs(text, to);
}

char *fl_result_sentence(const struct fl_result *r)
{
    struct fl_text_stream stream;
    fl_say_result(r, to_stream, fl_text_begin(&stream));
    return fl_text_end(&stream);
}
