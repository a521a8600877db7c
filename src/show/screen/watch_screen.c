/* The screen of `flinch watch`: what is read from a metre away stands large and at the top, what is
 * read when something seems wrong at the bottom. Nothing is inverted or blinks: the state may
 * change several times a second, and large areas that flash can harm. */
#include "show/screen/watch_screen.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/figure.h"
#include "base/mem.h"
#include "base/text_stream.h"
#include "base/units.h"
#include "show/screen/terminal_text.h"
#include "study/plan/forecast.h"

enum { LETTER_ROWS = 5, LETTER_COLUMNS = 7, INDENT = 3, RIGHT = 46 };

/* A bit a cell, the leftmost highest. */
static const struct letter {
    char of;
    unsigned char row[LETTER_ROWS];
} letters[] = {
    {'O', {0x3E, 0x63, 0x63, 0x63, 0x3E}},
    {'N', {0x63, 0x73, 0x7B, 0x6F, 0x67}},
    {'F', {0x7F, 0x60, 0x7C, 0x60, 0x60}},
    {'-', {0x00, 0x00, 0x7F, 0x00, 0x00}},
};

static const char *large_word(enum fl_state s)
{
    return s == FL_STATE_ON ? "ON" : s == FL_STATE_OFF ? "OFF" : "--";
}

/* One row of a word of large letters; returns its columns. */
static int put_large(FILE *out, const char *word, int row, bool utf8)
{
    int columns = 0;
    for (const char *c = word; *c; c++)
        for (size_t k = 0; k < sizeof letters / sizeof *letters; k++)
            if (letters[k].of == *c) {
                for (int x = LETTER_COLUMNS - 1; x >= 0; x--)
                    fputs(letters[k].row[row] >> x & 1 ? (utf8 ? "█" : "#") : " ", out);
                fputs("  ", out);
                columns += LETTER_COLUMNS + 2;
            }
    return columns;
}

static void end_line(FILE *out)
{
    fputs("\033[K\r\n", out);
}

static void put_text(FILE *out, const char *text, int columns)
{
    if (fl_text_columns(text) > columns)
        fl_put_cell(out, text, columns);
    else
        fputs(text, out);
}

static void line(FILE *out, const char *fmt, ...) __attribute__((format(printf, 2, 3)));
static void line(FILE *out, const char *fmt, ...)
{
    va_list args;
    va_start(args, fmt);
    char *text = fl_vformat(fmt, args);
    va_end(args);
    put_text(out, text, FL_COLUMNS);
    end_line(out);
    free(text);
}

static void put_head(FILE *out, const struct fl_watch_view *v)
{
    char right[80];
    const int t = (int)fmax(0, v->time_s);
    int n = snprintf(right, sizeof right, "%dx%d", v->width, v->height);
    if (v->rate_hz > 0)
        n += snprintf(right + n, sizeof right - (size_t)n, "  %.4g/s", v->rate_hz);
    snprintf(right + n, sizeof right - (size_t)n, "   %d:%02d:%02d", t / 3600, t / 60 % 60, t % 60);
    fputs(" flinch watch  ", out);
    const int room = FL_COLUMNS - 16 - (int)strlen(right);
    fl_put_cell(out, v->input, room > 8 ? room : 8);
    fputs(" ", out);
    fputs(right, out);
    end_line(out);
}

/* A rate may be seen and not counted: on-state pictures faster than the capture leave no marks. */
static const char *rate_text(char buf[32], double hz, double seen_s)
{
    if (fl_known(hz))
        snprintf(buf, 32, "%.0f new pictures/s", hz);
    else
        snprintf(buf, 32, seen_s > 0 ? "seen, not counted yet" : "not seen yet");
    return buf;
}

static const char *state_words(char buf[48], const struct fl_watch_view *v)
{
    if (v->why && !strcmp(v->why, "rates"))
        return "on and off look alike here";
    if (v->why && !strcmp(v->why, "ambiguous"))
        return "one rate so far: make it trip";
    if (v->why)
        return "waiting for motion";
    if (v->state != FL_STATE_UNSEEN)
        return "";
    if (v->seen == FL_STATE_UNSEEN)
        return "nothing moves enough to tell";
    snprintf(buf, 48, "at rest; last seen %s, %.0f s ago", fl_state_name(v->seen),
             fmax(0, v->time_s - v->seen_s));
    return buf;
}

