/* Lapses and flicks → marks, in frames of the edit, and the files that hold them. */
#include "show/marks/marks.h"

#include <stdlib.h>
#include <string.h>

#include "base/figure.h"
#include "base/file.h"
#include "base/mem.h"
#include "show/text/escape.h"
#include "study/compare/lapse_figures.h"

#define ROUNDING_S 1e-6 /* of times in files */

/* ---- frames ---- */

/* The last capture frame that begins at t or before; 0 before the first. */
static long frame_at(const struct fl_take *t, double time_s)
{
    long low = 0, high = t->frames;
    while (high - low > 1) {
        long middle = low + (high - low) / 2;
        if (t->time_s[middle] <= time_s + ROUNDING_S)
            low = middle;
        else
            high = middle;
    }
    return low;
}

/* When capture frame i begins; the end of the footage for i = frames. */
static double begins(const struct fl_take *t, long i)
{
    return i < t->frames ? t->time_s[i]
                         : fmax(t->duration_s, t->time_s[t->frames - 1] + ROUNDING_S);
}

/* The first frame of the edit that shows the capture frame which begins then. Capture frames are
 * counted on the constant grid where there is one: a frame that was lost keeps its number. */
static long edit_frame(const struct fl_marks *m, struct fl_rate own, bool common, double time_s)
{
    long slot = lround(time_s * m->take->capture_rate_hz);
    if (m->own_rate && m->take->constant_rate)
        return slot;
    if (common && m->take->constant_rate)
        return fl_rate_convert(slot, own, m->tc.rate);
    return (long)ceil((time_s - ROUNDING_S) * fl_rate_hz(m->tc.rate));
}

/* ---- the list ---- */

static bool wanted(const struct fl_flick *f, enum fl_mark_flicks which)
{
    switch (which) {
    case FL_MARK_TRIPPED: return f->at_risk == FL_YES && f->tripped == FL_YES;
    case FL_MARK_HELD: return f->at_risk == FL_YES && f->tripped == FL_NO;
    case FL_MARK_ALL: return true;
    case FL_MARK_NONE: break;
    }
    return false;
}

static void place(struct fl_mark *mark, const struct fl_marks *m, double start_s, double end_s,
                  struct fl_rate own, bool common)
{
    const struct fl_take *t = m->take;
    long first = frame_at(t, start_s), after = frame_at(t, end_s);
    /* The end is exclusive: the frame in which it ends belongs to what follows, the last frame does
     * not. */
    if (after <= first || end_s >= t->duration_s - ROUNDING_S)
        after = end_s >= t->duration_s - ROUNDING_S ? t->frames : first + 1;
    mark->start_s = begins(t, first);
    mark->end_s = begins(t, after);
    mark->in = edit_frame(m, own, common, mark->start_s);
    if (mark->in >= m->length) /* of the last capture frames, a slower edit may show none */
        mark->in = m->length - 1;
    mark->out = edit_frame(m, own, common, mark->end_s);
    if (mark->out <= mark->in)
        mark->out = mark->in + 1;
}

static int in_order(const void *a, const void *b)
{
    const struct fl_mark *x = a, *y = b;
    if (x->in != y->in)
        return x->in < y->in ? -1 : 1;
    if (x->out != y->out)
        return x->out > y->out ? -1 : 1;
    return (x->flick != NULL) - (y->flick != NULL);
}

static void collect(struct fl_marks *m, enum fl_mark_flicks which, struct fl_rate own, bool common)
{
    const struct fl_states *s = &m->take->states;
    m->v = FL_NEW(struct fl_mark, s->n_lapses + m->take->n_flicks + 1);
    for (size_t i = 0; i < s->n_lapses; i++) {
        struct fl_mark *mark = &m->v[m->n++];
        *mark = (struct fl_mark){.lapse = &s->lapse[i], .number = i + 1};
        place(mark, m, s->lapse[i].start_s, s->lapse[i].end_s, own, common);
    }
    for (size_t i = 0; i < m->take->n_flicks; i++) {
        const struct fl_flick *f = &m->take->flicks[i];
        if (!wanted(f, which))
            continue;
        struct fl_mark *mark = &m->v[m->n++];
        *mark = (struct fl_mark){.flick = f, .number = i + 1};
        place(mark, m, f->start_s, f->end_s, own, common);
    }
    qsort(m->v, m->n, sizeof *m->v, in_order);
}

