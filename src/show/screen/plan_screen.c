/* A list to follow at the desk with one hand on the mouse: speeds by number, then the order in
 * which to flick them, take by take. */
#include "show/screen/plan_screen.h"

#include <stdlib.h>
#include <string.h>

#include "show/screen/terminal_text.h"
#include "show/text/escape.h"
#include "study/curve/curve.h"

double fl_plan_hand_cm_s(const struct fl_plan_setting *t, double v)
{
    return t->quantity == FL_CAMERA_SPEED
               ? v / t->degrees_per_count * FL_CM_PER_INCH / t->counts_per_inch
               : FL_UNKNOWN;
}

double fl_plan_quarter_turn_s(const struct fl_plan_setting *t, double v)
{
    return t->quantity == FL_CAMERA_SPEED ? fl_smooth_quarter_turn_s(v) : FL_UNKNOWN;
}

/* "Glass Canyon / default, 800 DPI, 0.0440 deg/count" */
static void name_setting(char *text, size_t size, const struct fl_plan_setting *t, bool numbers)
{
    int n = t->game ? snprintf(text, size, "%.120s / %.120s", t->game, t->condition)
                    : snprintf(text, size, "setting %.10s", t->condition);
    if (numbers && fl_known(t->counts_per_inch))
        n += snprintf(text + n, size - (size_t)n, ", %.10g DPI", t->counts_per_inch);
    if (numbers && fl_known(t->degrees_per_count))
        snprintf(text + n, size - (size_t)n, ", %.4g deg/count%s", t->degrees_per_count,
                 t->degrees_found ? " by the picture" : "");
}

/* Half of an interval as "±12 %"; the sign takes one column and two bytes. */
static void width_text(char *text, size_t size, double octaves)
{
    double percent = fl_octaves_to_percent(octaves);
    if (!fl_known(octaves))
        snprintf(text, size, "none");
    else if (!(percent < 1000))
        snprintf(text, size, "open");
    else
        snprintf(text, size, "±%.*f %%", percent < 9.95 ? 1 : 0, percent);
}

static void put_right(FILE *out, const char *text, int width)
{
    fprintf(out, "%*s%s", width - fl_text_columns(text), "", text);
}

static void put_row(FILE *out, const struct fl_plan_setting *t)
{
    char name[300], text[32];
    const struct fl_curve *c = t->curve;
    name_setting(name, sizeof name, t, false);
    fl_put_cell(out, name, 21);
    fl_put_number(out, t->counts_per_inch, 0, 6);
    fl_put_number(out, t->degrees_per_count, 4, 11);
    snprintf(text, sizeof text, c && c->bound == FL_BOUND_NONE && fl_known(c->v50) ? "%.3g" : "-",
             c ? c->v50 : 0);
    put_right(out, text, 8);
    width_text(text, sizeof text, t->width_now);
    put_right(out, text, 8);
    fprintf(out, "%8d%7d", t->takes * t->flicks_a_take, t->takes);
    width_text(text, sizeof text, t->enough ? t->width_now : t->forecast.width);
    put_right(out, text, 9);
    fputs(t->searching ? "?\n" : t->reached ? "\n" : "!\n", out);
}

static void put_table(FILE *out, const struct fl_plan *plan)
{
    bool short_of = false, searching = false;
    fprintf(out, "\n%-21s%6s%11s%8s%8s%8s%7s%9s\n", "setting", "DPI", "deg/count", "V50", "now",
            "flicks", "takes", "expected");
    for (size_t i = 0; i < plan->n; i++) {
        const struct fl_plan_setting *t = &plan->setting[i];
        put_row(out, t);
        searching = searching || t->searching;
        short_of = short_of || !(t->reached || t->searching);
    }
    if (searching)
        fl_put_wrapped(out, "? No trip speed yet: these flicks look for it; then plan again.", 0,
                       2);
    if (short_of)
        fl_put_wrapped(
            out,
            "! More flicks than this plan counts up to are needed: the takes or the flicks scatter "
            "too much "
            "for the width wanted. Ask for a wider one, or find what differs from take to take.",
            0, 2);
}

static bool one_plan(const struct fl_plan_setting *a, const struct fl_plan_setting *b)
{
    return !a->game && !b->game;
}

/* A band in numbers of some sort; slower ends last where the number is a time. */
static void put_numbers(FILE *out, const char *label, const struct fl_plan_setting *t, int decimals,
                        double (*of)(const struct fl_plan_setting *, double))
{
    if (of && !fl_known(of(t, t->band[0].low)))
        return;
    fprintf(out, "  %-17s", label);
    for (int i = 0; i < FL_PLAN_BANDS; i++) {
        const struct fl_plan_band *b = &t->band[i];
        char text[64];
        snprintf(text, sizeof text, "%.*f to %.*f", decimals, of ? of(t, b->low) : b->low, decimals,
                 of ? of(t, b->high) : b->high);
        fprintf(out, "%18s", text);
    }
    fputc('\n', out);
}

