/* One screen a recording: the verdict, the facts that it rests on, what to change. */
#include "show/screen/check_screen.h"

#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include "show/screen/bars.h"
#include "show/screen/terminal_text.h"
#include "show/text/escape.h"

enum { LABEL = 14 }; /* columns before a fact */

/* A line of facts that grows part by part. */
struct line {
    char text[400];
};

static void add(struct line *l, const char *fmt, ...) __attribute__((format(printf, 2, 3)));

static void add(struct line *l, const char *fmt, ...)
{
    size_t used = strlen(l->text);
    va_list args;
    va_start(args, fmt);
    vsnprintf(l->text + used, sizeof l->text - used, fmt, args);
    va_end(args);
}

static void put(FILE *out, const char *label, struct line *l)
{
    char head[LABEL + 1];
    snprintf(head, sizeof head, "  %-*s", LABEL - 2, label);
    fputs(head, out);
    fl_put_wrapped(out, l->text, LABEL, LABEL);
    l->text[0] = 0;
}

static void put_capture(FILE *out, const struct fl_take *t)
{
    struct line l = {""};
    add(&l, "%.6g frames/s, %s; %ld frames in %.1f s, %dx%d", t->capture_rate_hz,
        t->constant_rate ? "even" : "uneven times", t->frames, t->duration_s, t->width, t->height);
    put(out, "capture", &l);
}

static void add_output(struct line *l, const struct fl_take *t, const struct fl_usable_facts *f)
{
    if (f->on_above_capture)
        add(l, "on %.0f/s or more", t->capture_rate_hz);
    else if (fl_known(f->on_output_hz))
        add(l, "on %.1f/s", f->on_output_hz);
    else
        add(l, t->exposure.on_s > 0 ? "on seen, its rate not counted" : "on not seen");
    if (fl_known(f->off_output_hz))
        add(l, ", off %.1f/s", f->off_output_hz);
    else
        add(l, t->exposure.off_s > 0 ? ", off seen, its rate not counted" : ", off not seen");
}

static void put_output(FILE *out, const struct fl_take *t, const struct fl_usable_facts *f)
{
    struct line l = {""};
    bool on = t->exposure.on_s > 0, off = t->exposure.off_s > 0;
    if (on || off)
        add_output(&l, t, f);
    else if (f->changed_hz >= 0.97 * t->capture_rate_hz)
        add(&l, "%.0f/s or more throughout", t->capture_rate_hz);
    else if (fl_known(f->changed_hz))
        add(&l, "about %.0f/s throughout", f->changed_hz);
    else
        add(&l, "none seen");
    if (f->told == FL_TOLD_YES)
        add(&l, "%s",
            on && off ? "; both can be seen" : "; the other state would show at this capture rate");
    else if (f->told == FL_TOLD_NO)
        add(&l, "; at this capture rate they look alike");
    put(out, "output", &l);
}

static void put_told(FILE *out, const struct fl_take *t, const struct fl_usable_facts *f)
{
    struct line l = {""};
    const struct fl_exposure *e = &t->exposure;
    add(&l, "on %.1f s, off %.1f s", e->on_s, e->off_s);
    if (fl_known(f->seen_share))
        add(&l, "; %.0f %% of the fast motion is seen", 100 * f->seen_share);
    put(out, "states", &l);
    if (e->on_s + e->off_s <= 0)
        return;
    if (!fl_known(f->told_from_px))
        add(&l, "at no speed for most of the time");
    else if (fl_known(f->told_from_deg_s))
        add(&l, "%.1f px a frame (%.0f deg/s); slower motion looks alike on or off",
            f->told_from_px, f->told_from_deg_s);
    else
        add(&l, "%.1f px a frame (--fov for deg/s); slower looks alike on or off", f->told_from_px);
    put(out, "seen from", &l);
}

static void put_motion(FILE *out, const struct fl_take *t, const struct fl_usable_facts *f)
{
    struct line l = {""};
    add(&l, "%.1f s of %.1f s is fast; %zu flicks", f->moving_s, t->duration_s, t->n_flicks);
    put(out, "motion", &l);
}

static void put_tears(FILE *out, const struct fl_take *t, const struct fl_usable_facts *f)
{
    struct line l = {""};
    add(&l, t->torn ? "yes" : "none");
    if (fl_known(f->torn_share) && t->torn)
        add(&l, ": %.0f %% of frames in motion are part new, part unchanged", 100 * f->torn_share);
    put(out, "tears", &l);
}

static void add_repeats(struct line *l, const struct fl_take *t)
{
    const struct fl_recorder *r = &t->recorder;
    long identical = r->device.identical;
    if (!r->repeats_told && identical)
        add(l, ", %ld identical (%.1f %%), by the output's rhythm or the recorder", identical,
            100 * (double)identical / (double)r->device.compared);
    else
        add(l, ", %ld repeated", t->repeated_frames);
    if (r->repeats_told && identical > t->repeated_frames)
        add(l, ", %ld more identical", identical - t->repeated_frames);
}

