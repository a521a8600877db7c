#include "show/store/csv.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "base/mem.h"
#include "base/text_stream.h"
#include "show/store/fields.h"
#include "show/text/escape.h"

char *fl_take_path(const char *folder, const char *id, const char *ending)
{
    char *name = fl_format("takes/%s%s", id, ending), *path = fl_path_join(folder, name);
    free(name);
    return path;
}

/* A comma and the number: fixed decimals for times, significant digits for the rest. */
static void put_time(FILE *out, double x)
{
    if (isfinite(x))
        fprintf(out, ",%.6f", x);
    else
        fputc(',', out);
}

static void put_figure(FILE *out, double x)
{
    if (isfinite(x))
        fprintf(out, ",%.7g", x);
    else
        fputc(',', out);
}

char *fl_frames_header(void)
{
    char name[FL_COLUMN_SIZE];
    struct fl_text_stream stream;
    FILE *out = fl_text_begin(&stream);
    fputs("frame,time_s,shift_x_px,shift_y_px,shift_quality,changed_share,unique_rate_hz,state,"
          "confidence",
          out);
    for (int q = 0; q < FL_QUANTITIES; q++)
        fprintf(out, ",%s", fl_quantity_column(name, "", q));
    return fl_text_end(&stream);
}

static double frame_value(const float *series, long i)
{
    return series ? (double)series[i] : FL_UNKNOWN;
}

static void write_frame(FILE *out, const struct fl_take *t, long i)
{
    const struct fl_states *s = &t->states;
    bool stated = (size_t)i < s->n_frames;
    fprintf(out, "%ld", i);
    put_time(out, t->time_s[i]);
    put_figure(out, frame_value(t->shift_x_px, i));
    put_figure(out, frame_value(t->shift_y_px, i));
    put_figure(out, frame_value(t->shift_quality, i));
    put_figure(out, stated ? frame_value(s->changed_share, i) : FL_UNKNOWN);
    put_figure(out, stated ? frame_value(s->unique_rate_hz, i) : FL_UNKNOWN);
    fprintf(out, ",%s",
            fl_state_name(stated && s->frame_state ? s->frame_state[i] : FL_STATE_UNSEEN));
    put_figure(out, stated ? frame_value(s->frame_confidence, i) : FL_UNKNOWN);
    for (int q = 0; q < FL_QUANTITIES; q++)
        put_figure(out, frame_value(t->quantity[q], i));
    fputc('\n', out);
}

static void write_frames(FILE *out, const struct fl_take *t)
{
    char *header = fl_frames_header();
    fprintf(out, "%s\n", header);
    free(header);
    for (long i = 0; i < t->frames; i++)
        write_frame(out, t, i);
}

const char fl_flips_header[] = "time_s,capture_frame,row,confidence,kind,in_blank";

static const char *kind_name(enum fl_kind kind)
{
    return kind == FL_KIND_RENDERED      ? "rendered"
           : kind == FL_KIND_SYNTHESISED ? "synthesised"
                                         : "unknown";
}

static void write_flips(FILE *out, const struct fl_take *t)
{
    fprintf(out, "%s\n", fl_flips_header);
    for (size_t i = 0; i < t->flips.n; i++) {
        const struct fl_flip *f = &t->flips.v[i];
        fprintf(out, "%.6f,%ld", f->time_s, f->frame);
        put_figure(out, f->row);
        put_figure(out, f->confidence);
        fprintf(out, ",%s,%d\n", kind_name(f->kind), f->in_blank);
    }
}

static void write_flick_header(FILE *out)
{
    static const char *const prefix[] = {"peak", "mean", "peak_to_trip"};
    char name[FL_COLUMN_SIZE];
    fputs("start_s,end_s,peak_s,path_deg,direction_deg,peak_acceleration_deg_s2", out);
    for (int p = 0; p < 3; p++)
        for (int q = 0; q < FL_QUANTITIES; q++)
            fprintf(out, ",%s", fl_quantity_column(name, prefix[p], q));
    /* The last columns make the files of several takes fit into one table. */
    fputs(",at_risk,tripped,trip_delay_s,take,game,condition,counts_per_inch,degrees_per_count\n",
          out);
}

static const char *answer_name(enum fl_answer a, const char *yes, const char *no,
                               const char *unknown)
{
    return a == FL_YES ? yes : a == FL_NO ? no : unknown;
}

static void write_flick(FILE *out, const struct fl_take *t, const struct fl_flick *f)
{
    fprintf(out, "%.6f", f->start_s);
    put_time(out, f->end_s);
    put_time(out, f->peak_s);
    put_figure(out, f->path_deg);
    put_figure(out, f->direction_deg);
    put_figure(out, f->peak_acceleration_deg_s2);
    const double *sets[] = {f->peak, f->mean, f->peak_to_trip};
    for (int p = 0; p < 3; p++)
        for (int q = 0; q < FL_QUANTITIES; q++)
            put_figure(out, sets[p][q]);
    fprintf(out, ",%s,%s", answer_name(f->at_risk, "yes", "no", "unknown"),
            answer_name(f->tripped, "true", "false", ""));
    put_time(out, f->trip_delay_s);
    const char *names[] = {t->spec.id, t->spec.game, t->spec.condition};
    for (int i = 0; i < 3; i++) {
        fputc(',', out);
        fl_put_csv(out, names[i]);
    }
    put_figure(out, t->spec.counts_per_inch);
    put_figure(out, t->spec.degrees_per_count);
    fputc('\n', out);
}

static void write_flicks(FILE *out, const struct fl_take *t)
{
    write_flick_header(out);
    for (size_t i = 0; i < t->n_flicks; i++)
        write_flick(out, t, &t->flicks[i]);
}

static enum flinch_code write_table(const char *folder, const struct fl_take *t, const char *ending,
                                    void (*write)(FILE *, const struct fl_take *),
                                    struct fl_error *err)
{
    char *path = fl_take_path(folder, t->spec.id, ending);
    struct fl_file file;
    enum flinch_code code = fl_file_begin(&file, path, err);
    if (!code) {
        locale_t was = fl_point_begin();
        write(file.stream, t);
        fl_point_end(was);
        code = fl_file_commit(&file, err);
    }
    free(path);
    return code;
}

static enum flinch_code write_take(const char *folder, const struct fl_take *t,
                                   const struct fl_show_settings *settings, struct fl_error *err)
{
    (void)settings;
    char *takes = fl_path_join(folder, "takes");
    enum flinch_code code = fl_make_folder(takes, err);
    free(takes);
    if (!code)
        code = write_table(folder, t, "-frames.csv", write_frames, err);
    if (!code)
        code = write_table(folder, t, "-flips.csv", write_flips, err);
    if (!code)
        code = write_table(folder, t, "-flicks.csv", write_flicks, err);
    return code;
}

const struct fl_writer fl_csv_writer = {"csv", write_take, NULL};
