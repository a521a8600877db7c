/* Sentences from the same groups and curves as the report's. A share of seen time never stands
 * without the range that unseen time leaves open: rest is unseen, so seen time is mostly time
 * off. */
#include "show/screen/answers.h"

#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include "show/screen/terminal_text.h"
#include "show/text/escape.h"
#include "show/text/game_groups.h"
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

/* What share was off, of what could be told; how far the unseen time leaves it open. */
static void add_share(struct sentence *s, double on_s, double off_s, double unseen_s)
{
    double told = on_s + off_s, all = told + unseen_s;
    if (!(told > 0))
        add(s, "on and off could not be told");
    else if (!(on_s > 0))
        add(s, "never seen on, so nothing can be called a lapse");
    else if (!(off_s > 0))
        add(s, "on whenever it could be told (off for 0 to %.0f %% with the unseen)",
            100 * unseen_s / all);
    else
        add(s, "off for %.0f %% of the time that could be told (%.0f to %.0f %% with the unseen)",
            100 * off_s / told, 100 * off_s / all, 100 * (off_s + unseen_s) / all);
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
        add_share(&s, g->on_s, g->off_s, g->unseen_s);
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
    add_share(&s, e->on_s, e->off_s, e->unseen_s);
    add_lapses(&s, t->states.n_lapses, e->longest_s);
    add(&s, ".");
    put(out, &s);
}
