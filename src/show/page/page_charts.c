/* Charts in the page: their bodies in its own colours, their words as text. What can be drawn
 * narrow stands there for a wide page and for a phone, and the style sheet shows the one that fits.
 * Where the script draws a take, its still chart is for paper and is there once. */
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "show/page/page.h"
#include "show/page/page_code.h"
#include "show/text/escape.h"

static void put_form(FILE *out, const struct fl_chart *p, const char *id, const char *name,
                     double width)
{
    char *prefix = fl_format("%s-%c-", id, *name);
    char *svg = fl_chart_body_svg(p, width, prefix);
    fprintf(out, "<svg class=\"%s\"%s\n", name, svg + strlen("<svg"));
    free(svg);
    free(prefix);
}

/* As wide as it must be to be read; a narrow screen rolls it. */
static void put_rolled(FILE *out, const struct fl_chart *p, const char *id)
{
    char *svg = fl_chart_body_svg(p, FL_PAGE_WIDE, id);
    fputs("<div class=\"roll\" tabindex=\"0\" role=\"region\" aria-label=\"", out);
    fl_put_markup(out, p->title);
    fprintf(out, "\">%s</div>\n", svg);
    free(svg);
}

/* Finishes p. */
static void put_chart(FILE *out, struct fl_chart p, const char *id, bool paper)
{
    fprintf(out, "<figure%s>\n", p.height ? " class=\"still\"" : "");
    if (p.height && !paper) {
        put_form(out, &p, id, "wide", FL_PAGE_WIDE);
        put_form(out, &p, id, "phone", FL_PAGE_PHONE);
    } else {
        put_rolled(out, &p, id);
    }
    fputs("<figcaption><strong>", out);
    fl_put_markup(out, p.title);
    fputs("</strong><br>", out);
    fl_put_markup(out, p.lead);
    fputs(". ", out);
    fl_put_markup(out, p.note);
    fputs("</figcaption></figure>\n", out);
    fl_chart_finish(&p);
}

void fl_page_charts(FILE *out, enum fl_chart_scope scope, const struct fl_chart_of *of,
                    size_t number)
{
    for (int k = 0; k < FL_CHART_KINDS; k++) {
        const struct fl_chart_kind *kind = &fl_chart_kinds[k];
        if (kind->scope != scope || (kind->due && !kind->due(of)))
            continue;
        char *id = fl_format("%s%zu", fl_chart_kind_words[k], number);
        put_chart(out, kind->make(of), id, of->t && fl_page_code.script);
        free(id);
    }
}
