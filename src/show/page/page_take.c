/* Facts and tables of one take. */
#include <math.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include "base/figure.h"
#include "base/mem.h"
#include "show/clip/filmstrip.h"
#include "show/page/page.h"
#include "show/text/escape.h"
#include "show/text/frames_text.h"
#include "show/text/lapse_words.h"

static void row(FILE *out, const char *name, const char *fmt, ...)
    __attribute__((format(printf, 3, 4)));

/* A fact: name, then printed text, escaped. */
static void row(FILE *out, const char *name, const char *fmt, ...)
{
    va_list ap;
    va_start(ap, fmt);
    char *text = fl_vformat(fmt, ap);
    va_end(ap);
    fputs("<tr><th scope=\"row\">", out);
    fl_put_markup(out, name);
    fputs("</th>", out);
    fl_page_text_cell(out, text);
    fputs("</tr>\n", out);
    free(text);
}

static const char *file_name(const char *path)
{
    return path ? fl_own_name(path) : "–";
}

static void put_footage(FILE *out, const struct fl_take *t)
{
    char rate[FL_FIGURE_SIZE], noise[FL_FIGURE_SIZE];
    row(out, "footage", "%s: %d × %d, %s frames per second%s, %ld frames, %.1f s",
        file_name(t->spec.footage), t->width, t->height, fl_figure(rate, t->capture_rate_hz),
        t->constant_rate ? "" : " (varying)", t->frames, t->duration_s);
    row(out, "coding", "%s, %s, transfer %s", t->codec ? t->codec : "–",
        t->pixel_format ? t->pixel_format : "–", t->transfer ? t->transfer : "–");
    row(out, "capture", "%s, %s; %ld frames missing, %ld repeated; noise %s of 255 levels",
        t->spec.capture_local ? "local recording" : "capture card", t->torn ? "torn" : "not torn",
        t->missing_frames, t->repeated_frames, fl_figure(noise, t->noise));
}

static void put_clock(FILE *out, const struct fl_take *t)
{
    const struct fl_clock *c = &t->clock;
    char confidence[FL_FIGURE_SIZE], error[FL_FIGURE_SIZE];
    if (!t->spec.trace && !c->known)
        row(out, "clock", "no input trace");
    else if (!c->known)
        row(out, "clock", "refused: %s", c->refused);
    else
        row(out, "clock",
            "found from %s: offset %.3f s, drift %.0f ppm, confidence %s, right within %s ms (95 "
            "%%)",
            c->method, c->offset_s, c->drift_ppm, fl_sureness_text(confidence, c->confidence),
            fl_figure(error, fl_round_decimals(c->error_ms, 1)));
    if (c->known && fl_known(c->off_minus_on_ms))
        row(out, "hand to picture, off minus on", "%.1f ms (95 %% interval %.1f to %.1f)",
            c->off_minus_on_ms, c->off_minus_on_low_ms, c->off_minus_on_high_ms);
}

/* "on 31 ms (28 to 34)": a delay from hand to picture with its 95 % interval. */
static const char *delay_text(char buf[64], const char *state, double ms, double low, double high)
{
    snprintf(buf, 64, "%s %.0f ms (%.0f to %.0f)", state, ms, low, high);
    return buf;
}

/* Nothing where there was no sound to hear the trace's buttons in. */
static void put_sound(FILE *out, const struct fl_take *t)
{
    const struct fl_sound_clock *c = &t->heard.clock;
    const struct fl_clock_join *j = &t->heard.join;
    char on[64], off[64];
    if (c->known)
        row(out, "sound",
            "%ld of %ld clicks heard: offset %.3f s, drift %.0f ppm, right within %.1f ms (95 %%)",
            c->heard, c->presses, c->offset_s, c->drift_ppm, c->error_ms);
    else if (t->spec.sound)
        row(out, "sound", "gives no clock: %s", c->refused);
    if (fl_known(j->on_ms))
        row(out, "hand to picture", "%s%s%s (95 %% intervals)",
            delay_text(on, "on", j->on_ms, j->on_low_ms, j->on_high_ms),
            fl_known(j->off_ms) ? ", " : "",
            fl_known(j->off_ms) ? delay_text(off, "off", j->off_ms, j->off_low_ms, j->off_high_ms)
                                : "");
    else if (j->compared)
        row(out, "picture behind the sound",
            "%.0f ms: hand to picture, less what the recorder adds to the sound", j->behind_ms);
}

