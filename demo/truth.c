#include "truth.h"

#include <math.h>
#include <stdarg.h>
#include <stdlib.h>

#include "base/file.h"
#include "pad.h"

typedef void writer(FILE *out, const struct st_take *take);

static enum flinch_code write_file(const char *folder, const char *name, writer *write,
                                   const struct st_take *take, struct fl_error *err)
{
    char *path = fl_path_join(folder, name);
    struct fl_file f;
    enum flinch_code code = fl_file_begin(&f, path, err);
    free(path);
    if (code)
        return code;
    write(f.stream, take);
    return fl_file_commit(&f, err);
}

/* ---- tables ---- */

/* The game's and the hand's times are the card's; what is written is where the file shows them. */
static double shown(const struct st_take *t, double card_s)
{
    return st_footage_of(&t->capture, card_s);
}

static long long trace_us(const struct st_take *t, double footage_s)
{
    return llround(st_trace_time(&t->scenario, footage_s) * 1e6);
}

/* As pads tell it: only what has changed since the reading before. */
static void write_stick(FILE *out, const struct st_take *t)
{
    const struct st_hand *h = &t->hand;
    fputs("time_us,stick_x,stick_y\n", out);
    for (size_t i = 0; i < h->n_readings; i++) {
        const struct st_reading *r = h->readings + i;
        long long at = trace_us(t, r->time_s);
        bool first = !i || trace_us(t, r[-1].time_s) < 0;
        if (at >= 0 && (first || r->at[0] != r[-1].at[0] || r->at[1] != r[-1].at[1]))
            fprintf(out, "%lld,%.5f,%.5f\n", at, r->at[0], r->at[1]);
    }
}

static bool is_pad(const struct st_take *t)
{
    return t->scenario.stick.report_hz > 0;
}

static void write_trace(FILE *out, const struct st_take *t)
{
    const struct st_hand *h = &t->hand;
    if (is_pad(t)) {
        write_stick(out, t);
        return;
    }
    fputs("time_us,dx,dy\n", out);
    for (size_t i = 1; i < h->n_reports; i++) {
        const struct st_report *a = h->reports + i - 1, *b = h->reports + i;
        if (trace_us(t, b->time_s) >= 0)
            fprintf(out, "%lld,%ld,%ld\n", trace_us(t, b->time_s), b->x - a->x, b->y - a->y);
    }
}

static bool in_trace(const struct st_take *t, double footage_s)
{
    return trace_us(t, footage_s) >= 0;
}

static void write_clicks(FILE *out, const struct st_take *t)
{
    fputs("time_us,button,state\n", out);
    for (size_t i = 0; i < t->hand.n_clicks; i++) {
        const struct st_click *c = t->hand.clicks + i;
        if (in_trace(t, c->press_s))
            fprintf(out, "%lld,1,1\n", trace_us(t, c->press_s));
        if (in_trace(t, c->release_s))
            fprintf(out, "%lld,1,0\n", trace_us(t, c->release_s));
    }
}

static double wrapped(double yaw_deg)
{
    return yaw_deg - 360 * floor((yaw_deg + 180) / 360);
}

static void write_outputs(FILE *out, const struct st_take *t)
{
    const struct st_game *g = &t->game;
    fputs("event,time_s,kind,rendered_frame,yaw_deg,pitch_deg,synth_on\n", out);
    for (size_t i = 0; i < g->n_outputs; i++) {
        const struct st_output *o = g->outputs + i;
        const struct st_rendered *r = g->rendered + o->rendered;
        double yaw = r->yaw_deg, pitch = r->pitch_deg;
        if (o->synthesised) { /* on the way to the next */
            yaw += o->part * (r[1].yaw_deg - yaw);
            pitch += o->part * (r[1].pitch_deg - pitch);
        }
        fprintf(out, "%zu,%.6f,%c,%zu,%.4f,%.4f,%d\n", i, shown(t, o->time_s),
                o->synthesised ? 'S' : 'R', o->rendered, wrapped(yaw), pitch, r->on);
    }
}

static void write_rendered(FILE *out, const struct st_take *t)
{
    const struct st_game *g = &t->game;
    double part = (double)t->scenario.width / st_render_width(&t->scenario); /* px of the footage */
    fputs("rendered_frame,sample_time_s,present_time_s,counts_x,counts_y,yaw_deg,pitch_deg,speed_"
          "deg_s,disp_px,state_on,focal_px\n",
          out);
    for (size_t i = 0; i < g->n_rendered; i++) {
        const struct st_rendered *r = g->rendered + i;
        fprintf(out, "%zu,%.6f,%.6f,%ld,%ld,%.4f,%.4f,%.3f,%.3f,%d,%.3f\n", i,
                shown(t, r->sample_s), shown(t, r->present_s), r->x, r->y, wrapped(r->yaw_deg),
                r->pitch_deg, r->speed_deg_s, r->step_px * part, r->on, r->focal_px * part);
    }
}