static void put_state(FILE *out, const struct fl_watch_view *v, bool utf8)
{
    char on[32], off[32], words[48], side[LETTER_ROWS][80];
    snprintf(side[0], sizeof side[0], "synthesis on   %s", rate_text(on, v->on_hz, v->on_s));
    snprintf(side[1], sizeof side[1], "          off  %s", rate_text(off, v->off_hz, v->off_s));
    snprintf(side[2], sizeof side[2], "%s", state_words(words, v));
    snprintf(side[3], sizeof side[3], "seen on %.0f s, off %.1f s", v->on_s, v->off_s);
    snprintf(side[4], sizeof side[4], "%ld trip%s", v->trips, v->trips == 1 ? "" : "s");
    for (int r = 0; r < LETTER_ROWS; r++) {
        fprintf(out, "%*s\033[1m", INDENT, "");
        const int used = INDENT + put_large(out, large_word(v->state), r, utf8);
        fprintf(out, "\033[0m%*s", RIGHT - 8 - used, "");
        put_text(out, side[r], FL_COLUMNS - RIGHT + 8);
        end_line(out);
    }
}

static const char *outcome_words(const struct fl_watch_flick *f)
{
    if (f->at_risk == FL_NO)
        return "was off already";
    if (f->tripped == FL_ANSWER_UNKNOWN)
        return "not seen";
    if (f->at_risk == FL_ANSWER_UNKNOWN)
        return f->tripped == FL_YES ? "off, may have been before" : "held, not counted";
    return f->tripped == FL_YES ? "TRIPPED" : "held";
}

static void put_flicks(FILE *out, const struct fl_watch_view *v)
{
    line(out, " Flicks %-6d deg/s   quarter turn   outcome", v->flicks);
    for (int i = 0; i < FL_WATCH_FLICKS; i++) {
        if (i >= v->shown) {
            end_line(out);
            continue;
        }
        const struct fl_watch_flick *f = &v->flick[i];
        const double ago = fmax(0, v->time_s - f->end_s);
        if (fl_known(f->peak_deg_s))
            line(out, " %4.0f s ago %8.0f      %5.2f s      %s", ago, f->peak_deg_s,
                 fl_smooth_quarter_turn_s(f->peak_deg_s), outcome_words(f));
        else
            line(out, " %4.0f s ago        -            -      %s", ago, outcome_words(f));
    }
}

static const char *up_to(char buf[48], const char *high)
{
    snprintf(buf, 48, "up to %s", high);
    return buf;
}

static void put_answer(FILE *out, const struct fl_watch_view *v)
{
    char most[48];
    const struct fl_next_speed_answer *a = &v->answer;
    struct fl_interval_text t;
    if (!v->degrees) {
        line(out, " V50   no speeds in degrees: give %s",
             v->degrees_how ? v->degrees_how : "--fov");
        return;
    }
    if (fl_known(a->v50)) {
        fl_interval_text(&t, a->v50, a->low, a->high);
        char takes[32] = "";
        if (v->session.settings)
            snprintf(takes, sizeof takes, " in %d takes", v->session.takes);
        line(out, " V50   %s deg/s   95 %%: %s%s%s   from %d flicks, %d tripped%s", t.at,
             fl_known(a->low) ? t.low : "", fl_known(a->low) && fl_known(a->high) ? " to " : "",
             !fl_known(a->high) ? " or more"
             : fl_known(a->low) ? t.high
                                : up_to(most, t.high),
             v->fitted, v->fitted_trips, takes);
    } else {
        line(out, " V50   not known yet: %d flick%s count, %d tripped", v->fitted,
             v->fitted == 1 ? "" : "s", v->fitted_trips);
    }
}