/* What the picture shows of the mouse's sensitivity, and nothing where it shows nothing. */
static void put_sensitivity(FILE *out, const struct fl_take *t)
{
    const struct fl_sensitivity *s = &t->sensitivity;
    const struct fl_axis_gain *r = &s->right, *d = &s->down;
    struct fl_interval_text a;
    if (fl_known(r->degrees))
        row(out, "sensitivity, by the picture",
            "%s degrees per count (95 %% interval %s to %s), from %zu strokes",
            fl_interval_text(&a, r->degrees, r->low, r->high)->at, a.low, a.high, r->strokes);
    else if (t->clock.known && s->refused[0])
        row(out, "sensitivity, by the picture", "refused: %s", s->refused);
    if (fl_known(d->degrees))
        row(out, "the same, up and down", "%s (%s to %s), from %zu",
            fl_interval_text(&a, d->degrees, d->low, d->high)->at, a.low, a.high, d->strokes);
    if (fl_known(s->fov_deg))
        row(out, "field of view, by the picture", "%.1f degrees (%.1f to %.1f)", s->fov_deg,
            s->fov_low_deg, s->fov_high_deg);
}

/* "0.42: 61 deg/s; 0.97: 240 deg/s": the game's own curve. */
static void put_stick(FILE *out, const struct fl_take *t)
{
    const struct fl_turn_curve *c = &t->turn_curve;
    if (fl_known(c->rest))
        row(out, "stick", "rests within %.3f of full deflection; the game's dead zone %s%.2f",
            c->rest, fl_known(c->dead_zone) ? "ends at " : "is not seen, taken as ",
            fl_known(c->dead_zone) ? c->dead_zone : c->rest);
    if (!c->n)
        return;
    fputs("<tr><th scope=\"row\">turn rate by deflection</th><td>", out);
    for (size_t k = 0; k < c->n; k++) {
        const bool degrees = fl_known(c->rate[k].deg_s);
        fprintf(out, "%s%.2f: %.3g", k ? "; " : "", c->rate[k].deflection,
                degrees ? c->rate[k].deg_s : c->rate[k].speed);
    }
    fprintf(out, " %s</td></tr>\n", fl_known(c->rate[0].deg_s) ? "deg/s" : "px/s");
}

/* A rate that could not be counted is not a state that was not seen. */
static const char *rate_text(char buf[FL_FIGURE_SIZE], double hz, double seen_s)
{
    return fl_known(hz) ? fl_figure(buf, hz) : seen_s > 0 ? "could not be counted" : "not seen";
}

static void put_states(FILE *out, const struct fl_take *t)
{
    const struct fl_exposure *e = &t->exposure;
    char a[FL_FIGURE_SIZE], b[FL_FIGURE_SIZE], c[FL_FIGURE_SIZE], d[FL_FIGURE_SIZE];
    row(out, "base rate", "on %s, off %s (rendered frames per second)",
        rate_text(a, t->states.base_rate_on_hz, e->on_s),
        rate_text(b, t->states.base_rate_off_hz, e->off_s));
    if (t->states.frames_possible)
        row(out, "frames per rendered frame", "%s",
            fl_frames_text(&t->states, (char[FL_FRAMES_TEXT]){0}));
    row(out, "states", "on %s s, off %s s, unseen %s s", fl_figure(a, e->on_s),
        fl_figure(b, e->off_s), fl_figure(c, e->unseen_s));
    row(out, "off while turning", "%s (%s to %s) of %s s", fl_percent(a, e->off_share_in_motion),
        fl_percent(b, e->off_share_in_motion_low), fl_percent(c, e->off_share_in_motion_high),
        fl_figure(d, e->motion_s));
    row(out, "off share of this recording", "%s (%s to %s)", fl_percent(a, e->off_share_of_take),
        fl_percent(b, e->off_share_of_take_low), fl_percent(c, e->off_share_of_take_high));
    if (e->off_share_of_take_refused)
        row(out, "why no share of it", "%s", e->off_share_of_take_refused);
    row(out, "lapses", "%zu, %s a minute, longest %s s", t->states.n_lapses,
        fl_rough_figure(a, e->lapses_per_min), fl_rough_figure(b, e->longest_s));
    row(out, "states seen from", "%s deg/s camera speed", fl_figure(a, t->visible_floor_deg_s));
    row(out, "return delay", "95 %% within %s s", fl_figure(a, t->return_delay_p95_s));
}