static void write_tears(FILE *out, const struct st_take *t)
{
    fputs("frame,row,from_event,to_event\n", out);
    for (size_t i = 0; i < t->capture.n_tears; i++) {
        const struct st_tear *r = t->capture.tears + i;
        fprintf(out, "%ld,%d,%zu,%zu\n", r->frame,
                r->row * t->scenario.height / st_render_height(&t->scenario), r->from, r->to);
    }
}

/* ---- truth.json ---- */

static void put(FILE *out, const char *fmt, ...) __attribute__((format(printf, 2, 3)));
static void put(FILE *out, const char *fmt, ...)
{
    va_list args;
    va_start(args, fmt);
    vfprintf(out, fmt, args);
    va_end(args);
}

static void put_number(FILE *out, const char *key, double x, const char *end)
{
    if (fl_known(x))
        put(out, "  \"%s\": %.10g%s\n", key, x, end);
    else
        put(out, "  \"%s\": null%s\n", key, end);
}

/* shift: seconds later than the spans say. */
static void put_spans(FILE *out, const struct st_take *t, const char *key,
                      const struct fl_span *span, size_t n, double shift)
{
    put(out, " \"%s\": [", key);
    for (size_t i = 0; i < n; i++)
        put(out, "%s\n  [%.6f, %.6f]", i ? "," : "", shown(t, span[i].start_s + shift),
            shown(t, span[i].end_s + shift));
    put(out, "%s],\n", n ? "\n " : "");
}

static const char *presentation(const struct st_scenario *s)
{
    if (s->capture == ST_TORN)
        return "scan-out with tears";
    if (s->capture == ST_LOCAL)
        return "local recording";
    return s->sync_hz > 0 ? "synchronised to the blank" : "variable refresh, whole pictures";
}

static void put_telling(FILE *out, const struct st_scenario *s)
{
    static const char *const word[] = {"yes", "either", "no"};
    const char *reason;
    enum st_telling telling = st_telling(s, &reason);
    put(out, " \"tell_on_from_off\": {\n  \"can\": \"%s\",\n", word[telling]);
    if (reason)
        put(out, "  \"reason\": \"%s\",\n", reason);
    put(out,
        "  \"note\": \"from true rates: no - any on or off called in motion is wrong; either - "
        "unseen is as right as the true state\"\n },\n");
}

static void put_capture(FILE *out, const struct st_take *t)
{
    const struct st_scenario *s = &t->scenario;
    put(out, " \"capture\": {\n  \"width\": %d,\n  \"height\": %d,\n", s->width, s->height);
    put_number(out, "fps", s->capture == ST_LOCAL ? s->factor * st_base_on(s) : s->fps, ",");
    put(out, "  \"frames\": %ld,\n", t->capture.frames);
    put(out, "  \"duration_s\": %.9f,\n", t->capture.duration_s);
    put(out, "  \"presentation\": \"%s\",\n", presentation(s));
    put(out, "  \"times\": \"%s\",\n", s->renumbered ? "renumbered" : "true");
    put(out, "  \"active_scan_fraction\": %.4f\n },\n", 1 - s->blank);
}

static void put_head(FILE *out, const struct st_take *t)
{
    static const char *const state[] = {"cut-off", "always on", "never on"};
    const struct st_scenario *s = &t->scenario;
    double on = st_base_on(s), off = st_base_off(s);
    put(out, " \"take\": \"%s\",\n \"family\": \"%s\",\n \"scene\": \"%s\",\n", s->name,
        s->family ? s->family : "demo", st_scene_name(s->place));
    put(out, " \"about\": \"%s\",\n", s->about);
    put_capture(out, t);
    put(out, " \"base_rate_hz\": %g,\n \"output_rate_on_hz\": %g,\n", on,
        s->synthesis == ST_NEVER_ON ? off : s->factor * on);
    put(out, " \"output_rate_off_hz\": %g,\n \"frames_per_rendered\": %d,\n", off, s->factor);
    put(out, " \"synthesis\": \"%s\",\n", state[s->synthesis]);
    put_telling(out, s);
}

