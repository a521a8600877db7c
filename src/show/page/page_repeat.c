/* How well takes of one setting repeat, and which of them stand out. */
#include <string.h>

#include "show/page/page.h"
#include "show/text/escape.h"
#include "study/compare/repeat.h"
#include "study/curve/curve.h"

static bool of_group(const struct fl_repeat *r, const struct fl_group *g)
{
    return fl_group_has(g, r->game, r->condition);
}

static void put_setting(FILE *out, const struct fl_repeat *r)
{
    const struct fl_curve setting = {.counts_per_inch = r->counts_per_inch,
                                     .degrees_per_count = r->degrees_per_count};
    char text[FL_SETTING_SIZE];
    fl_put_markup(out, fl_setting_text(text, &setting));
}

static void put_warnings(FILE *out, const struct fl_repeat *r)
{
    for (size_t i = 0; i < r->n; i++) {
        if (!r->takes[i].stands_out)
            continue;
        fputs("<strong>Take ", out);
        fl_put_markup(out, r->takes[i].take->spec.id);
        fputs("</strong> ", out);
        fl_put_markup(out, r->takes[i].warning);
        fputs(". ", out);
    }
}

static void put_rows(FILE *out, const struct fl_repeat *r)
{
    for (size_t i = 0; i < r->n; i++) {
        const struct fl_repeat_take *t = &r->takes[i];
        fputs("<tr>", out);
        fl_page_text_cell(out, t->take->spec.id);
        fl_page_count_cell(out, t->flicks);
        fl_page_count_cell(out, t->trips);
        fl_page_range_cell(out, t->v50, t->v50_low, t->v50_high);
        fl_page_text_cell(out, fl_quantity_info(r->quantity)->unit_label);
        fl_page_figure_cell(out, t->v50_ratio);
        fl_page_figure_cell(out, t->v50_p_adjusted);
        fl_page_figure_cell(out, 100 * t->share);
        fl_page_figure_cell(out, t->share_p_adjusted);
        fl_page_figure_cell(out, t->take->states.base_rate_off_hz);
        fl_page_figure_cell(out, t->take->states.base_rate_on_hz);
        fl_page_text_cell(out, t->stands_out ? "stands out" : "");
        fputs("</tr>\n", out);
    }
}

static void put_sentence(FILE *out, const struct fl_repeat *r)
{
    fputs("<p>At ", out);
    put_setting(out, r);
    fputs(": ", out);
    fl_put_markup(out, r->verdict);
    fputs(". ", out);
    put_warnings(out, r);
    if (r->share_refused && r->n > 1) {
        fputs("Off shares could not be compared: ", out);
        fl_put_markup(out, r->share_refused);
        fputs(". ", out);
    }
    fputs("</p>\n", out);
}

/* The rates of a control are the same whatever the mouse is set to: said once. */
static void put_rates(FILE *out, const struct fl_session *s, const struct fl_group *g)
{
    const char *said = NULL;
    for (size_t i = 0; i < s->n_repeats; i++) {
        const struct fl_repeat *r = &s->repeats[i];
        if (!of_group(r, g) || !r->rate.text || (said && !strcmp(said, r->rate.text)))
            continue;
        said = r->rate.text;
        fputs("<p>At ", out);
        put_setting(out, r);
        fputs(", ", out);
        fl_put_markup(out, r->rate.text);
        fputs(".</p>\n", out);
    }
}

void fl_page_repeats(FILE *out, const struct fl_session *s, const struct fl_group *g)
{
    size_t n = 0, takes = 0;
    for (size_t i = 0; i < s->n_repeats; i++)
        if (of_group(&s->repeats[i], g)) {
            n++;
            takes += s->repeats[i].n;
        }
    if (!n)
        return;
    fputs("<h4>Do takes repeat?</h4>\n", out);
    for (size_t i = 0; i < s->n_repeats; i++)
        if (of_group(&s->repeats[i], g))
            put_sentence(out, &s->repeats[i]);
    put_rates(out, s, g);
    if (takes < 2)
        return;
    fputs("<details><summary>Takes beside each other</summary>\n", out);
    fl_page_table_begin(out, "Takes beside each other",
                        (const char *const[]){"take", "#flicks", "#tripped", "#V50 (95 %)", "unit",
                                              "#times the others'", "#p", "#off, like flicks, %",
                                              "#p", "#base rate off", "#on", "", NULL});
    for (size_t i = 0; i < s->n_repeats; i++)
        if (of_group(&s->repeats[i], g))
            put_rows(out, &s->repeats[i]);
    fl_page_table_end(out);
    fputs("</details>\n", out);
}

bool fl_page_repeat_warnings(FILE *out, const struct fl_session *s)
{
    bool any = false;
    for (size_t i = 0; i < s->n_repeats; i++)
        if (s->repeats[i].stands_out) {
            any = true;
            if (out) {
                fputs("<li>", out);
                put_warnings(out, &s->repeats[i]);
                fputs("</li>\n", out);
            }
        }
    return any;
}