static void put_frames(FILE *out, const struct fl_take *t)
{
    const struct fl_recorder *r = &t->recorder;
    struct line l = {""};
    if (t->constant_rate)
        add(&l, "%ld missing", t->missing_frames);
    else
        add(&l, "missing: not known at uneven times");
    add_repeats(&l, t);
    if (r->jumps)
        add(&l, ", %ld double steps%s", r->jumps,
            r->jumps_told ? "" : ": lost, or skipped by the output");
    put(out, "frames", &l);
}

static void put_coding(FILE *out, const struct fl_take *t)
{
    const struct fl_device *d = &t->recorder.device;
    struct line l = {""};
    add(&l, "%s, %s", t->codec ? t->codec : "?", t->pixel_format ? t->pixel_format : "?");
    if (fl_known(t->recorder.bits_per_px))
        add(&l, ", %.2g bits a pixel", t->recorder.bits_per_px);
    if (fl_known(d->key_interval_s))
        add(&l, ", key frame each %.2g s", d->key_interval_s);
    put(out, "compression", &l);
    if (fl_known(d->rest_change))
        add(&l, "frame to frame %.2f grey levels at rest", d->rest_change);
    else
        add(&l, "not known: the picture never rests");
    if (fl_known(d->key_change))
        add(&l, ", %.2f at key frames", d->key_change);
    if (fl_known(d->motion_change))
        add(&l, ", %.2f in motion", d->motion_change);
    put(out, "noise", &l);
}

static void put_trace(FILE *out, const struct fl_take *t, const struct fl_usable_facts *f)
{
    const struct fl_recorder *r = &t->recorder;
    struct line l = {""};
    if (!t->spec.trace)
        return;
    if (t->clock.known)
        add(&l, "lined up within %.1f ms, covers %.0f %%",
            fl_known(t->clock.error_ms) ? t->clock.error_ms : t->clock.residual_ms,
            100 * f->trace_share);
    else
        add(&l, "not lined up; %.1f s long", r->trace_end_s - r->trace_start_s);
    if (fl_known(r->trace_report_hz))
        add(&l, ", %.0f reports/s", r->trace_report_hz);
    add(&l, ", %ld gap%s", r->trace_gaps, r->trace_gaps == 1 ? "" : "s");
    if (fl_known(f->hand_most_cm_s))
        add(&l, ", hand up to %.0f cm/s", f->hand_most_cm_s);
    if (fl_known(r->slate_s))
        add(&l, ", a slate %.0f s in", r->slate_s - r->trace_start_s);
    put(out, "trace", &l);
}

static void put_sound(FILE *out, const struct fl_take *t)
{
    const struct fl_sound_clock *c = &t->heard.clock;
    struct line l = {""};
    if (!t->spec.trace || (!c->presses && !t->spec.sound))
        return;
    if (c->known)
        add(&l, "%ld of %ld clicks heard", c->heard, c->presses);
    else
        add(&l, "no clock by it: %s", c->refused);
    put(out, "sound", &l);
}

static void put_left_out(FILE *out, const struct fl_take *t)
{
    const struct fl_covered *o = &t->recorder.covered;
    struct line l = {""};
    if (!(o->share > 0))
        return;
    add(&l, "%.0f %% of the picture, which does not move with the scene", 100 * o->share);
    if (o->bars > 0)
        add(&l, "; %.0f %% are bars or plain", 100 * o->bars);
    put(out, "left out", &l);
}

static void put_facts(FILE *out, const struct fl_take *t, const struct fl_usable_facts *f)
{
    put_capture(out, t);
    put_output(out, t, f);
    put_told(out, t, f);
    put_motion(out, t, f);
    put_tears(out, t, f);
    put_frames(out, t);
    put_left_out(out, t);
    put_coding(out, t);
    put_trace(out, t, f);
    put_sound(out, t);
}

static void put_findings(FILE *out, const struct fl_usable *u, bool skip_first)
{
    int number = 0;
    for (int i = 0; i < u->n; i++) {
        const struct fl_finding *v = &u->finding[i];
        char text[sizeof v->found + sizeof v->change + 8];
        const char *reason = i == 0 && skip_first ? "" : v->found;
        if (v->kind == FL_NOTE) {
            fl_put_wrapped(out, v->found, fprintf(out, "  note: "), 8);
            continue;
        }
        snprintf(text, sizeof text, "%s%s%s", reason, *reason ? ": " : "", v->change);
        char head[16];
        int column = snprintf(head, sizeof head, "  %2d. ", ++number);
        fputs(head, out);
        fl_put_wrapped(out, text, column, column);
    }
}

void fl_check_print(FILE *out, const char *path, const struct fl_take *t, const struct fl_usable *u,
                    bool whole)
{
    enum fl_finding_kind verdict = fl_usable_verdict(u);
    char *name = fl_clean_text(path), text[256];
    bool reason = verdict < FL_ADVICE;
    snprintf(text, sizeof text, "%s%s%s", fl_verdict_text(verdict), reason ? ": " : "",
             reason ? u->finding[0].found : "");
    fprintf(out, "%s: ", name);
    fl_put_wrapped(out, text, fl_text_columns(name) + 2, 4);
    if (whole) {
        fl_put_take_bars(out, t, 2, LABEL);
        put_facts(out, t, &u->facts);
    }
    if (whole && u->n && u->finding[0].kind != FL_NOTE)
        fputs("  to change:\n", out);
    put_findings(out, u, reason);
    free(name);
}
