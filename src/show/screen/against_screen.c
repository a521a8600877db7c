/* First a sentence a setting, then the figures behind it: what can be compared in rows, what
 * cannot with its reason, each reason once; what leaves several settings untested is said once for
 * all of them. */
#include "show/screen/against_screen.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

#include "base/figure.h"
#include "base/mem.h"
#include "base/text_stream.h"
#include "show/screen/terminal_text.h"
#include "study/curve/curve.h"

enum { NAME = 30, LABEL = 28, SIDE = 10, CHANGE = 23, FOLDER = 60, ROWS = FL_QUANTITIES + 4 };

/* ---- names ---- */

/* Like fl_put_cell, but never padded. */
static void put_cut(FILE *out, const char *text, int most)
{
    int columns = fl_text_columns(text);
    fl_put_cell(out, text, columns < most ? columns : most);
}

static void put_mouse(FILE *out, const struct fl_setting *c)
{
    if (fl_known(c->counts_per_inch))
        fprintf(out, ", %.6g DPI", c->counts_per_inch);
    if (fl_known(c->degrees_per_count))
        fprintf(out, ", %.3g deg/count", c->degrees_per_count);
}

/* "Glass Canyon / default, 800 DPI, 0.044 deg/count"; malloc'ed. */
static char *name_of(const struct fl_setting *c, bool mouse)
{
    struct fl_text_stream stream;
    FILE *out = fl_text_begin(&stream);
    put_cut(out, c->game, NAME);
    fputs(" / ", out);
    put_cut(out, c->condition, NAME);
    if (mouse)
        put_mouse(out, c);
    if (c->control)
        fputs(", synthesis disabled", out);
    return fl_text_end(&stream);
}

/* Whether another setting has the same game, condition and control. */
static bool shares_name(const struct fl_against *a, size_t k)
{
    const struct fl_setting *c = &a->setting[k].now;
    for (size_t i = 0; i < a->n; i++) {
        const struct fl_setting *d = &a->setting[i].now;
        if (i != k && !strcmp(c->game, d->game) && !strcmp(c->condition, d->condition) &&
            c->control == d->control)
            return true;
    }
    return false;
}

/* ---- rows ---- */

struct row {
    char label[48];
    const struct fl_change *change;
    double scale;
    bool ratio;
    char before[16], now[16];
};

static void side_text(char *text, size_t size, double x)
{
    char figure[FL_FIGURE_SIZE];
    snprintf(text, size, "%s", fl_known(x) ? fl_figure(figure, x) : "-");
}

/* Bounds as ">400" or "<15". */
static void v50_text(char *text, size_t size, const struct fl_curve *c)
{
    bool bound = c && (c->bound == FL_BOUND_ABOVE || c->bound == FL_BOUND_BELOW);
    char figure[FL_FIGURE_SIZE];
    if (bound)
        snprintf(text, size, "%c%s", c->bound == FL_BOUND_ABOVE ? '>' : '<',
                 fl_figure(figure, c->bound_at));
    else
        side_text(text, size, c ? c->v50 : FL_UNKNOWN);
}

static struct row row_of(const char *label, const struct fl_change *c, double scale, bool ratio)
{
    struct row r = {.change = c, .scale = scale, .ratio = ratio};
    snprintf(r.label, sizeof r.label, "%s", label);
    side_text(r.before, sizeof r.before, scale * c->before);
    side_text(r.now, sizeof r.now, scale * c->now);
    return r;
}

