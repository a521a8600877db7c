/* Bodies of publication charts in the page, in its own colours: what one game's resolutions and
 * delays show. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "show/chart/chart.h"
#include "show/page/page.h"

enum { EDGE = 12 };

static double height(const void *data, double width)
{
    const struct fl_chart *p = data;
    return fmax(p->least_h, 0.42 * width) + 2 * EDGE;
}

static void draw(struct fl_surface *c, const void *data)
{
    const struct fl_chart *p = data;
    p->draw(c, (struct fl_box){EDGE, EDGE, c->width - 2 * EDGE, c->height - 2 * EDGE}, p->data);
}

/* As wide as it must be to be read; a narrow screen rolls it. */
static void put_chart(FILE *out, struct fl_chart p, const char *id)
{
    struct fl_drawing d = {.title = fl_strdup(p.title),
                           .desc = fl_strdup(p.desc),
                           .height = height,
                           .draw = draw,
                           .data = &p};
    char *svg = fl_drawing_svg(&d, fmax(FL_PAGE_WIDE, p.least_w + 2 * EDGE), id);
    fputs("<figure>\n<div class=\"roll\" tabindex=\"0\" role=\"region\" aria-label=\"", out);
    fl_put_markup(out, p.title);
    fprintf(out, "\">%s</div>\n<figcaption><strong>", svg);
    fl_put_markup(out, p.title);
    fputs("</strong><br>", out);
    fl_put_markup(out, p.lead);
    fputs(". ", out);
    fl_put_markup(out, p.note);
    fputs("</figcaption></figure>\n", out);
    free(svg);
    fl_drawing_finish(&d);
    fl_chart_finish(&p);
}

void fl_page_resolutions(FILE *out, const struct fl_session *s, const struct fl_group *g,
                         size_t number)
{
    const struct fl_resolutions r = {s, g};
    char id[32];
    snprintf(id, sizeof id, "cpi%zu-", number);
    if (fl_resolution_chart_due(&r))
        put_chart(out, fl_resolution_chart(&r), id);
}

void fl_page_delays(FILE *out, const struct fl_session *s, const struct fl_group *g, size_t number)
{
    struct fl_waits_of w;
    char id[32];
    snprintf(id, sizeof id, "delay%zu-", number);
    if (fl_delay_chart_find(&w, s, g))
        put_chart(out, fl_delay_chart(&w), id);
}
