/* Takes as tables for other programs (RFC 4180), cells by the rows of frame_columns.h and
 * take_fields.h. */
#include "show/store/csv.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "base/mem.h"
#include "show/store/frame_columns.h"
#include "show/store/take_fields.h"
#include "show/text/escape.h"

#define TIME_FORMAT "%.6f"   /* FL_TIME_DECIMALS */
#define FIGURE_FORMAT "%.7g" /* FL_FIGURE_DIGITS */

char *fl_take_path(const char *folder, const char *id, const char *ending)
{
    char *name = fl_format("takes/%s%s", id, ending), *path = fl_path_join(folder, name);
    free(name);
    return path;
}

/* ---- capture frames ---- */

static void put_frame_cell(FILE *out, const struct fl_take *t, const struct fl_frame_column *c,
                           long i)
{
    double v = fl_frame_value(t, c, i);
    if (c->kind == FL_COLUMN_NUMBER)
        fprintf(out, "%ld", i);
    else if (c->kind == FL_COLUMN_STATE)
        fputs(fl_state_name((enum fl_state)v), out);
    else if (isfinite(v))
        fprintf(out, c->kind == FL_COLUMN_TIME ? TIME_FORMAT : FIGURE_FORMAT, v);
}

void fl_put_frames_header(FILE *out)
{
    size_t n;
    struct fl_frame_column *column = fl_frame_columns(&n);
    for (size_t k = 0; k < n; k++)
        fprintf(out, "%s%s", k ? "," : "", column[k].name);
    fputc('\n', out);
    free(column);
}

static void write_frames(FILE *out, const struct fl_take *t)
{
    size_t n;
    struct fl_frame_column *column = fl_frame_columns(&n);
    fl_put_frames_header(out);
    for (long i = 0; i < t->frames; i++)
        for (size_t k = 0; k < n; k++) {
            put_frame_cell(out, t, &column[k], i);
            fputc(k + 1 < n ? ',' : '\n', out);
        }
    free(column);
}

/* ---- flips and flicks, by the tables of their fields ---- */

/* The comma before each cell but a row's first. */
static void part_cells(FILE *out, bool *first)
{
    if (!*first)
        fputc(',', out);
    *first = false;
}

static void put_names(FILE *out, const struct fl_field *fields, bool *first)
{
    char name[FL_COLUMN_SIZE];
    for (const struct fl_field *f = fields; f->name; f++) {
        if (f->kind == FL_FIELD_PART) {
            put_names(out, f->fields, first);
            continue;
        }
        for (int q = 0; q < (f->kind == FL_FIELD_QUANTITIES ? FL_QUANTITIES : 1); q++) {
            part_cells(out, first);
            fputs(f->kind == FL_FIELD_QUANTITIES ? fl_quantity_column(name, f->name, q) : f->name,
                  out);
        }
    }
}

static void put_number(FILE *out, const char *format, double x)
{
    if (isfinite(x))
        fprintf(out, format, x);
}

static void put_cell(FILE *out, const struct fl_field *f, const void *p)
{
    switch (f->kind) {
    case FL_FIELD_TIME: put_number(out, TIME_FORMAT, *(const double *)p); break;
    case FL_FIELD_FIGURE:
    case FL_FIELD_GIVEN: put_number(out, FIGURE_FORMAT, fl_field_figure(f, p)); break;
    case FL_FIELD_WHOLE:
    case FL_FIELD_BOOL: fprintf(out, "%ld", fl_field_whole(f, p)); break;
    case FL_FIELD_WORD: fputs(f->word((int)fl_field_whole(f, p)), out); break;
    case FL_FIELD_ANSWER: {
        enum fl_answer a = *(const enum fl_answer *)p;
        fputs(a == FL_YES ? "true" : a == FL_NO ? "false" : "", out);
        break;
    }
    case FL_FIELD_TEXT: fl_put_csv(out, *(const char *const *)p); break;
    default: break; /* tables hold no lists */
    }
}

static void put_cells(FILE *out, const void *base, const struct fl_field *fields, bool *first)
{
    for (const struct fl_field *f = fields; f->name; f++) {
        const char *p = fl_field_place(f, base);
        if (f->kind == FL_FIELD_PART) {
            put_cells(out, p, f->fields, first);
            continue;
        }
        for (int q = 0; q < (f->kind == FL_FIELD_QUANTITIES ? FL_QUANTITIES : 1); q++) {
            part_cells(out, first);
            if (f->kind == FL_FIELD_QUANTITIES)
                put_number(out, FIGURE_FORMAT, ((const double *)(const void *)p)[q]);
            else
                put_cell(out, f, p);
        }
    }
}

void fl_put_flips_header(FILE *out)
{
    put_names(out, fl_flip_fields, &(bool){true});
    fputc('\n', out);
}

static void write_flips(FILE *out, const struct fl_take *t)
{
    fl_put_flips_header(out);
    for (size_t i = 0; i < t->flips.n; i++) {
        put_cells(out, &t->flips.v[i], fl_flip_fields, &(bool){true});
        fputc('\n', out);
    }
}

/* Beside a flick its take, so that the files of several takes fit into one table. */
#define AT(member, kind) FL_AT(fl_take_spec, member, kind)
static const struct fl_field take_columns[] = {
    {"take", AT(id, TEXT)},
    {"game", AT(game, TEXT)},
    {"condition", AT(condition, TEXT)},
    {"counts_per_inch", AT(counts_per_inch, GIVEN)},
    {"degrees_per_count", AT(degrees_per_count, GIVEN)},
    {0},
};
#undef AT

static void write_flicks(FILE *out, const struct fl_take *t)
{
    bool first = true;
    put_names(out, fl_flick_table_fields, &first);
    put_names(out, take_columns, &first);
    fputc('\n', out);
    for (size_t i = 0; i < t->n_flicks; i++) {
        first = true;
        put_cells(out, &t->flicks[i], fl_flick_table_fields, &first);
        put_cells(out, &t->spec, take_columns, &first);
        fputc('\n', out);
    }
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

const struct fl_writer fl_csv_writer = {"csv", true, write_take, NULL};
