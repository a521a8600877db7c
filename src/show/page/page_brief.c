/* The first screen: one sentence a game, or a game and condition. */
#include <stdlib.h>

#include "show/page/page.h"
#include "show/text/off_shares.h"
#include "study/curve/curve.h"

/* Of the recording, which is what a reader takes "how often" for; where that cannot be inferred,
 * its range. */
static void put_share(FILE *out, const struct fl_group *g)
{
    char share[FL_FIGURE_SIZE], low[FL_FIGURE_SIZE], high[FL_FIGURE_SIZE];
    const struct fl_off_shares o = fl_off_shares_of(g->takes, g->n_takes);
    if (!(g->on_s + g->off_s > 0))
        fputs("whether on or off could not be told", out);
    else if (fl_known(o.take))
        fprintf(out, "off for <strong>%s</strong> of the recording (%s to %s)",
                fl_percent(share, o.take), fl_percent(low, o.take_low),
                fl_percent(high, o.take_high));
    else
        fprintf(out, "off for %s to %s of the recording", fl_percent(low, o.plain_low),
                fl_percent(high, o.plain_high));
}

static void put_v50(FILE *out, const struct fl_curve *c)
{
    char at[FL_FIGURE_SIZE], low[FL_FIGURE_SIZE], high[FL_FIGURE_SIZE];
    const char *unit = fl_quantity_info(c->quantity)->unit_label;
    fprintf(out, "even chance to trip at <strong>%s %s</strong>", fl_figure(at, c->v50), unit);
    fl_figure(low, c->v50_low);
    fl_figure(high, c->v50_high);
    if (fl_known(c->v50_low) && fl_known(c->v50_high))
        fprintf(out, " (%s to %s)", low, high);
    else if (fl_known(c->v50_low))
        fprintf(out, " (%s or more)", low);
    else if (fl_known(c->v50_high))
        fprintf(out, " (%s or less)", high);
}

static void put_trip(FILE *out, const struct fl_group *g)
{
    const struct fl_curve *c = fl_group_curve(g);
    char at[FL_FIGURE_SIZE];
    if (!c || c->bound == FL_BOUND_TOO_FEW) {
        fputs("too few flicks for a trip speed", out);
        return;
    }
    const char *unit = fl_quantity_info(c->quantity)->unit_label;
    fl_figure(at, c->bound_at);
    if (c->bound == FL_BOUND_NONE)
        put_v50(out, c);
    else if (c->bound == FL_BOUND_ABOVE)
        fprintf(out, "no flick tripped it, even chance <strong>above %s %s</strong>", at, unit);
    else if (c->bound == FL_BOUND_BELOW)
        fprintf(out, "the slowest flicks trip it, even chance <strong>below %s %s</strong>", at,
                unit);
    else if (c->bound == FL_BOUND_NOT_POOLED)
        fputs("each setting has a trip speed of its own", out);
    else
        fputs("faster flicks did <strong>not</strong> trip it more often", out);
}

static void put_resolution(FILE *out, const struct fl_session *s, const struct fl_group *g)
{
    enum fl_answer matters = fl_page_resolution(s, g);
    fputs(matters == FL_YES  ? "mouse resolution <strong>matters</strong>"
          : matters == FL_NO ? "mouse resolution does not matter noticeably"
                             : "mouse resolution: cannot tell",
          out);
}

static void put_sentence(FILE *out, const struct fl_session *s, const struct fl_group *g)
{
    char *name = fl_group_name(g->game ? g->game : "(no game named)", g->condition);
    fputs("<li><strong><bdi>", out);
    fl_put_markup(out, name);
    fputs("</bdi></strong>: ", out);
    put_share(out, g);
    fputs("; ", out);
    put_trip(out, g);
    fputs("; ", out);
    put_resolution(out, s, g);
    fputs(".</li>\n", out);
    free(name);
}

void fl_page_brief(FILE *out, const struct fl_session *s, const struct fl_groups *g)
{
    fputs("<ul class=\"brief\">\n", out);
    for (size_t i = 0; i < g->n; i++)
        if (!g->v[i].control)
            put_sentence(out, s, &g->v[i]);
    fputs("</ul>\n", out);
}