bool fl_marks_make(struct fl_marks *out, const struct fl_take *t,
                   const struct fl_mark_settings *settings)
{
    bool common;
    struct fl_rate own = fl_rate_near(t->capture_rate_hz, (double)t->frames, &common);
    *out = (struct fl_marks){.take = t, .tc = {settings->rate, false}};
    if (!settings->rate.den)
        out->tc.rate = own;
    if (t->frames < 1 || !own.den)
        return false;
    out->own_rate = out->tc.rate.num == own.num && out->tc.rate.den == own.den;
    out->tc.drop = settings->drop && fl_rate_can_drop(out->tc.rate);
    out->drop_refused = settings->drop && !out->tc.drop;
    if (settings->start && fl_timecode_parse(&out->start, &out->tc, settings->start, NULL))
        out->start = 0; /* checked before */
    out->length = edit_frame(out, own, common, begins(t, t->frames));
    if (out->length < 1)
        out->length = 1;
    collect(out, settings->flicks, own, common);
    return true;
}

void fl_marks_finish(struct fl_marks *m)
{
    free(m->v);
    *m = (struct fl_marks){0};
}

/* ---- words ---- */

static const char *outcome(const struct fl_flick *f)
{
    return f->at_risk == FL_NO               ? "off already"
           : f->at_risk == FL_ANSWER_UNKNOWN ? "not known whether at risk"
           : f->tripped == FL_YES            ? "tripped"
           : f->tripped == FL_NO             ? "held"
                                             : "outcome unseen";
}

const char *fl_mark_text(char buf[FL_MARK_TEXT_SIZE], const struct fl_mark *m)
{
    static const enum fl_quantity order[] = {FL_CAMERA_SPEED, FL_COUNT_RATE, FL_STICK_DEFLECTION};
    char figure[FL_FIGURE_SIZE];
    if (m->lapse) {
        const struct fl_lapse *l = m->lapse;
        snprintf(buf, FL_MARK_TEXT_SIZE, "Lapse %zu: off for %s%s s%s%s", m->number,
                 fl_lapse_open_ended(l) ? "at least " : "",
                 fl_figure(figure, l->end_s - l->start_s),
                 l->has_trip        ? ""
                 : l->parted_before ? ", its start inferred"
                                    : ", its start not seen",
                 l->has_return     ? ""
                 : l->parted_after ? ", its end inferred"
                                   : ", its end not seen");
        return buf;
    }
    int n = snprintf(buf, FL_MARK_TEXT_SIZE, "Flick %zu: %s", m->number, outcome(m->flick));
    for (size_t i = 0; i < sizeof order / sizeof *order; i++)
        if (fl_known(m->flick->peak[order[i]])) {
            snprintf(buf + n, FL_MARK_TEXT_SIZE - (size_t)n, ", peak %s %s",
                     fl_figure(figure, m->flick->peak[order[i]]),
                     fl_quantity_info(order[i])->unit_label);
            break;
        }
    return buf;
}

const char *fl_mark_colour(const struct fl_mark *m)
{
    return m->lapse                      ? "RED"
           : m->flick->tripped == FL_YES ? "YELLOW"
           : m->flick->tripped == FL_NO  ? "GREEN"
                                         : "BLUE";
}

/* ---- files ---- */

static const struct {
    const char *ending;
    void (*write)(FILE *out, const struct fl_marks *m);
} formats[] = {{"edl", fl_marks_edl},
               {"vtt", fl_marks_vtt},
               {"ffmeta", fl_marks_ffmeta},
               {"otio", fl_marks_otio}};

static enum flinch_code write_file(const char *folder, const struct fl_marks *m, size_t format,
                                   struct fl_error *err)
{
    char *name = fl_format("marks/%s.%s", m->take->spec.id, formats[format].ending);
    char *path = fl_path_join(folder, name);
    struct fl_file file;
    enum flinch_code code = fl_file_begin(&file, path, err);
    if (!code) {
        formats[format].write(file.stream, m);
        code = fl_file_commit(&file, err);
    }
    free(path);
    free(name);
    return code;
}

static enum flinch_code write_take(const char *folder, const struct fl_take *t,
                                   const struct fl_show_settings *settings, struct fl_error *err)
{
    static const struct fl_show_settings plain;
    struct fl_marks m;
    char *marks = fl_path_join(folder, "marks");
    enum flinch_code code = fl_make_folder(marks, err);
    free(marks);
    if (code || !fl_marks_make(&m, t, settings ? &settings->marks : &plain.marks))
        return code;
    locale_t was = fl_point_begin();
    for (size_t i = 0; i < sizeof formats / sizeof *formats && !code; i++)
        code = write_file(folder, &m, i, err);
    fl_point_end(was);
    fl_marks_finish(&m);
    return code;
}

const struct fl_writer fl_marks_writer = {"marks", false, write_take, NULL};
