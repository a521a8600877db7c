/* Sentences from the same groups and curves as the report's. How often is a share of the time spent
 * turning and of the recording, never of seen time: rest is unseen, so seen time is mostly time
 * off. */
#include "show/screen/answers.h"

#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include "show/screen/terminal_text.h"
#include "show/text/escape.h"
#include "show/text/game_groups.h"
#include "show/text/off_shares.h"
#include "study/compare/comparison.h"
#include "study/curve/curve.h"

enum { SHOWN_COMPARISONS = 4 }; /* of one game and condition; the report has them all */

struct sentence {
    char text[1200];
};

static void add(struct sentence *s, const char *fmt, ...) __attribute__((format(printf, 2, 3)));

static void add(struct sentence *s, const char *fmt, ...)
{
    size_t used = strlen(s->text);
    va_list args;
    va_start(args, fmt);
    vsnprintf(s->text + used, sizeof s->text - used, fmt, args);
    va_end(args);
}

static void put(FILE *out, const struct sentence *s)
{
    fl_put_wrapped(out, s->text, 0, 2);
}

/* How often it was off: while turning, then of the recording, with what that assumes. */
static void add_share(struct sentence *s, const struct fl_off_shares *o)
{
    if (!(o->on_s + o->off_s > 0)) {
        add(s, "on and off could not be told");
        return;
    }
    if (!(o->on_s > 0)) {
        add(s, "never seen on, so nothing can be called a lapse");
        return;
    }
    if (fl_known(o->turning))
        add(s, "off for %.0f %% of the time spent turning (%.0f to %.0f %%) and for ",
            100 * o->turning, 100 * o->turning_low, 100 * o->turning_high);
    else
        add(s, "off for ");
    if (fl_known(o->take))
        add(s,
            "%.0f %% of the recording (%.0f to %.0f %%; rest counts as on unless a lapse goes on "
            "through it, without that %.0f to %.0f %%)",
            100 * o->take, 100 * o->take_low, 100 * o->take_high, 100 * o->plain_low,
            100 * o->plain_high);
    else
        add(s, "%.0f to %.0f %% of the recording (what rest hides cannot be inferred here)",
            100 * o->plain_low, 100 * o->plain_high);
}

static void add_lapses(struct sentence *s, size_t lapses, double longest_s)
{
    if (lapses)
        add(s, ", %zu lapse%s, the longest %.2f s", lapses, lapses == 1 ? "" : "s", longest_s);
}

static void put_group(FILE *out, const struct fl_group *g)
{
    struct sentence s = {""};
    const struct fl_curve *c = g->pooled ? g->pooled : g->n_curves == 1 ? g->curve[0] : NULL;
    char *name = fl_group_name(g->game, g->condition), v50[FL_V50_SIZE];
    add(&s, "%.300s: ", name);
    free(name);
    if (g->control) {
        add(&s, "a control, the feature disabled; %s",
            g->lapses ? "lapses were found all the same: distrust the others"
                      : "no lapse found, as it should be");
    } else {
        const struct fl_off_shares shares = fl_off_shares_of(g->takes, g->n_takes);
        add_share(&s, &shares);
        add_lapses(&s, g->lapses, g->longest_s);
        if (c)
            add(&s, "; %s", fl_v50_text(v50, c));
        if (c && c->flicks)
            add(&s, ", %d of %d flicks tripped", c->trips, c->flicks);
    }
    add(&s, ".");
    put(out, &s);
}

static bool same(const char *a, const char *b)
{
    return a == b || (a && b && !strcmp(a, b));
}

static bool concerns(const struct fl_comparison *c, const struct fl_group *g)
{
    return c->verdict && c->quantity == g->quantity && same(c->game, g->game) &&
           same(c->a->condition, g->condition);
}

static void put_comparisons(FILE *out, const struct fl_session *s, const struct fl_group *g)
{
    int n = 0;
    for (size_t i = 0; i < s->n_comparisons; i++) {
        if (!concerns(&s->comparisons[i], g) || n++ >= SHOWN_COMPARISONS)
            continue;
        fputs("  ", out);
        fl_put_wrapped(out, s->comparisons[i].verdict, 2, 4);
    }
    if (n > SHOWN_COMPARISONS)
        fprintf(out, "  %d more comparison%s in the report\n", n - SHOWN_COMPARISONS,
                n == SHOWN_COMPARISONS + 1 ? "" : "s");
}

void fl_put_answers(FILE *out, const struct fl_session *s)
{
    struct fl_groups groups;
    fl_groups_make(&groups, s);
    for (size_t i = 0; i < groups.n; i++) {
        put_group(out, &groups.v[i]);
        put_comparisons(out, s, &groups.v[i]);
    }
    fl_groups_finish(&groups);
}

void fl_put_take_answer(FILE *out, const struct fl_take *t)
{
    const struct fl_exposure *e = &t->exposure;
    struct sentence s = {""};
    add(&s, "%s: ", t->spec.id);
    const struct fl_off_shares shares = fl_off_shares_of(&t, 1);
    add_share(&s, &shares);
    add_lapses(&s, t->states.n_lapses, e->longest_s);
    add(&s, ".");
    put(out, &s);
}