static void put_bands_of(FILE *out, const struct fl_plan_setting *t)
{
    static const char *const names[FL_PLAN_BANDS] = {"slow", "middle", "fast"};
    char name[300], label[64];
    const struct fl_quantity_info *q = fl_quantity_info(t->quantity);
    double most = t->band[FL_PLAN_BANDS - 1].high;
    if (t->game) {
        name_setting(name, sizeof name, t, true);
        fl_put_wrapped(out, name, 0, 2);
    }
    fprintf(out, "  %-17s", "band");
    for (int i = 0; i < FL_PLAN_BANDS; i++) {
        snprintf(label, sizeof label, "%d, %s", i + 1, names[i]);
        fprintf(out, "%18s", label);
    }
    fprintf(out, "\n  %-17s", "flicks of ten");
    for (int i = 0; i < FL_PLAN_BANDS; i++)
        fprintf(out, "%18.3g", 10.0 * t->band[i].share / FL_PLAN_BLOCK);
    snprintf(label, sizeof label, "%s",
             t->quantity == FL_CAMERA_SPEED ? "peak, deg/s" : q->unit_label);
    fputc('\n', out);
    put_numbers(out, label, t, most < 2 ? 3 : most < 20 ? 1 : 0, NULL);
    put_numbers(out, "90 degrees in, s", t, 2, fl_plan_quarter_turn_s);
    put_numbers(out, "hand, cm/s", t, fl_plan_hand_cm_s(t, most) < 20 ? 1 : 0, fl_plan_hand_cm_s);
}

static void put_bands(FILE *out, const struct fl_plan *plan)
{
    fl_put_wrapped(
        out,
        plan->from_nothing
            ? "Speeds to flick at, anywhere within a band: wide ones, as nothing is known "
              "yet."
            : "Speeds to flick at, anywhere within a band: just under, about and just "
              "over where it is thought to trip.",
        0, 0);
    for (size_t i = 0; i < plan->n; i++)
        if (!i || !one_plan(&plan->setting[i - 1], &plan->setting[i]))
            put_bands_of(out, &plan->setting[i]);
}

static void put_order(FILE *out, const struct fl_step *s, int indent)
{
    enum { A_LINE = 5 * FL_PLAN_BLOCK };
    for (int i = 0; i < s->flicks; i += A_LINE) {
        fprintf(out, "%*s", indent, "");
        for (int k = i; k < i + A_LINE && k < s->flicks; k++)
            fprintf(out, "%s%d", k % FL_PLAN_BLOCK ? " " : "  ", s->order[k]);
        fputc('\n', out);
    }
}

static void put_step(FILE *out, const struct fl_step *s, int number, int *take)
{
    enum { INDENT = 9 };
    char text[900], name[300], minutes[32] = "";
    fprintf(out, "[ ] %3d. ", number);
    if (s->minutes > 0)
        snprintf(minutes, sizeof minutes, " (%.0f min)", ceil(s->minutes));
    if (s->kind == FL_STEP_TAKE) {
        name_setting(name, sizeof name, s->setting, true);
        snprintf(text, sizeof text, "Take %d%s: %s. %s:", ++*take, minutes, name, s->text);
    } else if (s->kind == FL_STEP_CONTROL) {
        snprintf(text, sizeof text, "Control%s%s%.120s: %s", minutes, s->setting->game ? ": " : "",
                 s->setting->game ? s->setting->game : "", s->text);
    } else {
        snprintf(text, sizeof text, "%s%s", s->text, minutes);
    }
    fl_put_wrapped(out, text, INDENT, INDENT);
    if (s->order)
        put_order(out, s, INDENT);
}

static void put_assumptions(FILE *out, const struct fl_plan *plan)
{
    char text[700], differ[120] = "";
    for (size_t i = 0; i < plan->n; i++)
        if (plan->setting[i].takes_differ.assumed)
            snprintf(differ, sizeof differ,
                     ", and takes to differ by about %.0f %% where nothing is known of it",
                     fl_octaves_to_percent(plan->setting[i].takes_differ.sd));
    snprintf(text, sizeof text,
             "Expected: the median of simulated sessions. It takes a hand to scatter by %.0f %% "
             "about the speed it aims at%s. "
             "V50 is the peak speed of an even chance to trip, in the unit of the speeds below; ±x "
             "%% is half of its 95 %% interval, "
             "as a ratio.",
             fl_octaves_to_percent(FL_HAND_SCATTER), differ);
    fl_put_wrapped(out, text, 0, 0);
}

void fl_print_plan(FILE *out, const char *name, const struct fl_plan *plan,
                   const struct fl_schedule *desk)
{
    char text[300], wanted[32];
    width_text(wanted, sizeof wanted, plan->wanted);
    snprintf(text, sizeof text,
             plan->from_nothing ? "Plan of a first session: each V50 within %s%s"
                                : "What to record next: each V50 within %s, after %.150s",
             wanted,
             plan->from_nothing ? ""
             : name             ? name
                                : "the session");
    fl_put_wrapped(out, text, 0, 2);
    put_table(out, plan);
    fputc('\n', out);
    put_assumptions(out, plan);
    fputc('\n', out);
    put_bands(out, plan);
    if (!desk->n) {
        fputs("\nNothing more is needed for that width.\n", out);
        return;
    }
    fputs("\nAt the desk\n", out);
    int take = 0;
    for (size_t i = 0; i < desk->n; i++)
        put_step(out, &desk->step[i], (int)i + 1, &take);
}