static size_t rows_of(struct row *rows, const struct fl_against_setting *s)
{
    size_t n = 0;
    for (size_t i = 0; i < s->n_v50; i++) {
        const struct fl_against_v50 *v = &s->v50[i];
        const struct fl_quantity_info *q = fl_quantity_info(v->quantity);
        char label[48];
        snprintf(label, sizeof label, "V50 %s%s%s", q->label, *q->unit_label ? ", " : "",
                 q->unit_label);
        rows[n] = row_of(label, &v->change, 1, true);
        v50_text(rows[n].before, sizeof rows[n].before, v->before);
        v50_text(rows[n].now, sizeof rows[n].now, v->now);
        n++;
    }
    if (!s->now.control) {
        rows[n++] = row_of("off share of like flicks, %", &s->off_share, 100, false);
        rows[n++] = row_of("base rate on, 1/s", &s->base_on, 1, true);
    }
    rows[n++] = row_of("base rate off, 1/s", &s->base_off, 1, true);
    if (!s->now.control)
        rows[n++] = row_of("lapses a minute", &s->lapses, 1, false);
    assert(n <= ROWS);
    return n;
}

/* What is not known stays as it is. */
static void put_number(char *text, size_t size, double x, const char *figure, bool ratio)
{
    if (!fl_known(x))
        return;
    bool nothing = !ratio && strtod(figure, NULL) == 0;
    snprintf(text, size, "%s%s", ratio || x < 0 || nothing ? "" : "+", nothing ? "+0" : figure);
}

/* "x1.18 (1.05 to 1.33)", "-5.1 (-9 to -1.2)"; open ends blank. */
static void change_text(char *text, size_t size, const struct row *r)
{
    const struct fl_change *c = r->change;
    char at[FL_FIGURE_SIZE + 2] = "-", low[FL_FIGURE_SIZE + 2] = "", high[FL_FIGURE_SIZE + 2] = "";
    const double x = r->scale * c->change, a = r->scale * c->low, b = r->scale * c->high;
    struct fl_interval_text t;
    if (r->ratio)
        fl_ratio_text(&t, x, a, b);
    else
        fl_interval_text(&t, x, a, b);
    put_number(at, sizeof at, x, t.at, r->ratio);
    put_number(low, sizeof low, a, t.low, r->ratio);
    put_number(high, sizeof high, b, t.high, r->ratio);
    bool one_sided = !fl_known(c->change);
    if (!*low && !*high)
        snprintf(text, size, "%s%s", r->ratio && fl_known(c->change) ? "x" : "", at);
    else if (one_sided)
        snprintf(text, size, "%sx%s", *low ? ">" : "<", *low ? low : high);
    else
        snprintf(text, size, "%s%s (%s to %s)", r->ratio ? "x" : "", at, low, high);
}

static void put_p(FILE *out, double p)
{
    if (!fl_known(p))
        fprintf(out, "%7s\n", "-");
    else if (p < 0.0005)
        fprintf(out, "%7s\n", "<0.001");
    else
        fprintf(out, "%7.3f\n", p);
}

static void put_row(FILE *out, const struct row *r)
{
    char change[64];
    change_text(change, sizeof change, r);
    fputs("  ", out);
    fl_put_cell(out, r->label, LABEL);
    fprintf(out, "%*s%*s  ", SIDE - 2, r->before, SIDE, r->now);
    fl_put_cell(out, change, CHANGE);
    put_p(out, r->change->p_adjusted);
}

/* ---- reasons that settings share ---- */

/* The reason that leaves every row of a setting untested; NULL: there is no such one. */
static const char *unsure_throughout(const struct fl_against_setting *s)
{
    struct row rows[ROWS];
    const char *why = NULL;
    const size_t n = s->refused ? 0 : rows_of(rows, s);
    for (size_t i = 0; i < n; i++) {
        const struct fl_change *c = rows[i].change;
        if (c->refused)
            continue;
        if (!c->unsure || (why && strcmp(why, c->unsure) != 0))
            return NULL;
        why = c->unsure;
    }
    return why;
}

/* How many settings it leaves untested. */
static size_t shared_by(const struct fl_against *a, const char *why)
{
    size_t n = 0;
    for (size_t k = 0; k < a->n; k++) {
        const char *other = unsure_throughout(&a->setting[k]);
        n += other && !strcmp(other, why);
    }
    return n;
}

