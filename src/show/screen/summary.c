/* The answer first, then a table of takes with their courses, curves, rules and what the cut-off
 * watches, warnings last; each fits 80 columns. */
#include "show/screen/summary.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

#include "base/figure.h"
#include "base/text_stream.h"
#include "show/screen/answers.h"
#include "show/screen/bars.h"
#include "show/screen/terminal_text.h"
#include "show/store/json_value.h"
#include "show/text/frames_text.h"
#include "show/text/game_groups.h"
#include "show/text/result_words.h"
#include "study/compare/repeat.h"
#include "study/curve/curve.h"
#include "study/curve/quantity_rank.h"
#include "study/curve/watched.h"
#include "study/rule/rule.h"

void fl_print_json(FILE *out, json_t *value)
{
    fl_json_put(out, value, JSON_INDENT(2) | JSON_REAL_PRECISION(15));
}

enum {
    INDENT = 4,
    LABEL = 13
}; /* columns before the bar of a session's take, and before a fact of one take */

static void put_warnings(FILE *out, const struct fl_take *t, const char *name,
                         const struct fl_option_name *names)
{
    for (size_t i = 0; i < t->n_warnings; i++) {
        int column = fprintf(out, "warning: %s%s", name ? name : "", name ? ": " : "");
        char *text = fl_with_option_names(t->warnings[i].text, names);
        fl_put_wrapped(out, text, column, 4);
        free(text);
    }
}

static void put_standing_out(FILE *out, const struct fl_session *s)
{
    for (size_t i = 0; i < s->n_repeats; i++)
        for (size_t k = 0; k < s->repeats[i].n; k++) {
            const struct fl_repeat_take *t = &s->repeats[i].takes[k];
            if (t->stands_out)
                fl_put_wrapped(out, t->warning, fprintf(out, "warning: %s: ", t->take->spec.id), 4);
        }
}

static const char *clock_word(const struct fl_take *t)
{
    return !t->spec.trace ? "no trace" : t->clock.known ? "found" : "refused";
}

/* "7.4 % (7.2-9.5)": off share of the recording, "(5.1-76)" where it is refused. */
static void share_text(char *text, size_t size, const struct fl_exposure *e)
{
    char at[FL_SHARE_SIZE], low[FL_SHARE_SIZE], high[FL_SHARE_SIZE];
    bool known = fl_known(e->off_share_of_take),
         ends = fl_known(e->off_share_of_take_low) && fl_known(e->off_share_of_take_high);
    fl_share_text(at, e->off_share_of_take);
    fl_share_text(low, e->off_share_of_take_low);
    fl_share_text(high, e->off_share_of_take_high);
    low[strcspn(low, " ")] = high[strcspn(high, " ")] = 0;
    snprintf(text, size, "%s", known ? at : ends ? "" : "-");
    if (ends)
        snprintf(text + strlen(text), size - strlen(text), "%s(%s-%s)", known ? " " : "", low,
                 high);
}

/* Its off shares would read as the game's doing. */
static void put_control(FILE *out, const struct fl_take *t)
{
    char text[80];
    if (t->exposure.on_s > 0)
        snprintf(text, sizeof text, "  control, yet seen on for %.1f s: was it disabled?",
                 t->exposure.on_s);
    else
        snprintf(text, sizeof text, "  control: no synthesis seen, as it should be");
    fl_put_cell(out, text, 58);
}

static void put_figures(FILE *out, const struct fl_take *t)
{
    const struct fl_exposure *e = &t->exposure;
    char share[4 * FL_SHARE_SIZE];
    share_text(share, sizeof share, e);
    fl_put_number(out, e->on_s, 1, 7);
    fl_put_number(out, e->off_s, 1, 7);
    fl_put_number(out, e->unseen_s, 1, 7);
    fl_put_number(out, 100 * e->off_share_in_motion, 0, 8);
    fprintf(out, "%16s%6zu", share, t->states.n_lapses);
}

static void put_take_row(FILE *out, const struct fl_paper *paper, const struct fl_take *t)
{
    fl_put_cell(out, t->spec.id, 19);
    if (t->spec.synthesis_disabled)
        put_control(out, t);
    else
        put_figures(out, t);
    fprintf(out, "  %s\n%*s", clock_word(t), INDENT, "");
    fl_put_state_bar(out, paper, t, FL_COLUMNS - INDENT);
    fputc('\n', out);
}

static void put_takes(FILE *out, const struct fl_session *s)
{
    const struct fl_paper paper = fl_paper_of(out);
    fprintf(out, "\n%48s%16s\n", "off, % of", "off, % of");
    fprintf(out, "%-19s%7s%7s%7s%8s%16s%6s  %s\n%*s", "take", "on s", "off s", "unseen", "turning",
            "take (95 %)", "lapse", "clock", INDENT, "");
    fl_put_bar_legend(out, &paper);
    fputs(", from start to end\n", out);
    for (size_t i = 0; i < s->n_takes; i++)
        put_take_row(out, &paper, s->takes[i]);
}

