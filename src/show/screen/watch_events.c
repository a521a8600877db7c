/* Events of `flinch watch` as lines: for people where no screen is, as JSON for other programs. */
#include <math.h>
#include <string.h>

#include "base/figure.h"
#include "base/units.h"
#include "show/screen/watch_screen.h"
#include "show/store/json_value.h"
#include "study/plan/forecast.h"

static json_t *number(double x)
{
    return isfinite(x) ? json_real(x) : json_null();
}

static json_t *begin(const char *event, double time_s, double seen_at_s)
{
    json_t *o = json_object();
    fl_json_set(o, "event", json_string(event));
    fl_json_set(o, "time_s", number(time_s));
    fl_json_set(o, "seen_at_s", number(seen_at_s));
    return o;
}

static void finish(FILE *out, json_t *o)
{
    fl_json_put(out, o, JSON_COMPACT | JSON_REAL_PRECISION(9));
    fflush(out);
}

static json_t *answer(enum fl_answer a)
{
    return a == FL_ANSWER_UNKNOWN ? json_null() : json_boolean(a == FL_YES);
}

void fl_watch_tell_state(FILE *out, bool json, enum fl_state s, double time_s, double seen_at_s)
{
    if (!json)
        return; /* trips and returns say it */
    json_t *o = begin("state", time_s, seen_at_s);
    fl_json_set(o, "state", json_string(fl_state_name(s)));
    finish(out, o);
}

void fl_watch_tell_edge(FILE *out, bool json, bool trip, double time_s, double seen_at_s)
{
    if (json)
        finish(out, begin(trip ? "trip" : "return", time_s, seen_at_s));
    else
        fprintf(out, "%9.3f s  %s\n", time_s, trip ? "tripped: off" : "on again");
    fflush(out);
}

void fl_watch_tell_flick(FILE *out, bool json, const struct fl_watch_flick *f, double seen_at_s)
{
    if (json) {
        json_t *o = begin("flick", f->time_s, seen_at_s);
        fl_json_set(o, "end_s", number(f->end_s));
        fl_json_set(o, "peak_deg_s", number(f->peak_deg_s));
        fl_json_set(o, "at_risk", answer(f->at_risk));
        fl_json_set(o, "tripped", answer(f->tripped));
        fl_json_set(o, "again", json_boolean(f->again));
        finish(out, o);
        return;
    }
    fprintf(out, "%9.3f s  flick", f->time_s);
    if (fl_known(f->peak_deg_s))
        fprintf(out, " %.0f deg/s", f->peak_deg_s);
    fprintf(out, "  %s%s\n",
            f->tripped == FL_YES  ? "tripped"
            : f->tripped == FL_NO ? "held"
                                  : "outcome not seen",
            f->again               ? "; counts after all"
            : f->at_risk == FL_YES ? ""
                                   : "; does not count");
    fflush(out);
}

void fl_watch_tell_rates(FILE *out, bool json, double on_hz, double off_hz, double seen_at_s)
{
    if (json) {
        json_t *o = begin("rates", seen_at_s, seen_at_s);
        fl_json_set(o, "on_hz", number(on_hz));
        fl_json_set(o, "off_hz", number(off_hz));
        finish(out, o);
        return;
    }
    fprintf(out, "%9.3f s  new pictures: ", seen_at_s);
    if (fl_known(on_hz))
        fprintf(out, "on %.0f/s", on_hz);
    else
        fputs("on not counted", out);
    if (fl_known(off_hz))
        fprintf(out, ", off %.0f/s\n", off_hz);
    else
        fputs(", off not seen\n", out);
    fflush(out);
}

void fl_watch_tell_next(FILE *out, bool json, const struct fl_watch_view *v)
{
    const struct fl_next_speed_answer *a = &v->answer;
    struct fl_interval_text t;
    if (json) {
        json_t *o = begin("next", v->time_s, v->time_s);
        const bool done = a->enough || v->session.take_done;
        fl_json_set(o, "next_deg_s", done ? json_null() : number(a->next));
        fl_json_set(o, "v50_deg_s", number(a->v50));
        fl_json_set(o, "v50_low_deg_s", number(a->low));
        fl_json_set(o, "v50_high_deg_s", number(a->high));
        fl_json_set(o, "flicks", json_integer(v->fitted));
        fl_json_set(o, "trips", json_integer(v->fitted_trips));
        fl_json_set(o, "enough", json_boolean(a->enough));
        fl_json_set(o, "take_enough", json_boolean(done));
        finish(out, o);
        return;
    }
    fprintf(out, "%9.3f s  ", v->time_s);
    if (fl_known(a->v50)) {
        fl_interval_text(&t, a->v50, a->low, a->high);
        fprintf(out, "V50 %s deg/s (%s to %s); ", t.at, t.low, t.high);
    }
    if (a->enough)
        fputs("as narrow as asked: this setting is finished\n", out);
    else if (v->session.settings && v->session.take_done)
        fputs("this take is: more is told by another\n", out);
    else
        fprintf(out, "next %.0f deg/s, a quarter turn in %.2f s\n", a->next,
                fl_smooth_quarter_turn_s(a->next));
    fflush(out);
}