/* A reason that is said once for several settings, this one among them; else NULL. */
static const char *shared_reason(const struct fl_against *a, size_t k)
{
    const char *why = unsure_throughout(&a->setting[k]);
    return why && shared_by(a, why) > 1 ? why : NULL;
}

static void put_shared(FILE *out, const struct fl_against *a)
{
    for (size_t k = 0; k < a->n; k++) {
        const char *why = shared_reason(a, k);
        bool said = !why;
        for (size_t i = 0; i < k && !said; i++) {
            const char *before = shared_reason(a, i);
            said = before && !strcmp(before, why);
        }
        if (said)
            continue;
        const size_t n = shared_by(a, why);
        char *text = n == a->n ? fl_format("Untested in all %zu settings: %s", n, why)
                               : fl_format("Untested in %zu of %zu settings: %s", n, a->n, why);
        fl_put_wrapped(out, text, 0, 2);
        free(text);
    }
}

/* Each reason once, after the names of all rows that have it. */
static void put_reasons(FILE *out, const struct row *rows, size_t n, bool refused)
{
    for (size_t i = 0; i < n; i++) {
        const char *why = refused ? rows[i].change->refused : rows[i].change->unsure;
        char text[1500];
        bool said = false;
        size_t used =
            (size_t)snprintf(text, sizeof text, "%s", refused ? "Not compared: " : "Untested: ");
        for (size_t k = 0; k < n && why; k++) {
            const char *other = refused ? rows[k].change->refused : rows[k].change->unsure;
            if (!other || strcmp(why, other))
                continue;
            said = said || k < i;
            int comma = (int)strcspn(rows[k].label, ",");
            used += (size_t)snprintf(text + used, sizeof text - used, "%s%.*s", k > i ? ", " : "",
                                     comma, rows[k].label);
        }
        if (!why || said)
            continue;
        snprintf(text + used, sizeof text - used, ": %.800s", why);
        fputs("  ", out);
        fl_put_wrapped(out, text, 2, 4);
    }
}

static void put_setting(FILE *out, const struct fl_against *a, size_t k)
{
    const struct fl_against_setting *s = &a->setting[k];
    struct row rows[ROWS];
    char takes[64], *name = name_of(&s->now, true);
    size_t n = rows_of(rows, s);
    snprintf(takes, sizeof takes, "; takes: %zu before, %zu now", s->before.n, s->now.n);
    char *title = fl_format("%s%s", name, takes);
    fputc('\n', out);
    fl_put_wrapped(out, title, 0, 2);
    free(title);
    free(name);
    if (s->refused) {
        fputs("  ", out);
        fl_put_wrapped(out, s->sentence, 2, 4);
        return;
    }
    fprintf(out, "  %-*s%*s%*s  %-*s%7s\n", LABEL, "", SIDE - 2, "before", SIDE, "now", CHANGE,
            "change (95 %)", "p");
    for (size_t i = 0; i < n; i++)
        if (!rows[i].change->refused)
            put_row(out, &rows[i]);
    if (!shared_reason(a, k))
        put_reasons(out, rows, n, false);
    put_reasons(out, rows, n, true);
}

/* ---- delays ---- */

/* "30 (25-34)", ms. */
static void median_text(char *text, size_t size, const struct fl_delay *d)
{
    char low[16] = "", high[16] = "";
    if (!d || !fl_known(d->median_s)) {
        snprintf(text, size, "-");
        return;
    }
    if (fl_known(d->low_s))
        snprintf(low, sizeof low, "%.0f", 1000 * d->low_s);
    if (fl_known(d->high_s))
        snprintf(high, sizeof high, "%.0f", 1000 * d->high_s);
    snprintf(text, size, "%.0f (%s-%s)", 1000 * d->median_s, low, high);
}