/* The first of these that some curve has a figure for; camera speed compares best. */
static enum fl_quantity main_quantity(const struct fl_session *s)
{
    static const enum fl_quantity order[] = {FL_CAMERA_SPEED, FL_IMAGE_STEP, FL_COUNT_RATE};
    for (size_t k = 0; k < 3; k++)
        for (size_t i = 0; i < s->n_curves; i++)
            if (s->curves[i].quantity == order[k] && s->curves[i].flicks)
                return order[k];
    return FL_CAMERA_SPEED;
}

static void trip_text(char *text, size_t size, const struct fl_curve *c)
{
    const char *sign = c->bound == FL_BOUND_ABOVE ? "> " : c->bound == FL_BOUND_BELOW ? "< " : NULL;
    struct fl_interval_text t;
    if (sign && fl_known(c->bound_at))
        snprintf(text, size, "%s%.3g", sign, c->bound_at);
    else if (c->bound == FL_BOUND_NONE && fl_known(c->v50))
        snprintf(text, size, "%s", fl_interval_text(&t, c->v50, c->v50_low, c->v50_high)->at);
    else
        snprintf(text, size, "-");
}

static void interval_text(char *text, size_t size, const struct fl_curve *c)
{
    struct fl_interval_text t;
    fl_interval_text(&t, c->v50, c->v50_low, c->v50_high);
    if (c->bound == FL_BOUND_NONE && fl_known(c->v50))
        snprintf(text, size, "%s to %s", fl_known(c->v50_low) ? t.low : "open",
                 fl_known(c->v50_high) ? t.high : "open");
    else
        snprintf(text, size, "%s",
                 c->bound == FL_BOUND_TOO_FEW       ? "too few"
                 : c->bound == FL_BOUND_NOT_POOLED  ? "not pooled"
                 : c->bound == FL_BOUND_NO_RELATION ? "no relation"
                                                    : "bound");
}

static void put_curve_row(FILE *out, const struct fl_curve *c)
{
    char trip[FL_FIGURE_SIZE], interval[2 * FL_FIGURE_SIZE + 8], setting[FL_SETTING_SIZE],
        count[32];
    trip_text(trip, sizeof trip, c);
    interval_text(interval, sizeof interval, c);
    snprintf(count, sizeof count, "%d/%d", c->trips, c->flicks);
    fputs("  ", out);
    fl_put_cell(out, fl_setting_text(setting, c), 41);
    fprintf(out, "%9s%17s%11s\n", trip, interval, count);
}

static bool same_group(const struct fl_curve *a, const struct fl_curve *b)
{
    return !strcmp(a->game, b->game) && !strcmp(a->condition, b->condition);
}

/* The curves of one game and condition, which `first` opens; the pooled one last. */
static void put_group(FILE *out, const struct fl_session *s, const struct fl_curve *first)
{
    char *name = fl_group_name(first->game, first->condition);
    int cells = 0;
    fl_put_wrapped(out, name, 0, 2);
    free(name);
    for (int pooled = 0; pooled < 2; pooled++)
        for (const struct fl_curve *c = s->curves; c < s->curves + s->n_curves; c++) {
            if (c->quantity != first->quantity || !c->game || !c->condition ||
                !same_group(c, first) || c->pooled != pooled)
                continue;
            if (!pooled || cells != 1) /* pooled over one is that one */
                put_curve_row(out, c);
            cells++;
        }
}

static bool opens_group(const struct fl_session *s, const struct fl_curve *c)
{
    for (const struct fl_curve *d = s->curves; d < c; d++)
        if (d->quantity == c->quantity && d->game && d->condition && same_group(c, d))
            return false;
    return true;
}

static void put_curves(FILE *out, const struct fl_session *s)
{
    enum fl_quantity q = main_quantity(s);
    const struct fl_quantity_info *info = fl_quantity_info(q);
    bool headed = false;
    for (size_t i = 0; i < s->n_curves; i++) {
        const struct fl_curve *c = &s->curves[i];
        if (c->quantity != q || !c->game || !c->condition || !opens_group(s, c))
            continue;
        if (!headed) {
            char head[64];
            snprintf(head, sizeof head, "Trip speed, %s in %s", info->label, info->unit_label);
            fprintf(out, "\n%-43s%9s%17s%11s\n", head, "V50", "95 %", "trips/all");
        }
        headed = true;
        put_group(out, s, c);
    }
}

/* "Glass Canyon / default: off above 150 deg/s for 42 ms, on below 126 deg/s for 203 ms; right 99
 * %" */