const char *fl_watch_against(double next, double before)
{
    if (!(before > 0) || !(next > 0))
        return NULL;
    const double octaves = log2(next / before);
    return octaves > 1        ? "much faster"
           : octaves > 0.4    ? "faster"
           : octaves > 0.08   ? "a little faster"
           : octaves >= -0.08 ? "the same"
           : octaves >= -0.4  ? "a little slower"
           : octaves >= -1    ? "slower"
                              : "much slower";
}

const char *fl_watch_session_words(char buf[160], const struct fl_watch_session *s)
{
    char width[32];
    if (!s->next) {
        snprintf(buf, 160,
                 s->settings == 1 ? "the one setting is finished" : "all %d settings are finished",
                 s->settings);
        return buf;
    }
    if (isfinite(s->next_width))
        snprintf(width, sizeof width, "±%.0f %%", fl_octaves_to_percent(s->next_width));
    else
        snprintf(width, sizeof width, "open");
    snprintf(buf, 160, "%d of %d settings finished; %s %.64s (%s)", s->finished, s->settings,
             s->stay ? "stay with" : "change to", s->next, width);
    return buf;
}

static void put_session(FILE *out, const struct fl_watch_view *v)
{
    char words[160];
    if (v->session.settings)
        line(out, " SESSION  %s", fl_watch_session_words(words, &v->session));
    else
        end_line(out);
}

static void put_next(FILE *out, const struct fl_watch_view *v)
{
    if (v->degrees && v->answer.enough) {
        line(out, "\033[1m DONE  known within %.0f %%, as asked: this setting is finished\033[0m",
             100 * v->wanted);
        return;
    }
    if (!v->degrees) {
        end_line(out);
        return;
    }
    if (v->session.settings && v->session.take_done) {
        line(out,
             "\033[1m TAKE DONE  it is known within %.0f %%: more is told by another take\033[0m",
             100 * v->wanted);
        return;
    }
    const char *against = fl_watch_against(v->answer.next, v->last_deg_s);
    line(out, "\033[1m NEXT  %.0f deg/s: a quarter turn in %.2f s%s%s%s\033[0m", v->answer.next,
         fl_smooth_quarter_turn_s(v->answer.next), against ? ", " : "", against ? against : "",
         !against                      ? ""
         : strcmp(against, "the same") ? " than the last"
                                       : " as the last");
}

/* Most important first, the stream's own troubles before the recording's. */
static void put_troubles(FILE *out, const struct fl_watch_view *v)
{
    int left = 4;
    if (v->waiting_s >= fmax(2, FL_WATCH_LONGER * v->usual_wait_s) && left-- > 0)
        line(out, " ! nothing has come for %.0f s: is the recorder running?", v->waiting_s);
    if (v->note && left-- > 0)
        line(out, " ! %s", v->note);
    if (v->keep_why && *v->keep_why && left-- > 0)
        line(out, " ! %s", v->keep_why);
    for (int i = 0; v->usable && i < v->usable->n && left > 0; i++) {
        const struct fl_finding *f = &v->usable->finding[i];
        if (f->kind == FL_NOTE)
            continue;
        line(out, " %c %s", f->kind == FL_ADVICE ? '-' : '!', f->found);
        left--;
        if (*f->change && left-- > 0)
            line(out, "   %s", f->change);
    }
    while (left-- > 0)
        end_line(out);
}

void fl_watch_draw(FILE *out, const struct fl_watch_view *v, bool utf8)
{
    fputs("\033[H", out);
    put_head(out, v);
    end_line(out);
    put_state(out, v, utf8);
    end_line(out);
    put_flicks(out, v);
    end_line(out);
    put_answer(out, v);
    put_next(out, v);
    put_session(out, v);
    put_troubles(out, v);
    line(out, " %s", v->clock ? v->clock : "");
    if (v->keep && !(v->keep_why && *v->keep_why))
        fprintf(out, " Ctrl-C ends.  Kept: %.1f MB", v->kept_mb);
    else
        fputs(" Ctrl-C ends.", out);
    fputs("\033[K", out);
    fflush(out);
}
