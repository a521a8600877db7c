/* What kinds of signals are promised, by kinds that write down what they are shown. */
#include "signal/kinds.h"

#include <string.h>

#include "base/mem.h"
#include "signal/change.h"
#include "signal/key_frames.h"
#include "signal/shift.h"
#include "signal/stream.h"
#include "test.h"

enum { W = 64, H = 48, FRAMES = 9, AHEAD = FL_SIGNAL_AHEAD };

/* ---- the order of calls ---- */

/* "o" open, "b" band, "p" push, "s" settle, "c" close, each with its frame's number. */
static char calls[4096];

static void note(char what, size_t frame)
{
    size_t n = strlen(calls);
    snprintf(calls + n, sizeof calls - n, "%c%zu ", what, frame);
}

struct counted {
    int opened, bands; /* bands: of the frame that is being read */
};

static void open_counted(void *state, const struct fl_grid *grid)
{
    struct counted *c = state;
    assert_true(grid->native_width == W && c->opened == 0 && c->bands == 0);
    c->opened = 1;
    note('o', 0);
}

static void band(void *state, const struct fl_signal_view *v, int b, void *row)
{
    struct counted *c = state;
    assert_int_equal(b, c->bands++);
    assert_int_equal(*(int *)row, 0);
    assert_int_equal(v->luma[0], v->frame);
    assert_int_equal(v->luma_stride, W);
    note('b', v->frame);
}

static void push(void *state, const struct fl_signal_view *v, void *row)
{
    struct counted *c = state;
    assert_int_equal(c->bands, v->s->grid.bands);
    c->bands = 0;
    assert_int_equal(v->s->n, v->frame + 1);
    assert_int_equal(v->now[0], v->frame); /* a picture of one grey level reduces to it */
    assert_int_equal(v->key, v->frame % 4 == 0);
    *(int *)row = 100 + (int)v->frame;
    note('p', v->frame);
}

static void settle(void *state, const struct fl_signal_view *v, void *row)
{
    (void)state;
    assert_null(v->luma);
    assert_int_equal(v->now[0], v->frame);
    if (v->frame)
        assert_int_equal(v->before[0], v->frame - 1);
    else
        assert_null(v->before);
    assert_int_equal(*(int *)row, 100 + (int)v->frame);
    *(int *)row += 100;
    note('s', v->frame);
}

static void close_counted(void *state)
{
    assert_int_equal(((struct counted *)state)->opened, 1);
    note('c', 0);
}

static void blank(const struct fl_grid *grid, void *row)
{
    (void)grid;
    *(int *)row = -1;
}

static const struct fl_signal_kind counted = {
    .row_size = sizeof(int),
    .state_size = sizeof(struct counted),
    .open = open_counted,
    .band = band,
    .push = push,
    .settle = settle,
    .close = close_counted,
    .blank = blank,
};

/* Rests on the kind above it, for the same frame. */
static void settle_below(void *state, const struct fl_signal_view *v, void *row)
{
    assert_null(state);
    int *above = fl_signals_row(v->s, &counted, v->frame);
    assert_int_equal(*above, 200 + (int)v->frame);
    for (int i = 0; i < v->s->grid.bands * v->s->grid.tiles; i++)
        ((unsigned char *)row)[i] = (unsigned char)(*above + i);
}

static const struct fl_signal_kind below = {
    .row_size = 1, .of_tiles = true, .settle = settle_below};
static const struct fl_signal_kind idle = {0};
static const struct fl_signal_kind *const kinds[] = {&counted, &idle, &below, NULL};

static struct fl_signals film(int frames)
{
    *calls = 0;
    struct fl_signal_stream *s = fl_signals_open_kinds(W, H, kinds);
    uint8_t luma[W * H];
    for (int i = 0; i < frames; i++) {
        memset(luma, i, sizeof luma);
        fl_signals_push(s, luma, W, i % 4 == 0);
        memset(luma, 255, sizeof luma); /* no kind may look at it later */
    }
    struct fl_signals out;
    fl_signals_finish(&s, &out);
    assert_int_equal(out.n, frames);
    return out;
}

/* Frames are pushed one by one; each settles AHEAD pushes later, the last ones at the end. */
static void frames_come_in_order_and_settle_later(void **state)
{
    (void)state;
    for (int frames = 0; frames <= FRAMES; frames++) {
        struct fl_signals s = film(frames);
        char wanted[sizeof calls] = "o0 ";
        for (int i = 0, n; i < frames + AHEAD; i++) {
            for (int b = 0; i < frames && b < s.grid.bands; b++) {
                n = (int)strlen(wanted);
                snprintf(wanted + n, sizeof wanted - (size_t)n, "b%d ", i);
            }
            n = (int)strlen(wanted);
            if (i < frames)
                n += snprintf(wanted + n, sizeof wanted - (size_t)n, "p%d ", i);
            if (i >= AHEAD)
                snprintf(wanted + n, sizeof wanted - (size_t)n, "s%d ", i - AHEAD);
        }
        strcat(wanted, "c0 ");
        assert_string_equal(calls, wanted);
        fl_signals_free(&s);
    }
}

