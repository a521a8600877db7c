#include "show/store/csv.h"

#include <limits.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "show/store/stored_check.h"
#include "show/text/escape.h"

#define CSV_LIMIT ((size_t)1 << 30)

/* Walks the cells of a file that fl_csv_writer wrote; neither file has quoted cells. */
struct cells {
    const char *path;
    char *at;
    long line;
    const char *problem; /* first one found */
};

/* The next cell, cut off at its comma or line end; NULL past the end of the line. */
static char *next_cell(struct cells *c, bool last)
{
    char *cell = c->at;
    size_t n = strcspn(cell, ",\n");
    if ((cell[n] == ',') == last || !cell[n]) {
        c->problem = c->problem ? c->problem : "has the wrong number of cells or breaks off";
        return NULL;
    }
    cell[n] = 0;
    c->at = cell + n + 1;
    return cell;
}

static double next_number(struct cells *c, bool last)
{
    char *cell = next_cell(c, last), *end;
    if (!cell || !*cell)
        return FL_UNKNOWN;
    double x = strtod(cell, &end);
    if (*end || !isfinite(x))
        c->problem = c->problem ? c->problem : "has a cell that is not a number";
    return x;
}

/* A whole number from 0, or 0 with a problem. */
static long next_whole(struct cells *c)
{
    double x = next_number(c, false);
    if (x >= 0 && x <= INT_MAX && x == floor(x))
        return (long)x;
    c->problem = c->problem ? c->problem : "has a cell that is not a whole number";
    return 0;
}

/* The number of the name among n, or 0 with a problem. */
static int next_name(struct cells *c, const char *const *names, int n)
{
    const char *cell = next_cell(c, false);
    for (int i = 0; cell && i < n; i++)
        if (!strcmp(cell, names[i]))
            return i;
    c->problem = c->problem ? c->problem : "has an unknown word";
    return 0;
}

static enum flinch_code bad_line(const struct cells *c, struct fl_error *err)
{
    return fl_fail(err, FLINCH_ERR_FORMAT, "%s:%ld: %s; measure the take again", c->path, c->line,
                   c->problem);
}

/* Reads the file and checks its header row; c->at is then the first row. The caller frees *data. */
static enum flinch_code open_cells(struct cells *c, const char *path, const char *header,
                                   char **data, struct fl_error *err)
{
    size_t size;
    *c = (struct cells){.path = path, .line = 1};
    enum flinch_code code = fl_read_file(path, CSV_LIMIT, data, &size, err);
    if (code)
        return code;
    size_t n = strlen(header);
    if (strncmp(*data, header, n) || (*data)[n] != '\n') {
        c->problem = "has other columns than this version writes";
        code = bad_line(c, err);
        free(*data);
        *data = NULL;
        return code;
    }
    c->at = *data + n + 1;
    return FLINCH_OK;
}

static void load_frame(struct cells *c, struct fl_take *t, long i)
{
    static const char *const names[] = {"unseen", "on", "off"}; /* order of enum fl_state */
    struct fl_states *s = &t->states;
    if (next_number(c, false) != (double)i)
        c->problem = c->problem ? c->problem : "is out of order";
    t->time_s[i] = next_number(c, false);
    t->shift_x_px[i] = (float)next_number(c, false);
    t->shift_y_px[i] = (float)next_number(c, false);
    t->shift_quality[i] = (float)next_number(c, false);
    s->changed_share[i] = (float)next_number(c, false);
    s->unique_rate_hz[i] = (float)next_number(c, false);
    s->frame_state[i] = (enum fl_state)next_name(c, names, 3);
    s->frame_confidence[i] = (float)next_number(c, false);
    for (int q = 0; q < FL_QUANTITIES; q++) {
        double x = next_number(c, q == FL_QUANTITIES - 1);
        if (t->quantity[q])
            t->quantity[q][i] = (float)x;
    }
}

static void make_room(struct fl_take *t)
{
    size_t n = (size_t)t->frames;
    struct fl_states *s = &t->states;
    t->time_s = FL_ARENA(t->arena, double, n);
    t->shift_x_px = FL_ARENA(t->arena, float, n);
    t->shift_y_px = FL_ARENA(t->arena, float, n);
    t->shift_quality = FL_ARENA(t->arena, float, n);
    s->n_frames = n;
    s->frame_state = FL_NEW(enum fl_state, n);
    s->frame_confidence = FL_NEW(float, n);
    s->unique_rate_hz = FL_NEW(float, n);
    s->changed_share = FL_NEW(float, n);
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

enum flinch_code fl_frames_load(struct fl_take *t, const char *path, struct fl_error *err)
{
    char *data = NULL, *header = fl_frames_header();
    struct cells c;
    enum flinch_code code = open_cells(&c, path, header, &data, err);
    free(header);
    if (code)
        return code;
    locale_t was = fl_point_begin();
    if (!holds_rows(&c, t->frames)) {
        c.problem = "has fewer rows than the take has frames";
    } else {
        make_room(t);
        for (int q = 0; q < FL_QUANTITIES; q++)
            if (t->quantity[q])
                t->quantity[q] = FL_ARENA(t->arena, float, (size_t)t->frames);
        for (long i = 0; i < t->frames && !c.problem; i++) {
            c.line = i + 2;
            load_frame(&c, t, i);
        }
        if (!c.problem && *c.at)
            c.problem = "has more rows than the take has frames";
        if (!c.problem && (c.problem = fl_check_frames(t, &c.line)))
            c.line += 2;
    }
    fl_point_end(was);
    code = c.problem ? bad_line(&c, err) : FLINCH_OK;
    free(data);
    return code;
}

static struct fl_flip load_flip(struct cells *c)
{
    static const char *const kinds[] = {"unknown", "rendered", "synthesised"}; /* enum fl_kind */
    struct fl_flip f;
    f.time_s = next_number(c, false);
    f.frame = next_whole(c);
    f.row = (float)next_number(c, false);
    f.confidence = (float)next_number(c, false);
    f.kind = (enum fl_kind)next_name(c, kinds, 3);
    f.in_blank = next_number(c, true) == 1;
    return f;
}

enum flinch_code fl_flips_load(struct fl_take *t, const char *path, size_t expected,
                               struct fl_error *err)
{
    char *data = NULL;
    struct cells c;
    enum flinch_code code = open_cells(&c, path, fl_flips_header, &data, err);
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
