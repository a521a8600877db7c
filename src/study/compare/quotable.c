/* Conventions: three takes show a spread, a tenth of open time can move a share by no more than
 * itself, and a V50 within a factor of two still says something of a hand's speed. */
#include "study/compare/quotable.h"

#include <stdlib.h>

#include "base/text_stream.h"

struct reasons {
    struct fl_text_stream full, brief;
    FILE *out[2];
    bool any;
};

static void add(struct reasons *r, const char *full, const char *brief)
{
    const char *text[2] = {full, brief};
    for (int i = 0; i < 2; i++)
        fprintf(r->out[i], "%s%s", r->any ? "; " : "", text[i]);
    r->any = true;
}

static void count_takes(struct reasons *to, size_t n, const char *of)
{
    char full[80], brief[40];
    if (n >= FL_QUOTABLE_TAKES)
        return;
    snprintf(brief, sizeof brief, "%zu take%s", n, n == 1 ? "" : "s");
    snprintf(full, sizeof full, "%s%s, %d are needed", brief, of, FL_QUOTABLE_TAKES);
    add(to, full, brief);
}

static void judge_takes(struct reasons *to, const struct fl_result *r)
{
    const struct fl_curve *c = r->curve;
    count_takes(to, r->share_takes, "");
    if (c && r->share_takes >= FL_QUOTABLE_TAKES && c->bound == FL_BOUND_NONE)
        count_takes(to, (size_t)c->takes, " with flicks that count");
}

static void judge_open(struct reasons *to, const struct fl_off_shares *s)
{
    char full[80], brief[40];
    if (s->open > FL_QUOTABLE_OPEN) {
        snprintf(full, sizeof full, "%.0f %% of the time is open, %.0f at most", 100 * s->open,
                 100 * FL_QUOTABLE_OPEN);
        snprintf(brief, sizeof brief, "%.0f %% open", 100 * s->open);
        add(to, full, brief);
    } else if (!fl_known(s->open) || !fl_known(s->take)) {
        add(to, "what unseen time was cannot be inferred", "unseen time");
    }
}

static void judge_v50(struct reasons *to, const struct fl_curve *c)
{
    char full[80], brief[40];
    bool number = c && c->bound == FL_BOUND_NONE && fl_known(c->v50);
    bool sided = c && (c->bound == FL_BOUND_ABOVE || c->bound == FL_BOUND_BELOW);
    double width = number ? c->v50_high / c->v50_low : FL_UNKNOWN; /* NaN: open */
    if (!number) {
        add(to, sided ? "its V50 is only a bound" : "it has no V50", sided ? "a bound" : "no V50");
    } else if (!fl_known(width)) {
        add(to, "the interval of its V50 is open", "V50 open");
    } else if (width > FL_QUOTABLE_WIDTH) {
        snprintf(full, sizeof full, "its V50 is known within a factor of %.1f, %g at most", width,
                 FL_QUOTABLE_WIDTH);
        snprintf(brief, sizeof brief, "V50 within ×%.1f", width);
        add(to, full, brief);
    }
}

static const char *keep(struct fl_text_stream *stream, bool any, struct fl_arena *arena)
{
    char *text = fl_text_end(stream);
    const char *kept = any ? fl_arena_strdup(arena, text) : NULL;
    free(text);
    return kept;
}

void fl_quotable_judge(struct fl_result *r, struct fl_arena *arena)
{
    struct reasons to = {.any = false};
    to.out[0] = fl_text_begin(&to.full);
    to.out[1] = fl_text_begin(&to.brief);
    judge_takes(&to, r);
    judge_open(&to, &r->shares);
    judge_v50(&to, r->curve);
    r->why = keep(&to.full, to.any, arena);
    r->why_short = keep(&to.brief, to.any, arena);
}