static void rows_are_kept_kind_by_kind(void **state)
{
    (void)state;
    struct fl_signals s = film(FRAMES);
    size_t tiles = (size_t)(s.grid.bands * s.grid.tiles);
    for (size_t i = 0; i < FRAMES; i++) {
        assert_int_equal(*(int *)fl_signals_row(&s, &counted, i), 200 + i);
        const unsigned char *tile = fl_signals_row(&s, &below, i);
        for (size_t k = 0; k < tiles; k++)
            assert_int_equal(tile[k], (unsigned char)(200 + i + k));
    }
    fl_signals_blank(&s, 3);
    assert_int_equal(*(int *)fl_signals_row(&s, &counted, 2), 202);
    assert_int_equal(*(int *)fl_signals_row(&s, &counted, 3), -1);
    assert_int_equal(*(unsigned char *)fl_signals_row(&s, &below, 3), 203); /* has no blank() */
    fl_signals_free(&s);
}

/* ---- the table ---- */

static void columns_have_names_of_their_own(void **state)
{
    (void)state;
    size_t n = fl_signal_column_count();
    assert_true(n >= 3);
    for (size_t i = 0; i < n; i++) {
        const struct fl_signal_column *c = fl_signal_column(i);
        assert_true(*c->name && *c->meaning && strlen(c->name) < 60);
        for (size_t k = 0; k < i; k++)
            assert_string_not_equal(c->name, fl_signal_column(k)->name);
    }
}

/* Frames outside the spans in use say nothing, but for what the file says of itself. */
static void a_blank_frame_says_nothing(void **state)
{
    (void)state;
    struct fl_signal_stream *stream = fl_signals_open(W, H);
    struct fl_signals s;
    uint8_t luma[W * H];
    for (int i = 0; i < FRAMES; i++) {
        memset(luma, 10 * i, sizeof luma);
        fl_signals_push(stream, luma, W, true);
    }
    fl_signals_finish(&stream, &s);
    assert_true(fl_changes(&s)[5] > 9);
    fl_signals_blank(&s, 5);
    assert_true(isnan(fl_changes(&s)[5]) && fl_changes(&s)[4] > 9);
    assert_true(fl_key_frames(&s)[5]);
    fl_signals_free(&s);
}

/* A kind whose row is its figures: two columns, the second before the first in the row. */
struct figures {
    float half, frame;
};

static void push_figures(void *state, const struct fl_signal_view *v, void *row)
{
    (void)state;
    *(struct figures *)row = (struct figures){(float)v->frame / 2, (float)v->frame};
}

static const struct fl_signal_column figure_columns[] = {
    {.name = "frame", .offset = offsetof(struct figures, frame)},
    {.name = "half", .offset = offsetof(struct figures, half)},
    {0},
};
static const struct fl_signal_kind figures = {
    .row_size = sizeof(struct figures), .push = push_figures, .columns = figure_columns};

static void columns_are_copied_from_the_rows(void **state)
{
    (void)state;
    const struct fl_signal_kind *const both[] = {&fl_key_frames_signal, &figures, NULL};
    struct fl_signal_stream *stream = fl_signals_open_kinds(W, H, both);
    struct fl_signals s;
    uint8_t luma[W * H] = {0};
    for (int i = 0; i < FRAMES; i++)
        fl_signals_push(stream, luma, W, true);
    fl_signals_finish(&stream, &s);
    float **all = fl_signal_columns_find(&s, NULL);
    for (int i = 0; i < FRAMES; i++)
        assert_true(all[0][i] == (float)i && all[1][i] == (float)i / 2);
    assert_null(all[2]);
    fl_signal_columns_free(&all);
    fl_signals_free(&s);
}

/* The columns of a kind with finish() are what that gives. */
static void a_kind_fills_its_columns(void **state)
{
    (void)state;
    struct fl_signal_stream *stream = fl_signals_open(W, H);
    struct fl_signals s;
    struct fl_rows r;
    uint8_t luma[W * H];
    for (int i = 0; i < FRAMES; i++) {
        for (int k = 0; k < W * H; k++)
            luma[k] = (uint8_t)((k % W * 7 + k / W * 13) % 251);
        fl_signals_push(stream, luma, W, true);
    }
    fl_signals_finish(&stream, &s);
    fl_rows_judge(&r, &s, 1 / 120.);
    float **all = fl_signal_columns_find(&s, &r), x[FRAMES], y[FRAMES], quality[FRAMES];
    fl_shift_combine(&s, &r, x, y, quality);
    assert_memory_equal(fl_signal_values(all, &fl_shift_signal, FL_SHIFT_X_PX), x, sizeof x);
    assert_memory_equal(fl_signal_values(all, &fl_shift_signal, FL_SHIFT_Y_PX), y, sizeof y);
    assert_memory_equal(fl_signal_values(all, &fl_shift_signal, FL_SHIFT_QUALITY), quality,
                        sizeof quality);
    fl_signal_columns_free(&all);
    assert_null(all);
    fl_signal_columns_free(&all);
    fl_rows_finish(&r);
    fl_signals_free(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(frames_come_in_order_and_settle_later),
        cmocka_unit_test(rows_are_kept_kind_by_kind),
        cmocka_unit_test(columns_have_names_of_their_own),
        cmocka_unit_test(a_blank_frame_says_nothing),
        cmocka_unit_test(columns_are_copied_from_the_rows),
        cmocka_unit_test(a_kind_fills_its_columns),
    };
    return RUN_TESTS(tests);
}