static void put_delay(FILE *out, const struct fl_against_delay *d, const char *edge)
{
    static const char *const found[] = {"", "cannot tell", "later", "sooner", "", ""};
    assert((size_t)d->change.finding < sizeof found / sizeof *found);
    char before[48], now[48], why[900];
    fputs("  ", out);
    fl_put_cell(out, d->game, 12);
    fputc(' ', out);
    fl_put_cell(out, d->condition, 12);
    fprintf(out, " %-7s", edge);
    if (d->change.refused) {
        snprintf(why, sizeof why, "not compared: %.800s", d->change.refused);
        fl_put_wrapped(out, why, 35, 35);
        return;
    }
    median_text(before, sizeof before, d->before);
    median_text(now, sizeof now, d->now);
    fprintf(out, "%13s%13s ", before, now);
    fl_put_cell(out, found[d->change.finding], 11);
    if (fl_known(d->change.p_adjusted))
        fprintf(out, "%6.3f", d->change.p_adjusted);
    fputc('\n', out);
}

static void put_delays(FILE *out, const struct fl_against *a)
{
    if (!a->n_delays)
        return;
    fprintf(out, "\n%-35s%13s%13s %-11s%6s\n", "Delays, ms (median, 95 %)", "before", "now", "",
            "p");
    for (size_t i = 0; i < a->n_delays; i++) {
        const struct fl_against_delay *d = &a->delay[i];
        bool both = d->change.refused && d->trip && i + 1 < a->n_delays && d[1].change.refused &&
                    !strcmp(d->change.refused, d[1].change.refused);
        put_delay(out, d, both ? "both" : d->trip ? "trip" : "return");
        i += both;
    }
}

/* ---- all of it ---- */

static void put_side(FILE *out, const char *when, const struct fl_against_side *s)
{
    fprintf(out, "%-8s", when);
    put_cut(out, s->session->name ? s->session->name : "", FOLDER);
    fputs(", ", out);
    fprintf(out, "%zu take%s\n        in ", s->session->n_takes,
            s->session->n_takes == 1 ? "" : "s");
    put_cut(out, s->folder, FOLDER);
    fputc('\n', out);
}

static void put_only(FILE *out, const char *when, const struct fl_setting *cells, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        char *name = name_of(&cells[i], true);
        fprintf(out, "%sOnly %s: ", i ? "" : "\n", when);
        fl_put_wrapped(out, name, 7 + (int)strlen(when), 2);
        free(name);
    }
}

/* Without a reason that is said once for all. */
static void put_sentence(FILE *out, const struct fl_against *a, size_t k)
{
    const char *said = a->setting[k].sentence, *why = shared_reason(a, k),
               *at = why ? strstr(said, why) : NULL;
    const bool parted = at && at - said > 2 && !strncmp(at - 2, ": ", 2);
    char *name = name_of(&a->setting[k].now, shares_name(a, k));
    char *text = parted
                     ? fl_format("%s: %.*s%s", name, (int)(at - 2 - said), said, at + strlen(why))
                     : fl_format("%s: %s", name, said);
    fl_put_wrapped(out, text, 0, 2);
    free(text);
    free(name);
}

void fl_print_against(FILE *out, const struct fl_against_side *before,
                      const struct fl_against_side *now, const struct fl_against *a)
{
    char foot[600];
    put_side(out, "Now", now);
    put_side(out, "Before", before);
    fputc('\n', out);
    for (size_t i = 0; i < a->n; i++)
        put_sentence(out, a, i);
    put_shared(out, a);
    for (size_t i = 0; i < a->n; i++)
        put_setting(out, a, i);
    put_delays(out, a);
    put_only(out, "before", a->only_before, a->n_only_before);
    put_only(out, "now", a->only_now, a->n_only_now);
    snprintf(foot, sizeof foot,
             "Change: x is now over before, else now less before. p: of no change, adjusted for %d "
             "test%s "
             "together (Holm). Lapses a minute depend on how the hand moved, so no change is "
             "claimed from them, nor from delays "
             "that the two sides count from thresholds far apart.",
             a->tests, a->tests == 1 ? "" : "s");
    fputc('\n', out);
    fl_put_wrapped(out, foot, 0, 0);
}