static void put_smoothness(FILE *out, const struct fl_take *t)
{
    const struct fl_smoothness *s = &t->smoothness;
    const struct {
        const char *name;
        double mean, p1;
    } part[] = {
        {"unique rate at rest", s->rest_mean_hz, s->rest_p1_hz},
        {"unique rate in motion", s->motion_mean_hz, s->motion_p1_hz},
        {"unique rate in lapses", s->lapse_mean_hz, s->lapse_p1_hz},
    };
    char mean[FL_FIGURE_SIZE], p1[FL_FIGURE_SIZE];
    for (int i = 0; i < 3; i++)
        if (fl_known(part[i].mean))
            row(out, part[i].name, "mean %s, 1st percentile %s flips per second",
                fl_figure(mean, part[i].mean), fl_figure(p1, part[i].p1));
    if (fl_known(s->swings_per_min))
        row(out, "swings on → off → on", "%s a minute", fl_rough_figure(mean, s->swings_per_min));
}

static void put_kinds(FILE *out, const struct fl_take *t)
{
    const struct fl_pacing_state *on = &t->pacing.on;
    char share[FL_FIGURE_SIZE], known[FL_FIGURE_SIZE], low[FL_FIGURE_SIZE], high[FL_FIGURE_SIZE];
    if (!(on->time_s > 0))
        return;
    if (on->kinds_reason)
        row(out, "pictures, state on",
            "which are rendered and which synthesised is not known (kinds known for %s of the "
            "time)",
            fl_percent(known, on->kinds_known_share));
    else
        row(out, "pictures, state on",
            "the rendered picture is on screen for %s of the time (kinds known for %s of it)",
            fl_percent(share, on->rendered_share), fl_percent(known, on->kinds_known_share));
    if (!on->kinds_reason && on->pairs)
        row(out, "rendered part of a pair",
            "median %s, 80 %% of pairs between %s and %s (%ld pairs)",
            fl_percent(share, on->rendered_of_pair_median),
            fl_percent(low, on->rendered_of_pair_p10), fl_percent(high, on->rendered_of_pair_p90),
            on->pairs);
}

static void put_evenness(FILE *out, const char *name, const struct fl_pacing_state *s)
{
    char mean[FL_FIGURE_SIZE], cv[FL_FIGURE_SIZE], ratio[FL_FIGURE_SIZE];
    if (fl_known(s->interval_cv))
        row(out, name,
            "a new picture each %s ms on average, varying by %s (standard deviation over mean); of "
            "two intervals in "
            "a row the longer is usually %s times the shorter (%ld intervals)",
            fl_figure(mean, s->interval_mean_ms), fl_percent(cv, s->interval_cv),
            fl_figure(ratio, s->interval_ratio_median), s->intervals);
}

static void put_setup(FILE *out, const struct fl_take *t)
{
    const struct fl_take_spec *s = &t->spec;
    const struct {
        const char *name, *unit;
        double value;
    } given[] = {
        {"mouse resolution", "counts per inch", s->counts_per_inch},
        {"sensitivity", "degrees per count", s->degrees_per_count},
        {"mouse reports", "per second", s->report_rate_hz},
        {"horizontal field of view", "degrees", s->horizontal_fov_deg},
        {"base rate, as given", "frames per second", s->base_rate_hz},
        {"display refresh", "Hz", s->refresh_hz},
        {"frame cap", "frames per second", s->cap_hz},
    };
    for (size_t i = 0; i < sizeof given / sizeof *given; i++)
        if (fl_known(given[i].value))
            row(out, given[i].name, "%.6g %s", given[i].value, given[i].unit);
    if (s->recorded_at)
        row(out, "recorded at", "%s", s->recorded_at);
    for (size_t i = 0; i < s->n_notes; i++)
        row(out, s->note_keys[i], "%s", s->note_values[i] ? s->note_values[i] : "");
}

/* "12.345 (−4/+4 ms)": the edge and its bracket. */
static void put_edge(FILE *out, double at, const double range[2], size_t lapse)
{
    fprintf(out, "<td class=\"n\" data-time=\"%.6f\" data-lapse=\"%zu\">%.3f</td><td class=\"n\">",
            at, lapse, at);
    if (fl_known(range[0]) && fl_known(range[1]))
        fprintf(out, "−%.0f/+%.0f", fmax(0, 1000 * (at - range[0])),
                fmax(0, 1000 * (range[1] - at)));
    fputs("</td>", out);
}

/* A relative address; what an id may not hold but a damaged file might is percent-encoded (RFC
 * 3986). */
static void put_address(FILE *out, const char *s)
{
    static const char plain[] =
        "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-._~/";
    for (; *s; s++)
        if (strchr(plain, *s))
            fputc(*s, out);
        else
            fprintf(out, "%%%02X", (unsigned char)*s);
}