static void put_rule(FILE *out, const struct fl_rule *r)
{
    char text[512], off[FL_FIGURE_SIZE], on[FL_FIGURE_SIZE];
    const char *unit = fl_quantity_info(r->quantity)->unit_label;
    if (r->refused)
        snprintf(text, sizeof text, "%.120s / %.120s: none; %s", r->game, r->condition, r->refused);
    else
        snprintf(text, sizeof text,
                 "%.120s / %.120s: off above %s %s for %.0f ms, on below %s %s for %.0f ms; right "
                 "%.0f %% of the time%s",
                 r->game, r->condition, fl_figure(off, r->fit.theta_off), unit,
                 1000 * r->fit.d_off_s, fl_figure(on, r->fit.theta_on), unit, 1000 * r->fit.d_on_s,
                 100 * (fl_known(r->agreement) ? r->agreement : r->agreement_fitted),
                 fl_known(r->agreement) ? ", left out" : ", fitted");
    fl_put_wrapped(out, text, 0, 2);
}

static void put_rules(FILE *out, const struct fl_session *s)
{
    bool headed = false;
    for (size_t i = 0; i < s->n_rules; i++) {
        if (!s->rules[i].lead)
            continue;
        if (!headed)
            fputs("\nCut-off rules (always on: right 50 %)\n", out);
        headed = true;
        put_rule(out, &s->rules[i]);
    }
}

static const struct fl_quantity_rank *named(const struct fl_quantity_rank *of_game)
{
    for (int q = 0; q < FL_QUANTITIES; q++)
        if (!strcmp(of_game[q].verdict, "named"))
            return &of_game[q];
    return NULL;
}

/* "Glass Canyon: camera speed; its deviance a take is 8.9 ± 2.1 below that of image step". Of what
 * to record the first sentence says what still fits; the rest is long and stands in the
 * report. */
static void put_watched(FILE *out, const struct fl_session *s)
{
    char text[2048];
    bool more = false;
    if (s->n_quantities)
        fputs("\nWhat the cut-off watches\n", out);
    assert(s->n_quantities % FL_QUANTITIES == 0); /* all quantities of a game, game by game */
    for (size_t i = 0; i + FL_QUANTITIES <= s->n_quantities; i += FL_QUANTITIES) {
        const struct fl_quantity_rank *q = named(&s->quantities[i]);
        char lead[FL_FIGURE_SIZE], se[FL_FIGURE_SIZE];
        const char *game = s->quantities[i].game, *what = s->quantities[i].to_record;
        if (q)
            snprintf(
                text, sizeof text,
                "%.120s: %s; on takes left out its deviance a take is %s ± %s below that of %s",
                game, fl_quantity_info(q->quantity)->label,
                fl_error_text(lead, se, q->lead, q->lead_se), se,
                fl_quantity_info(q->against)->label);
        else
            snprintf(text, sizeof text, "%.120s: %.*s", game,
                     what ? (int)strcspn(what, ".") + 1 : 12, what ? what : "cannot tell.");
        fl_put_wrapped(out, text, 0, 2);
        more |= !q && what;
    }
    if (more)
        fputs("What to record to tell stands in the report.\n", out);
}

void fl_print_session(FILE *out, const struct fl_session *s, int reused, const char *folder)
{
    char head[256];
    snprintf(head, sizeof head, "%.100s: %zu take%s measured", s->name ? s->name : "session",
             s->n_takes, s->n_takes == 1 ? "" : "s");
    fl_put_cell(out, head, fl_text_columns(head));
    if (reused)
        fprintf(out, " (%d reused)", reused);
    if (s->n_failed)
        fprintf(out, ", %zu failed", s->n_failed);
    fputs("\n\n", out);
    fl_put_answers(out, s);
    put_takes(out, s);
    for (size_t i = 0; i < s->n_failed; i++) {
        fl_put_cell(out, s->failed[i].id, 20);
        fl_put_wrapped(out, s->failed[i].text, fprintf(out, "  failed: ") + 20, 24);
    }
    put_curves(out, s);
    put_rules(out, s);
    put_watched(out, s);
    fputc('\n', out);
    put_standing_out(out, s);
    for (size_t i = 0; i < s->n_takes; i++)
        put_warnings(out, s->takes[i], s->takes[i]->spec.id, NULL);
    if (folder)
        fprintf(out, "report: %s/report.html\n", folder);
}

/* A rate that could not be counted is not a state that was not seen. */
static void put_rate(FILE *out, const char *state, double hz, double seen_s)
{
    if (fl_known(hz))
        fprintf(out, "%s %.1f/s", state, hz);
    else
        fprintf(out, "%s %s", state, seen_s > 0 ? "could not be counted" : "not seen");
}

