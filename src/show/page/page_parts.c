/* Pieces that every part of the page uses. */
#include <math.h>
#include <stdlib.h>

#include "show/page/page.h"
#include "base/figure.h"
#include "show/store/json_value.h"
#include "show/text/escape.h"
#include "show/text/lapse_words.h"

static void put_head_row(FILE *out, const char *const *names)
{
    fputs("<thead><tr>", out);
    for (; *names; names++) {
        const bool figures = **names == '#', screen = **names == '!';
        if (!**names) { /* a column without a name has no head to read out */
            fputs("<td></td>", out);
            continue;
        }
        fprintf(out, "<th scope=\"col\"%s>",
                figures  ? " class=\"n\""
                : screen ? " class=\"on-screen\""
                         : "");
        fl_put_markup(out, *names + (figures || screen));
        fputs("</th>", out);
    }
    fputs("</tr></thead>\n", out);
}

void fl_page_text_cell(FILE *out, const char *text)
{
    fputs("<td>", out);
    fl_put_markup(out, text);
    fputs("</td>", out);
}

void fl_page_figure_cell(FILE *out, double x)
{
    char figure[FL_FIGURE_SIZE];
    fprintf(out, "<td class=\"n\">%s</td>", isfinite(x) ? fl_figure(figure, x) : "");
}

void fl_page_sureness_cell(FILE *out, double p)
{
    char sure[FL_FIGURE_SIZE];
    fputs("<td class=\"n\">", out);
    fl_put_markup(out, fl_sureness_text(sure, p));
    fputs("</td>", out);
}

void fl_page_range_cell(FILE *out, double at, double low, double high)
{
    struct fl_interval_text t;
    fl_interval_text(&t, at, low, high);
    fprintf(out, "<td class=\"n\">%s", fl_known(at) ? t.at : "");
    if (fl_known(low) || fl_known(high))
        fprintf(out, "%s(%s–%s)", fl_known(at) ? " " : "", fl_known(low) ? t.low : "",
                fl_known(high) ? t.high : "");
    fputs("</td>", out);
}

static void put_cells(FILE *out, const struct fl_interval_text *t, double at, double low,
                      double high)
{
    fprintf(out, "<td class=\"n\">%s</td><td class=\"n\">%s</td><td class=\"n\">%s</td>",
            fl_known(at) ? t->at : "", fl_known(low) ? t->low : "", fl_known(high) ? t->high : "");
}

void fl_page_interval_cells(FILE *out, double at, double low, double high)
{
    struct fl_interval_text t;
    put_cells(out, fl_interval_text(&t, at, low, high), at, low, high);
}

void fl_page_ratio_cells(FILE *out, double ratio, double low, double high)
{
    struct fl_interval_text t;
    put_cells(out, fl_ratio_text(&t, ratio, low, high), ratio, low, high);
}

void fl_page_count_cell(FILE *out, long n)
{
    fprintf(out, "<td class=\"n\">%ld</td>", n);
}

void fl_page_table_begin(FILE *out, const char *label, const char *const *names)
{
    fputs("<div class=\"table data\" role=\"group\" tabindex=\"0\" aria-label=\"", out);
    fl_put_markup(out, label);
    fputs("\"><table>\n", out);
    put_head_row(out, names);
    fputs("<tbody>\n", out);
}

void fl_page_table_end(FILE *out)
{
    fputs("</tbody></table></div>\n", out);
}

const char *fl_percent(char buf[FL_FIGURE_SIZE], double share)
{
    double percent = 100 * share;
    if (!isfinite(share))
        snprintf(buf, FL_FIGURE_SIZE, "–");
    else
        snprintf(buf, FL_FIGURE_SIZE,
                 percent > 0 && percent < 9.95 ? "%.1f\u00a0%%" : "%.0f\u00a0%%",
                 percent); /* no line break before the sign */
    return buf;
}

void fl_page_json(FILE *out, json_t *value)
{
    char *text = fl_json_text_of(value, JSON_COMPACT | JSON_ESCAPE_SLASH | JSON_ENSURE_ASCII |
                                            JSON_REAL_PRECISION(12));
    for (const char *p = text; *p; p++)
        if (*p == '<') /* only inside strings */
            fputs("\\u003c", out);
        else
            fputc(*p, out);
    free(text);
}
