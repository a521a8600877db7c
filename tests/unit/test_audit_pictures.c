/* Pictures of an audit's moments, from movies whose frames are known: each is one grey level, or
 * the same as the one before. Read back by cairo's own PNG reader. */
#include "show/clip/audit_pictures.h"

#include <cairo.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "audit_take.h"
#include "media/encoder.h"
#include "test.h"

enum { WIDTH = 320, HEIGHT = 180, CELL_W = 200, CELL_H = 112 };
static const char movie[] = "test-audit.mkv";

/* Dark and light in turn; every third frame repeats the one before. */
static int level_of(long frame)
{
    const long pictures = 2 * (frame / 3) + (frame % 3 > 0);
    return pictures % 2 ? 40 : 200;
}

static void write_movie(long frames, int width)
{
    struct fl_encoder *e;
    const struct fl_encoder_settings s = {.width = width,
                                          .height = HEIGHT,
                                          .tick_num = 1,
                                          .tick_den = AUDIT_HZ,
                                          .rate_num = AUDIT_HZ,
                                          .rate_den = 1,
                                          .coding = fl_coding_of(1, 1, 1, false, HEIGHT),
                                          .aspect_num = 1,
                                          .aspect_den = 1,
                                          .crf = 10,
                                          .preset = "ultrafast"};
    assert_int_equal(fl_encoder_open(&e, movie, &s, NULL), FLINCH_OK);
    for (long k = 0; k < frames; k++) {
        struct fl_canvas *c = fl_encoder_canvas(e);
        for (int p = 0; p < 3; p++)
            for (int y = 0; y < HEIGHT / (p ? 2 : 1); y++)
                memset(c->plane[p] + y * c->stride[p], p ? 128 : level_of(k),
                       (size_t)(width / (p ? 2 : 1)));
        assert_int_equal(fl_encoder_send(e, k, 1, NULL), FLINCH_OK);
    }
    assert_int_equal(fl_encoder_close(&e, NULL), FLINCH_OK);
}

static struct fl_session *session(void)
{
    static const struct audit_stretch v[] = {
        {1, FL_STATE_ON}, {2, FL_STATE_OFF}, {4, FL_STATE_ON}, {6, FL_STATE_OFF}};
    struct fl_session *s = fl_session_new("S");
    struct fl_take *t = audit_take("a", v, 4, 100);
    t->width = WIDTH;
    t->height = HEIGHT;
    t->spec.footage = movie;
    fl_session_add(s, t);
    return s;
}

/* ---- reading back ---- */

struct bytes {
    const uint8_t *data;
    size_t left;
};

static cairo_status_t next_bytes(void *ctx, unsigned char *out, unsigned n)
{
    struct bytes *b = ctx;
    if (n > b->left)
        return CAIRO_STATUS_READ_ERROR;
    memcpy(out, b->data, n);
    b->data += n;
    b->left -= n;
    return CAIRO_STATUS_SUCCESS;
}

static cairo_surface_t *picture_of(const struct fl_audit_picture *p)
{
    struct bytes b = {p->png, p->size};
    cairo_surface_t *image = cairo_image_surface_create_from_png_stream(next_bytes, &b);
    assert_int_equal(cairo_surface_status(image), CAIRO_STATUS_SUCCESS);
    return image;
}

/* Grey in the middle of a cell's frame, or of its change. */
static int grey(cairo_surface_t *image, int cell, bool change)
{
    uint32_t v;
    const int x = cell * CELL_W + CELL_W / 2, y = CELL_H / 2 + (change ? CELL_H : 0);
    memcpy(&v,
           cairo_image_surface_get_data(image) + y * cairo_image_surface_get_stride(image) + 4 * x,
           sizeof v);
    assert_int_equal(v & 0xff, v >> 8 & 0xff);
    return (int)(v & 0xff);
}

/* ---- tests ---- */

static const struct fl_footage_wish here = {.folder = ".", .option = "--footage"};

/* Base periods of at most 3.85 frames: eight on either side of the one asked about. */
static void each_cell_is_its_frame(void **state)
{
    (void)state;
    enum { N = 4 };
    struct fl_session *s = session();
    /* Apart, overlapping with another, at the start, at the end; not in order. */
    const struct fl_audit_moment m[N] = {{0, 450, FL_STRATUM_OFF},
                                         {0, 2, FL_STRATUM_ON},
                                         {0, 455, FL_STRATUM_OFF},
                                         {0, 599, FL_STRATUM_OFF}};
    static const long first[N] = {442, 1, 447, 591};
    static const int n[N] = {17, 10, 17, 9}, at[N] = {8, 1, 8, 8};
    struct fl_audit_picture p[N];
    struct fl_error err = {0};
    write_movie(600, WIDTH);
    assert_int_equal(fl_audit_pictures(p, s, m, N, &here, 1, NULL, &err), FLINCH_OK);
    for (int i = 0; i < N; i++) {
        cairo_surface_t *image = picture_of(&p[i]);
        assert_int_equal(p[i].first, first[i]);
        assert_int_equal(p[i].n, n[i]);
        assert_int_equal(p[i].at, at[i]);
        assert_int_equal(p[i].width, CELL_W);
        assert_int_equal(p[i].height, CELL_H);
        assert_int_equal(cairo_image_surface_get_width(image), n[i] * CELL_W);
        assert_int_equal(cairo_image_surface_get_height(image), 2 * CELL_H);
        for (int k = 0; k < n[i]; k++) {
            const long f = first[i] + k;
            assert_int_equal(grey(image, k, false) > 128, level_of(f) > 128);
            assert_int_equal(grey(image, k, true) > 128, level_of(f) == level_of(f - 1));
        }
        cairo_surface_destroy(image);
    }
    fl_audit_pictures_finish(p, N);
    fl_session_free(&s);
    unlink(movie);
}

static void refused(long frames, int width, const char *word)
{
    struct fl_session *s = session();
    const struct fl_audit_moment m = {0, 450, FL_STRATUM_OFF};
    struct fl_audit_picture p;
    struct fl_error err = {0};
    if (frames)
        write_movie(frames, width);
    assert_int_equal(fl_audit_pictures(&p, s, &m, 1, &here, 1, NULL, &err), FLINCH_ERR_USAGE);
    assert_non_null(strstr(err.text, word));
    fl_audit_pictures_finish(&p, 1);
    fl_session_free(&s);
    unlink(movie);
}

static void other_footage_is_refused(void **state)
{
    (void)state;
    refused(0, WIDTH, "--session");
    refused(600, WIDTH - 20, "300 x 180");
    refused(300, WIDTH, "s long");
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(each_cell_is_its_frame),
                                       cmocka_unit_test(other_footage_is_refused)};
    return RUN_TESTS(tests);
}
