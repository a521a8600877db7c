/* What the page's script shows of a take: its course in time, capture frame by capture frame, and
 * its filmstrips. Read by course.js and strips.js. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "show/chart/chart_axes.h"
#include "show/clip/filmstrip.h"
#include "show/page/page_columns.h"
#include "show/page/page_packed.h"
#include "show/page/page.h"
#include "show/store/frame_columns.h"
#include "show/store/json_value.h"
#include "show/text/game_groups.h"
#include "show/text/lapse_words.h"

#define PICTURE_LIMIT ((size_t)1 << 26)

static json_t *values_of(const struct fl_take *t, const struct fl_frame_column *c)
{
    size_t n = (size_t)t->frames;
    double *v = FL_NEW(double, n + 1);
    for (size_t i = 0; i < n; i++)
        v[i] = fl_frame_value(t, c, (long)i);
    json_t *column = fl_column_figures(v, n);
    free(v);
    return column;
}

/* Those columns of the frame table that have a label for people. */
static json_t *columns_of(const struct fl_take *t)
{
    size_t n;
    struct fl_frame_column *column = fl_frame_columns(&n);
    json_t *list = json_array();
    for (size_t k = 0; k < n; k++)
        if (column[k].label)
            fl_json_append(list, json_pack("{s: s, s: s, s: s, s: o}", "column", column[k].name,
                                           "label", column[k].label, "unit", column[k].unit, "v",
                                           values_of(t, &column[k])));
    free(column);
    return list;
}

static json_t *flips_of(const struct fl_take *t)
{
    size_t n = t->flips.n;
    double *at = FL_NEW(double, n + 1), *kind = FL_NEW(double, n + 1);
    for (size_t i = 0; i < n; i++) {
        at[i] = t->flips.v[i].time_s;
        kind[i] = t->flips.v[i].kind;
    }
    json_t *flips = json_pack("{s: o, s: o}", "time_s", fl_column_times(at, n), "kind",
                              fl_column_figures(kind, n));
    free(at);
    free(kind);
    return flips;
}

/* [start, end, state, confidence, reason] */
static json_t *spans_of(const struct fl_states *s)
{
    json_t *list = json_array();
    for (size_t i = 0; i < s->n_spans; i++) {
        const struct fl_state_span *span = &s->span[i];
        fl_json_append(list,
                       json_pack("[o, o, i, o, o]", fl_json_time(span->start_s),
                                 fl_json_time(span->end_s), (int)span->state,
                                 fl_json_figure(span->confidence), fl_json_text(span->reason)));
    }
    return list;
}

/* [start, end, has_trip, has_return, why] */
static json_t *lapses_of(const struct fl_states *s)
{
    json_t *list = json_array();
    for (size_t i = 0; i < s->n_lapses; i++) {
        const struct fl_lapse *l = &s->lapse[i];
        char *why = fl_lapse_why(s, l);
        fl_json_append(list, json_pack("[o, o, b, b, s]", fl_json_time(l->start_s),
                                       fl_json_time(l->end_s), l->has_trip, l->has_return, why));
        free(why);
    }
    return list;
}

/* [time of the peak, peak, "tripped" | "held" | "unused"] */
static json_t *flicks_of(const struct fl_take *t, enum fl_quantity q)
{
    json_t *list = json_array();
    for (size_t i = 0; i < t->n_flicks; i++) {
        const struct fl_flick *f = &t->flicks[i];
        bool used = fl_flick_counts(f);
        if (fl_known(f->peak[q]) && fl_known(f->peak_s))
            fl_json_append(list, json_pack("[o, o, s]", fl_json_time(f->peak_s),
                                           fl_json_figure(f->peak[q]),
                                           !used                  ? "unused"
                                           : f->tripped == FL_YES ? "tripped"
                                                                  : "held"));
    }
    return list;
}

static json_t *speeds_of(const struct fl_take *t, enum fl_quantity q)
{
    size_t n = (size_t)t->frames;
    double *v = FL_NEW(double, n + 1);
    for (size_t i = 0; i < n; i++)
        v[i] = t->quantity[q] ? (double)t->quantity[q][i] : FL_UNKNOWN;
    json_t *column = fl_column_figures(v, n);
    free(v);
    return column;
}

static void add_speed(json_t *course, const struct fl_take *t)
{
    enum fl_quantity q = fl_course_quantity(t);
    char column[FL_COLUMN_SIZE];
    if (q == FL_QUANTITIES)
        return;
    const struct fl_quantity_info *info = fl_quantity_info(q);
    fl_json_set(
        course, "speed",
        json_pack("{s: s, s: s, s: s, s: o, s: o, s: o}", "column",
                  fl_quantity_column(column, "", q), "label", info->label, "unit", info->unit_label,
                  "v", speeds_of(t, q), "flicks", flicks_of(t, q), "seen_from",
                  q == FL_CAMERA_SPEED ? fl_json_figure(t->visible_floor_deg_s) : json_null()));
}

static json_t *course_of(const struct fl_take *t)
{
    const struct fl_states *s = &t->states;
    size_t n = (size_t)t->frames;
    json_t *course = json_pack(
        "{s: o, s: I, s: o, s: o, s: o}", "id", fl_json_text(t->spec.id), "frames",
        (json_int_t)t->frames, "duration_s", fl_json_time(t->duration_s), "on_hz",
        fl_json_figure(fl_states_on_output_hz(s)), "off_hz", fl_json_figure(s->base_rate_off_hz));
    fl_json_set(course, "time_s", fl_column_times(t->time_s, n));
    fl_json_set(course, "columns", columns_of(t));
    add_speed(course, t);
    fl_json_set(course, "flips", flips_of(t));
    fl_json_set(course, "spans", spans_of(s));
    fl_json_set(course, "lapses", lapses_of(s));
    return course;
}

/* ISO/IEC 15948, 5.2. */
static bool is_png(const char *data, size_t size)
{
    return size >= 8 && !memcmp(data, "\x89PNG\r\n\x1a\n", 8);
}

/* Only what is a picture: a folder of results may be somebody else's. */
static void put_picture(FILE *out, const char *folder, const char *id, size_t lapse, size_t run)
{
    char *name = fl_filmstrip_name(id, run), *path = fl_path_join(folder, name), *data = NULL;
    size_t size = 0;
    if (!fl_read_stored(path, PICTURE_LIMIT, &data, &size, NULL) && is_png(data, size)) {
        char *text = fl_base64(data, size);
        fprintf(out,
                "<script type=\"text/plain\" class=\"picture\" data-lapse=\"%zu\">%s</script>\n",
                lapse, text);
        free(text);
    }
    free(data);
    free(path);
    free(name);
}

/* Releases the course. */
static void put_course(FILE *out, json_t *course)
{
    char *text =
        fl_json_text_of(course, JSON_COMPACT | JSON_ENSURE_ASCII | JSON_REAL_PRECISION(12));
    char *packed = fl_packed(text, strlen(text));
    fprintf(out, "<script type=\"text/plain\" class=\"course\">%s</script>\n", packed);
    free(packed);
    free(text);
}

void fl_page_course(FILE *out, const struct fl_take *t, const char *folder, bool linked)
{
    if (t->frames < 2 || !(t->duration_s > 0))
        return;
    put_course(out, course_of(t));
    for (size_t i = 0; i < t->states.n_lapses && folder && !linked; i++) {
        const struct fl_lapse *l = &t->states.lapse[i];
        for (size_t run = l->run; run < l->run + l->runs; run++)
            put_picture(out, folder, t->spec.id, i, run);
    }
}