void fl_watch_tell_warning(FILE *out, bool json, const char *code, const char *text, double time_s)
{
    if (json) {
        json_t *o = begin("warning", time_s, time_s);
        fl_json_set(o, "code", json_string(code));
        fl_json_set(o, "text", json_string(text));
        finish(out, o);
        return;
    }
    fprintf(out, "%9.3f s  ! %s\n", time_s, text);
    fflush(out);
}

static json_t *standing_setting(const struct fl_standing *st, size_t i)
{
    const struct fl_standing_setting *t = &st->setting[i];
    json_t *o = json_object();
    fl_json_set(o, "id", json_string(t->id));
    fl_json_set(o, "game", json_string(t->game));
    fl_json_set(o, "condition", json_string(t->condition));
    fl_json_set(o, "counts_per_inch", number(t->counts_per_inch));
    fl_json_set(o, "degrees_per_count", number(t->degrees_per_count));
    fl_json_set(o, "takes", json_integer(t->takes));
    fl_json_set(o, "flicks", json_integer(t->flicks));
    fl_json_set(o, "trips", json_integer(t->trips));
    fl_json_set(o, "v50_deg_s", number(t->v50));
    fl_json_set(o, "v50_low_deg_s", number(t->low));
    fl_json_set(o, "v50_high_deg_s", number(t->high));
    fl_json_set(o, "enough", json_boolean(t->enough));
    fl_json_set(o, "bits_a_minute", number(t->bits));
    return o;
}

void fl_watch_tell_session(FILE *out, bool json, const struct fl_standing *st,
                           const struct fl_watch_view *v)
{
    char words[160];
    if (!json) {
        fprintf(out, "%9.3f s  session: %s\n", v->time_s,
                fl_watch_session_words(words, &v->session));
        fflush(out);
        return;
    }
    json_t *o = begin("session", v->time_s, v->time_s), *list = json_array();
    for (size_t i = 0; i < st->n; i++)
        fl_json_append(list, standing_setting(st, i));
    fl_json_set(o, "settings", list);
    fl_json_set(o, "now", json_string(st->setting[st->now].id));
    fl_json_set(o, "next", v->session.next ? json_string(v->session.next) : json_null());
    fl_json_set(o, "finished", json_integer(st->finished));
    finish(out, o);
}

static bool is_told(const struct fl_watch_told *told, const char *code)
{
    for (int i = 0; i < told->n; i++)
        if (!strcmp(told->code[i], code))
            return true;
    return false;
}

void fl_watch_tell_findings(FILE *out, bool json, struct fl_watch_told *told,
                            const struct fl_usable *u, double time_s)
{
    struct fl_watch_told now = {.n = 0};
    for (int i = 0; i < u->n; i++) {
        const struct fl_finding *f = &u->finding[i];
        char text[2 * sizeof f->found];
        if (f->kind == FL_NOTE)
            continue;
        now.code[now.n++] = f->code;
        if (is_told(told, f->code))
            continue;
        snprintf(text, sizeof text, "%.150s%s%.150s", f->found, *f->change ? "; " : "", f->change);
        fl_watch_tell_warning(out, json, f->code, text, time_s);
    }
    *told = now;
}

void fl_watch_tell_end(FILE *out, bool json, const struct fl_watch_view *v)
{
    if (json) {
        json_t *o = begin("end", v->time_s, v->time_s);
        fl_json_set(o, "on_s", number(v->on_s));
        fl_json_set(o, "off_s", number(v->off_s));
        fl_json_set(o, "trips", json_integer(v->trips));
        fl_json_set(o, "flicks", json_integer(v->flicks));
        fl_json_set(o, "kept", v->keep ? json_string(v->keep) : json_null());
        finish(out, o);
        return;
    }
    fprintf(out, "%9.3f s  the stream has ended: on %.1f s, off %.1f s, %ld trips, %d flicks\n",
            v->time_s, v->on_s, v->off_s, v->trips, v->flicks);
    fflush(out);
}
