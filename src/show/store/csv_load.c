/* The tables that csv.c wrote, cell by cell as the same rows say. Nothing is taken on trust: a file
 * may have been cut off, edited, or written by another version. */
#include "show/store/csv.h"

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "base/text_stream.h"
#include "show/store/frame_columns.h"
#include "show/store/stored_check.h"
#include "show/store/take_fields.h"
#include "show/text/escape.h"

#define CSV_LIMIT ((size_t)1 << 30)

/* Walks the cells of a file that fl_csv_writer wrote; neither file has quoted cells. */
struct cells {
    const char *path;
    char *at;
    long line;
    const char *problem; /* first one found */
};

static void complain(struct cells *c, const char *problem)
{
    c->problem = c->problem ? c->problem : problem;
}

/* The next cell, cut off at its comma or line end; "" past the end of the line. */
static char *next_cell(struct cells *c, bool last)
{
    static char none[] = "";
    char *cell = c->at;
    size_t n = strcspn(cell, ",\n");
    if ((cell[n] == ',') == last || !cell[n]) {
        complain(c, "has the wrong number of cells or breaks off");
        return none;
    }
    cell[n] = 0;
    c->at = cell + n + 1;
    return cell;
}

/* The number of an empty cell is not known. */
static double number_in(struct cells *c, const char *cell)
{
    char *end;
    double x = strtod(cell, &end);
    if (!*cell)
        return FL_UNKNOWN;
    if (*end || !isfinite(x))
        complain(c, "has a cell that is not a number");
    return x;
}

static long whole_in(struct cells *c, const char *cell, const struct fl_field *f)
{
    char *end;
    errno = 0;
    long n = strtol(cell, &end, 10);
    if (!*cell || *end || errno || n < 0)
        complain(c, "has a cell that is not a whole number");
    else if (!fl_field_holds(f, n))
        complain(c, "has a whole number that is too large");
    return n;
}

/* The number of the word, or 0 with a problem. */
static int word_in(struct cells *c, const char *cell, const char *(*word)(int))
{
    for (int i = 0; word(i); i++)
        if (!strcmp(cell, word(i)))
            return i;
    complain(c, "has an unknown word");
    return 0;
}

static enum flinch_code bad_line(const struct cells *c, struct fl_error *err)
{
    return fl_fail(err, FLINCH_ERR_FORMAT, "%s:%ld: %s; measure the take again", c->path, c->line,
                   c->problem);
}

/* Reads the file and checks its header row; c->at is then the first row. The caller frees *data. */
static enum flinch_code open_cells(struct cells *c, const char *path, void (*put_header)(FILE *),
                                   char **data, struct fl_error *err)
{
    struct fl_text_stream header;
    size_t size;
    *c = (struct cells){.path = path, .line = 1};
    enum flinch_code code = fl_read_stored(path, CSV_LIMIT, data, &size, err);
    if (code)
        return code;
    put_header(fl_text_begin(&header));
    char *wanted = fl_text_end(&header);
    if (!strncmp(*data, wanted, header.size)) {
        c->at = *data + header.size;
    } else {
        c->problem = "has other columns than this version writes";
        code = bad_line(c, err);
        free(*data);
        *data = NULL;
    }
    free(wanted);
    return code;
}

/* The columns of a frame table. */
struct columns {
    struct fl_frame_column *v;
    size_t n;
};

static void load_frame(struct cells *c, struct fl_take *t, const struct columns *columns, long i)
{
    for (size_t k = 0; k < columns->n; k++) {
        const struct fl_frame_column *column = &columns->v[k];
        const char *cell = next_cell(c, k + 1 == columns->n);
        if (column->kind == FL_COLUMN_NUMBER && number_in(c, cell) != (double)i)
            complain(c, "is out of order");
        else if (column->kind == FL_COLUMN_STATE)
            fl_frame_set(t, column, i, word_in(c, cell, fl_state_word));
        else
            fl_frame_set(t, column, i, number_in(c, cell));
    }
}

/* True if at least one row of the file at c->at remains for each of n frames: a count that the
 * file cannot hold must not decide how much memory is taken. */
static bool holds_rows(const struct cells *c, long n)
{
    for (const char *p = c->at; n > 0; n--) {
        p = strchr(p, '\n');
        if (!p)
            return false;
        p++;
    }
    return n == 0;
}

static void load_frames(struct cells *c, struct fl_take *t)
{
    struct columns columns;
    columns.v = fl_frame_columns(&columns.n);
    for (size_t k = 0; k < columns.n; k++)
        fl_frame_column_alloc(t, &columns.v[k]);
    for (long i = 0; i < t->frames && !c->problem; i++) {
        c->line = i + 2;
        load_frame(c, t, &columns, i);
    }
    if (!c->problem && *c->at)
        c->problem = "has more rows than the take has frames";
    if (!c->problem && (c->problem = fl_check_frames(t, &c->line)))
        c->line += 2;
    free(columns.v);
}

enum flinch_code fl_frames_load(struct fl_take *t, const char *path, struct fl_error *err)
{
    char *data = NULL;
    struct cells c;
    enum flinch_code code = open_cells(&c, path, fl_put_frames_header, &data, err);
    if (code)
        return code;
    locale_t was = fl_point_begin();
    if (holds_rows(&c, t->frames))
        load_frames(&c, t);
    else
        c.problem = "has fewer rows than the take has frames";
    fl_point_end(was);
    code = c.problem ? bad_line(&c, err) : FLINCH_OK;
    free(data);
    return code;
}

/* One cell into its member. */
static void load_cell(struct cells *c, const char *cell, const struct fl_field *f, void *p)
{
    if (f->kind == FL_FIELD_WHOLE)
        fl_field_set_whole(f, p, whole_in(c, cell, f));
    else if (f->kind == FL_FIELD_BOOL)
        *(bool *)p = whole_in(c, cell, f) == 1;
    else if (f->kind == FL_FIELD_WORD)
        fl_field_set_whole(f, p, word_in(c, cell, f->word));
    else
        fl_field_set_figure(f, p, number_in(c, cell));
}

static struct fl_flip load_flip(struct cells *c)
{
    struct fl_flip flip = {0};
    for (const struct fl_field *f = fl_flip_fields; f->name; f++)
        load_cell(c, next_cell(c, !f[1].name), f, (char *)&flip + f->offset);
    return flip;
}

enum flinch_code fl_flips_load(struct fl_take *t, const char *path, size_t expected,
                               struct fl_error *err)
{
    char *data = NULL;
    struct cells c;
    enum flinch_code code = open_cells(&c, path, fl_put_flips_header, &data, err);
    if (code)
        return code;
    size_t cap = 0;
    locale_t was = fl_point_begin();
    for (c.line = 2; *c.at && !c.problem; c.line++) {
        struct fl_flip f = load_flip(&c);
        if (!c.problem)
            FL_PUSH(t->flips.v, t->flips.n, cap, f);
    }
    fl_point_end(was);
    if (!c.problem && t->flips.n != expected)
        c.problem = "has another number of flips than the take";
    if (!c.problem && (c.problem = fl_check_flips(t, &c.line)))
        c.line += 2;
    code = c.problem ? bad_line(&c, err) : FLINCH_OK;
    free(data);
    return code;
}