/* Links to the strips of a lapse, one a stretch seen off. */
static void put_strip_cell(FILE *out, const char *folder, const struct fl_take *t, size_t lapse)
{
    const struct fl_lapse *l = &t->states.lapse[lapse];
    fputs("<td class=\"on-screen\">", out);
    for (size_t run = l->run; run < l->run + l->runs; run++) {
        if (!fl_filmstrip_there(folder, t->spec.id, run))
            continue;
        char *name = fl_filmstrip_name(t->spec.id, run);
        fputs(run > l->run ? ", <a href=\"" : "<a href=\"", out);
        put_address(out, name);
        fprintf(out, "\" data-lapse=\"%zu\">filmstrip %zu</a>", lapse, run + 1);
        free(name);
    }
    fputs("</td>", out);
}

static void put_why_cell(FILE *out, const struct fl_states *s, const struct fl_lapse *l)
{
    char *why = fl_lapse_why(s, l);
    fputs("<td class=\"wide\">", out);
    fl_put_markup(out, why);
    fputs("</td>", out);
    free(why);
}

static void put_lapses(FILE *out, const struct fl_take *t, const char *folder)
{
    const struct fl_states *s = &t->states;
    if (!s->n_lapses)
        return;
    fprintf(out, "<details><summary>Lapses (%zu)</summary>\n", s->n_lapses);
    fl_page_table_begin(out, "Lapses",
                        (const char *const[]){"#start, s", "#bracket, ms", "#end, s",
                                              "#bracket, ms", "#length, s", "trip", "return",
                                              "#unique rate, /s", "#confidence", "why it is called",
                                              folder ? "!frames" : NULL, NULL});
    for (size_t i = 0; i < s->n_lapses; i++) {
        const struct fl_lapse *l = &s->lapse[i];
        fputs("<tr>", out);
        put_edge(out, l->start_s, l->start_range_s, i);
        put_edge(out, l->end_s, l->end_range_s, i);
        fl_page_figure_cell(out, l->end_s - l->start_s);
        fl_page_text_cell(out, l->has_trip ? "yes" : l->parted_before ? "inferred" : "already off");
        fl_page_text_cell(out, l->has_return ? "yes" : l->parted_after ? "inferred" : "still off");
        fl_page_figure_cell(out, l->unique_rate_hz);
        fl_page_sureness_cell(out, l->confidence);
        put_why_cell(out, s, l);
        if (folder)
            put_strip_cell(out, folder, t, i);
        fputs("</tr>\n", out);
    }
    fl_page_table_end(out);
    fputs("</details>\n", out);
}

static const char *answer(enum fl_answer a)
{
    return a == FL_YES ? "yes" : a == FL_NO ? "no" : "unknown";
}

static void put_flicks(FILE *out, const struct fl_take *t)
{
    if (!t->n_flicks)
        return;
    fprintf(out, "<details><summary>Flicks (%zu)</summary>\n", t->n_flicks);
    fl_page_table_begin(out, "Flicks",
                        (const char *const[]){"#start, s", "#length, s", "#peak, deg/s",
                                              "#peak, cm/s", "#peak, counts/s", "#path, deg",
                                              "#direction, deg", "at risk", "tripped", "#after, s",
                                              NULL});
    for (size_t i = 0; i < t->n_flicks; i++) {
        const struct fl_flick *f = &t->flicks[i];
        fprintf(out, "<tr><td class=\"n\" data-time=\"%.6f\">%.3f</td>", f->start_s, f->start_s);
        fl_page_figure_cell(out, f->end_s - f->start_s);
        fl_page_figure_cell(out, f->peak[FL_CAMERA_SPEED]);
        fl_page_figure_cell(out, f->peak[FL_HAND_SPEED]);
        fl_page_figure_cell(out, f->peak[FL_COUNT_RATE]);
        fl_page_figure_cell(out, f->path_deg);
        fl_page_figure_cell(out, f->direction_deg);
        fl_page_text_cell(out, answer(f->at_risk));
        fl_page_text_cell(out, answer(f->tripped));
        fl_page_figure_cell(out, f->trip_delay_s);
        fputs("</tr>\n", out);
    }
    fl_page_table_end(out);
    fputs("</details>\n", out);
}

void fl_page_take(FILE *out, const struct fl_take *t, const char *folder)
{
    fputs("<details><summary>Facts of this take</summary>\n<div class=\"table\"><table><tbody>\n",
          out);
    put_footage(out, t);
    put_clock(out, t);
    put_sound(out, t);
    put_sensitivity(out, t);
    put_stick(out, t);
    put_states(out, t);
    put_smoothness(out, t);
    put_kinds(out, t);
    put_evenness(out, "evenness, state on", &t->pacing.on);
    put_evenness(out, "evenness, state off", &t->pacing.off);
    put_setup(out, t);
    fputs("</tbody></table></div></details>\n", out);
    put_lapses(out, t, folder);
    put_flicks(out, t);
}