static void put_cutoff(FILE *out, const struct st_scenario *s)
{
    static const char *const key[] = {"angular speed deg/s", "image shift px", "count rate 1/s",
                                      "image change"};
    bool cut = s->synthesis == ST_CUT_OFF, speed = cut && s->key == ST_KEY_SPEED,
         px = cut && s->key == ST_KEY_IMAGE;
    bool counts = cut && s->key == ST_KEY_COUNTS, change = cut && s->key == ST_KEY_CHANGE;
    put(out, " \"cutoff\": {\n  \"key\": \"%s\",\n", key[s->key]);
    put_number(out, "theta_hi_deg_s", speed ? s->theta_hi : FL_UNKNOWN, ",");
    put_number(out, "theta_lo_deg_s", speed ? s->theta_lo : FL_UNKNOWN, ",");
    put_number(out, "px_hi", px ? s->theta_hi : FL_UNKNOWN, ",");
    put_number(out, "px_lo", px ? s->theta_lo : FL_UNKNOWN, ",");
    put_number(out, "counts_hi_per_s", counts ? s->theta_hi : FL_UNKNOWN, ",");
    put_number(out, "counts_lo_per_s", counts ? s->theta_lo : FL_UNKNOWN, ",");
    put_number(out, "change_hi", change ? s->theta_hi : FL_UNKNOWN, ",");
    put_number(out, "change_lo", change ? s->theta_lo : FL_UNKNOWN, ",");
    put_number(out, "d_on_s", cut ? s->d_on_s : FL_UNKNOWN, ",");
    put_number(out, "d_off_s", cut ? s->d_off_s : FL_UNKNOWN, ",");
    put(out, "  \"note\": \"speed = displacement between consecutive rendered frames x nominal "
             "rate; off after "
             "d_on_s above hi, on again after d_off_s below lo\"\n },\n");
}

static void put_stick(FILE *out, const struct st_stick *s)
{
    enum { STEPS = 20 };
    put(out, " \"stick\": {\n  \"report_hz\": %g,\n  \"dead_zone\": %g,\n", s->report_hz, s->dead);
    put(out, "  \"turns\": \"%s\",\n  \"deg_s_at\": [",
        s->by_frames ? "by the last reading times the frame's length"
                     : "by each reading for as long as it is held");
    for (int k = 0; k <= STEPS; k++)
        put(out, "%s[%g, %.3f]", k ? ", " : "", (double)k / STEPS,
            st_pad_turn_rate(s, (double)k / STEPS));
    put(out, "]\n },\n");
}

static void put_mouse(FILE *out, const struct st_scenario *s)
{
    put(out,
        " \"mouse\": {\n  \"counts_per_inch\": %g,\n  \"sensitivity\": %g,\n  \"deg_per_count\": "
        "%g,\n  "
        "\"deg_per_cm\": %.4f,\n  \"sign\": \"dx>0 turns right (yaw falls), dy>0 looks down\"\n "
        "},\n",
        s->counts_per_inch, s->degrees_per_count / 0.022, s->degrees_per_count,
        s->counts_per_inch * s->degrees_per_count / FL_CM_PER_INCH);
}

/* A game that turns by the last reading times the frame's length has turned, by half a base period
 * on average, more than the stick was held out for: its picture comes so much earlier. */
static double ahead_ms(const struct st_scenario *s, double base_hz)
{
    return s->stick.by_frames ? 500 / base_hz : 0;
}

static double first_report_s(const struct st_take *t)
{
    return is_pad(t) ? t->hand.readings[0].time_s : t->hand.reports[1].time_s;
}

static double last_report_s(const struct st_take *t)
{
    const struct st_hand *h = &t->hand;
    return is_pad(t) ? h->readings[h->n_readings - 1].time_s : h->reports[h->n_reports - 1].time_s;
}