static void put_rates(FILE *out, const struct fl_take *t)
{
    struct fl_text_stream stream;
    FILE *line = fl_text_begin(&stream);
    put_rate(line, "on", t->states.base_rate_on_hz, t->exposure.on_s);
    put_rate(line, ", off", t->states.base_rate_off_hz, t->exposure.off_s);
    if (t->states.frames_possible)
        fprintf(line, "; %s frames on screen for each rendered one while on",
                fl_frames_text(&t->states, (char[FL_FRAMES_TEXT]){0}));
    char *text = fl_text_end(&stream);
    fl_put_wrapped(out, text, fprintf(out, "base rate    "), LABEL);
    free(text);
}

static void put_clock(FILE *out, const struct fl_take *t, const struct fl_option_name *names)
{
    if (!t->spec.trace)
        fprintf(out, "clock        no trace\n");
    else if (!t->clock.known) {
        char *why = fl_with_option_names(t->clock.refused, names);
        fl_put_wrapped(out, why, fprintf(out, "clock        refused: "), LABEL);
        free(why);
    } else
        fprintf(out, "clock        offset %.4f s, drift %.1f ppm, residual %.2f ms\n",
                t->clock.offset_s, t->clock.drift_ppm, t->clock.residual_ms);
}

/* Nothing where there was no sound to hear the trace's buttons in. */
static void put_sound(FILE *out, const struct fl_take *t)
{
    const struct fl_heard *h = &t->heard;
    if (!h->clock.known)
        return;
    fprintf(out, "sound        %ld of %ld clicks heard", h->clock.heard, h->clock.presses);
    if (fl_known(h->join.on_ms))
        fprintf(out, "; hand to picture %.0f ms (%.0f-%.0f) on", h->join.on_ms, h->join.on_low_ms,
                h->join.on_high_ms);
    if (fl_known(h->join.off_ms))
        fprintf(out, ", %.0f (%.0f-%.0f) off", h->join.off_ms, h->join.off_low_ms,
                h->join.off_high_ms);
    fputc('\n', out);
}

/* Nothing where none was found. */
static void put_sensitivity(FILE *out, const struct fl_take *t)
{
    const struct fl_axis_gain *g = &t->sensitivity.right;
    if (fl_known(g->degrees))
        fprintf(out, "sensitivity  %.4g deg/count (%.4g-%.4g), by the picture\n", g->degrees,
                g->low, g->high);
}

/* Nothing where no stick turned the camera. */
static void put_stick(FILE *out, const struct fl_take *t)
{
    const struct fl_turn_curve *c = &t->turn_curve;
    if (!c->n)
        return;
    const struct fl_turn_rate *most = &c->rate[c->n - 1];
    const bool degrees = fl_known(most->deg_s);
    fprintf(out, "stick        %.0f %s at %.2f of full deflection",
            degrees ? most->deg_s : most->speed, degrees ? "deg/s" : "px/s", most->deflection);
    if (fl_known(c->dead_zone))
        fprintf(out, ", dead zone to %.2f", c->dead_zone);
    fputc('\n', out);
}

static int tripped(const struct fl_take *t)
{
    int n = 0;
    for (size_t i = 0; i < t->n_flicks; i++)
        n += t->flicks[i].tripped == FL_YES;
    return n;
}

void fl_print_take(FILE *out, const struct fl_take *t, const char *folder,
                   const struct fl_option_name *names)
{
    const struct fl_exposure *e = &t->exposure;
    fl_put_take_answer(out, t);
    fputc('\n', out);
    fl_put_take_bars(out, t, 0, LABEL);
    fputc('\n', out);
    fprintf(out, "footage      %dx%d, %ld frames, %.3f/s, %.2f s, %s\n", t->width, t->height,
            t->frames, t->capture_rate_hz, t->duration_s, t->torn ? "torn" : "no tears");
    put_rates(out, t);
    fprintf(out, "states       on %.2f s, off %.2f s, unseen %.2f s\n", e->on_s, e->off_s,
            e->unseen_s);
    fprintf(out, "lapses       %zu, longest ", t->states.n_lapses);
    fl_put_number(out, e->longest_s, 2, 0);
    fprintf(out, " s\nflicks       %zu, %d tripped\n", t->n_flicks, tripped(t));
    put_clock(out, t, names);
    put_sound(out, t);
    put_sensitivity(out, t);
    put_stick(out, t);
    put_warnings(out, t, NULL, names);
    if (folder)
        fprintf(out, "report       %s/report.html\n", folder);
    else if (names)
        fl_put_wrapped(
            out,
            "none was written; -o FOLDER writes a report with charts and filmstrips, marks "
            "for editing, and all figures as JSON and CSV",
            fprintf(out, "report       "), LABEL);
}
