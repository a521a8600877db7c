/* The one caution that stands first: what most limits what a reader may conclude, in plain words,
 * and what to do about it. Details of the recordings follow further down (page_warnings.c). */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "show/page/page.h"
#include "show/text/escape.h"
#include "study/compare/quotable.h"

/* How many rows of the ranking there are, and how many of them lack something. */
struct rows {
    size_t n, open, few, one, wide;
    double most_open; /* 0..1 */
};

static struct rows count_rows(const struct fl_session *s)
{
    struct rows k = {0};
    for (size_t i = 0; i < s->n_results; i++) {
        const struct fl_result *r = &s->results[i];
        const struct fl_curve *c = r->curve;
        if (r->control)
            continue;
        k.n++;
        if (!(r->shares.open <= FL_QUOTABLE_OPEN)) {
            k.open++;
            k.most_open = fmax(k.most_open, r->shares.open); /* fmax skips NaN */
        }
        k.one += r->share_takes == 1;
        k.few += r->share_takes < FL_QUOTABLE_TAKES;
        k.wide += !c || !(c->v50_high / c->v50_low <= FL_QUOTABLE_WIDTH);
    }
    return k;
}

/* "In all 6 settings", "In both settings", "In 2 of 6 settings", "In the one setting". */
enum { OF_SIZE = 64 };
static const char *in_settings(char buf[OF_SIZE], size_t k, size_t n)
{
    if (n == 1)
        snprintf(buf, OF_SIZE, "In the one setting");
    else if (k == n && n == 2)
        snprintf(buf, OF_SIZE, "In both settings");
    else if (k == n)
        snprintf(buf, OF_SIZE, "In all %zu settings", n);
    else
        snprintf(buf, OF_SIZE, "In %zu of %zu settings", k, n);
    return buf;
}

/* malloc'ed; NULL: nothing limits what may be said. */
static char *strongest(const struct fl_session *s)
{
    char of[OF_SIZE];
    const struct rows k = count_rows(s);
    if (s->n_failed)
        return fl_format(
            "%zu take%s could not be measured, so the figures rest on the others. Mend "
            "or replace %s.",
            s->n_failed, s->n_failed == 1 ? "" : "s", s->n_failed == 1 ? "it" : "them");
    if (k.open && k.open >= k.few)
        return k.most_open > 0
                   ? fl_format(
                         "%s more than a tenth of the time (up to %.0f %%) can be neither seen "
                         "nor inferred, so off shares are ranges there. Record where more "
                         "moves, or longer.",
                         in_settings(of, k.open, k.n), 100 * k.most_open)
                   : fl_format(
                         "%s what unseen time was cannot be inferred, so off shares are ranges "
                         "there. Record more turns that trip and return.",
                         in_settings(of, k.open, k.n));
    if (fl_page_repeat_warnings(NULL, s))
        return fl_strdup("A take differs from the others of its setting by more than chance. See "
                         "what was different about it before any of its setting’s figures are "
                         "quoted.");
    if (k.few)
        return fl_format(
            "%s there are fewer than three takes%s, so how much takes differ is hardly "
            "known. Record three of each before quoting.",
            in_settings(of, k.few, k.n), k.one == k.few && k.n > 1 ? ", namely one" : "");
    if (k.wide)
        return fl_format("%s the trip speed is known no better than within a factor of two. Record "
                         "more turns near it; flinch plan says which.",
                         in_settings(of, k.wide, k.n));
    return NULL;
}

void fl_page_caution(FILE *out, const struct fl_session *s)
{
    char *text = strongest(s);
    if (text || fl_page_warned(s)) {
        fputs("<p class=\"mind\"><strong>Mind first:</strong> ", out);
        fl_put_markup(out, text ? text
                                : "what was unseen is inferred: rest counts as on unless a lapse "
                                  "goes on through it.");
        if (fl_page_warned(s))
            fputs(" <a href=\"#cautions\">More</a>", out);
        fputs("</p>\n", out);
    }
    free(text);
}