static void put_clock(FILE *out, const struct st_take *t)
{
    const struct st_scenario *s = &t->scenario;
    /* a whole picture waits for the next capture frame */
    double wait = s->capture == ST_WHOLE && s->sync_hz <= 0 ? 500 / s->fps : 0;
    double first = fmax(st_trace_time(s, first_report_s(t)), 0);
    put(out,
        " \"display_delay_ms\": {\n  \"on\": %g,\n  \"off\": %g,\n  \"note\": \"mouse sampling "
        "instant to first "
        "row of that rendered frame on screen; slides over some frames when the state changes\"\n "
        "},\n",
        s->delay_on_ms + wait - ahead_ms(s, st_base_on(s)),
        s->delay_off_ms + wait - ahead_ms(s, st_base_off(s)));
    put(out,
        " \"clock\": {\n  \"offset_s\": %.6g,\n  \"drift_ppm\": %g,\n  \"formula\": \"trace_s = "
        "offset_s + (1 + "
        "drift_ppm*1e-6) * footage_s\"\n },\n",
        s->clock_offset_s, s->drift_ppm);
    put(out,
        " \"trace_rows\": \"all\",\n \"trace_starts_at_footage_s\": %.4f,\n "
        "\"trace_ends_at_footage_s\": %.4f,\n",
        st_footage_time(s, first), last_report_s(t));
    if (is_pad(t))
        put_stick(out, &s->stick);
    else
        put_mouse(out, s);
    put(out, " \"view\": {\n  \"hfov_deg\": %g,\n  \"focal_px\": %.6g\n },\n", s->hfov_deg,
        st_focal_px(s) * s->width / st_render_width(s));
}

static void put_clicks(FILE *out, const struct st_take *t)
{
    const struct st_hand *h = &t->hand;
    put(out,
        " \"mic\": {\n  \"rate_hz\": 48000,\n  \"minus_footage_ms\": %g,\n  \"note\": \"a click at "
        "footage time s "
        "sounds at s + this in sound.flac\"\n },\n \"clicks\": [",
        t->scenario.mic_ms);
    for (size_t i = 0; i < h->n_clicks; i++)
        put(out, "%s\n  {\"press_s\": %.4f, \"release_s\": %.4f, \"press_in_trace\": %s}",
            i ? "," : "", h->clicks[i].press_s, h->clicks[i].release_s,
            in_trace(t, h->clicks[i].press_s) ? "true" : "false");
    put(out, "%s],\n", h->n_clicks ? "\n " : "");
}

struct outcome {
    double peak_deg_s, peak_px;
    bool tripped, started;
};

/* What the rendered frames sampled during a flick, and just after it, went through. */
static struct outcome outcome_of(const struct st_game *g, const struct st_flick *f)
{
    struct outcome o = {0};
    for (size_t i = 1; i < g->n_rendered; i++) {
        const struct st_rendered *r = g->rendered + i;
        if (r->sample_s < f->start_s || r->sample_s >= f->end_s + 0.025)
            continue;
        o.peak_deg_s = fmax(o.peak_deg_s, r->speed_deg_s);
        o.peak_px = fmax(o.peak_px, r->step_px);
        o.tripped |= !r->on;
        o.started |= !r->on && r[-1].on;
    }
    return o;
}

static void put_flicks(FILE *out, const struct st_take *t)
{
    const struct st_hand *h = &t->hand;
    bool control = t->scenario.synthesis == ST_NEVER_ON;
    put(out, " \"flicks\": [");
    for (size_t i = 0; i < h->n_flicks; i++) {
        const struct st_flick *f = h->flicks + i;
        struct outcome o = outcome_of(&t->game, f);
        put(out,
            "%s\n  {\"start_s\": %.4f, \"end_s\": %.4f, \"planned_peak_deg_s\": %.2f, "
            "\"angle_deg\": %.2f, "
            "\"rendered_peak_deg_s\": %.2f, \"rendered_peak_px\": %.2f, \"tripped\": %s, "
            "\"started_trip\": %s}",
            i ? "," : "", f->start_s, f->end_s, f->peak_deg_s, f->angle_deg, o.peak_deg_s,
            o.peak_px, o.tripped && !control ? "true" : "false",
            o.started && !control ? "true" : "false");
    }
    put(out, "%s],\n \"tracking_rests\": [", h->n_flicks ? "\n " : "");
    for (size_t i = 0; i < h->n_tracks; i++)
        put(out, "%s\n  {\"start_s\": %.4f, \"end_s\": %.4f, \"speed_deg_s\": %.2f}", i ? "," : "",
            h->tracks[i].start_s, h->tracks[i].end_s, h->tracks[i].speed_deg_s);
    put(out, "\n ],\n \"strafes\": [");
    for (size_t i = 0; i < h->n_strafes; i++)
        put(out,
            "%s\n  {\"start_s\": %.4f, \"end_s\": %.4f, \"dx_m\": %.3f, \"dy_m\": %.3f, "
            "\"dz_m\": %.3f}",
            i ? "," : "", h->strafes[i].start_s, h->strafes[i].end_s, h->strafes[i].way_m[0],
            h->strafes[i].way_m[1], h->strafes[i].way_m[2]);
    put(out, "%s],\n", h->n_strafes ? "\n " : "");
}

/* Stretches on, from flip to flip, with fewer synthesised frames than the feature makes at most. */
static void put_fewer(FILE *out, const struct st_take *t)
{
    const struct st_game *g = &t->game;
    bool any = false;
    put(out, " \"fewer_intervals\": [");
    for (size_t i = 0; i + 1 < g->n_rendered; i++) {
        size_t first = i;
        while (i + 1 < g->n_rendered && g->rendered[i].on &&
               g->rendered[i].frames < t->scenario.factor)
            i++;
        if (i > first) {
            put(out, "%s\n  [%.6f, %.6f, %d]", any ? "," : "",
                shown(t, g->rendered[first].present_s), shown(t, g->rendered[i].present_s),
                g->rendered[first].frames);
            any = true;
        }
    }
    put(out, "%s],\n", any ? "\n " : "");
}

static void put_missing(FILE *out, const struct st_game *g)
{
    bool any = false;
    put(out, " \"missing_events\": [");
    for (size_t i = 0; i < g->n_outputs; i++)
        if (g->outputs[i].missing) {
            put(out, "%s%zu", any ? ", " : "", i);
            any = true;
        }
    put(out, "],\n");
}

/* Stretches of the screen that are all but black or white, from flip to flip. */
static void put_hidden(FILE *out, const struct st_take *t)
{
    const struct st_game *g = &t->game;
    bool any = false;
    put(out, " \"hidden_stretches\": [");
    for (size_t i = 0; i + 1 < g->n_rendered; i++) {
        size_t first = i;
        while (i + 1 < g->n_rendered &&
               st_light_at(&g->stretches, g->rendered[i].sample_s).gain < 0.3)
            i++;
        if (i > first) {
            put(out, "%s\n  [%.6f, %.6f]", any ? "," : "", shown(t, g->rendered[first].present_s),
                shown(t, g->rendered[i].present_s));
            any = true;
        }
    }
    put(out, "%s],\n", any ? "\n " : "");
}

static void put_stretches(FILE *out, const struct st_take *t)
{
    const struct st_scenario *s = &t->scenario;
    const struct st_stretches *p = &t->game.stretches;
    size_t stills = fl_known(t->hand.still.start_s);
    double late = s->delay_on_ms * 1e-3;
    put_spans(out, t, "static_stretches", &t->hand.still, stills, 0);
    put_spans(out, t, "static_on_screen", &t->hand.still, stills, late);
    put_spans(out, t, "halved_base_stretches", p->heavy, p->n_heavy, 0);
    put_spans(out, t, "zoomed_stretches", p->aim, p->n_aim, 0);
    put_hidden(out, t);
    put(out, " \"cuts\": [");
    for (size_t i = 0, n = 0; i < p->n_event; i++)
        if (p->event[i].kind == ST_CUTS)
            put(out, "%s%.4f", n++ ? ", " : "", shown(t, p->event[i].span.start_s + late));
    put(out, "],\n");
}

static void write_json(FILE *out, const struct st_take *t)
{
    const struct st_scenario *s = &t->scenario;
    const struct st_game *g = &t->game;
    double off = 0;
    for (size_t i = 0; i < g->n_off; i++)
        off += g->off[i].end_s - g->off[i].start_s;
    put(out, "{\n");
    put_head(out, t);
    put_cutoff(out, s);
    put_spans(out, t, "off_intervals", g->off, g->n_off, 0);
    put_fewer(out, t);
    put(out, " \"off_total_s\": %.4f,\n \"off_count\": %zu,\n", off, g->n_off);
    put(out, " \"pair_fraction_rendered\": [%g, %g],\n", s->pair_fraction, s->pair_fraction);
    put_clock(out, t);
    put_stretches(out, t);
    put_clicks(out, t);
    put_flicks(out, t);
    put_missing(out, g);
    put(out, " \"seed\": %llu\n}\n", (unsigned long long)s->seed);
}

enum flinch_code st_truth_write(const char *folder, const struct st_take *t, struct fl_error *err)
{
    static const struct {
        const char *name;
        writer *write;
    } file[] = {{"trace.csv", write_trace},           {"clicks.csv", write_clicks},
                {"truth-outputs.csv", write_outputs}, {"truth-rendered.csv", write_rendered},
                {"truth-tears.csv", write_tears},     {"truth.json", write_json}};
    enum flinch_code code = FLINCH_OK;
    for (size_t i = 0; i < sizeof file / sizeof *file && !code; i++)
        code = write_file(folder, file[i].name, file[i].write, t, err);
    return code;
}
