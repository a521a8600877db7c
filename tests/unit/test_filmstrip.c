/* Strips of invented frames, read back by cairo's own PNG reader. */
#include "show/clip/filmstrip.h"

#include <cairo.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "fake_take.h"
#include "show/page/page.h"
#include "show/draw/palette.h"
#include "show_folder.h"
#include "test.h"
#include "study/compare/session_study.h"

enum { WIDTH = 220, HEIGHT = 124, BANDS = 3, FRAMES = 4 };

static struct fl_take *a_take(const char *id)
{
    return fake_take(&(struct fake_settings){.id = id,
                                             .game = "G",
                                             .counts_per_inch = 800,
                                             .degrees_per_count = 0.044,
                                             .v50_deg_s = 100,
                                             .slope = 3,
                                             .flicks = 9,
                                             .seed = 5});
}

/* Each frame is half black, half red; its upper band changed, its lower one stood still. */
static void fill(struct fl_strip *s, struct fl_take *t, long first)
{
    static const signed char bands[BANDS] = {-1, 0, 1};
    t->bands = BANDS;
    *s = (struct fl_strip){.take = t,
                           .width = WIDTH,
                           .height = HEIGHT,
                           .frame = FL_NEW(struct fl_strip_frame, FRAMES),
                           .n = FRAMES};
    for (long i = 0; i < FRAMES; i++) {
        struct fl_strip_frame *c = &s->frame[i];
        *c = (struct fl_strip_frame){first + i, bands, FL_NEW(uint32_t, WIDTH * HEIGHT),
                                     FL_NEW(uint8_t, WIDTH * HEIGHT)};
        for (int k = 0; k < WIDTH * HEIGHT; k++)
            c->picture[k] = k % WIDTH < WIDTH / 2 ? 0 : 0xff0000;
    }
}

static void drop(struct fl_strip *s)
{
    for (size_t i = 0; i < s->n; i++) {
        free(s->frame[i].picture);
        free(s->frame[i].difference);
    }
    free(s->frame);
}

static unsigned pixel(cairo_surface_t *image, int x, int y)
{
    uint32_t v;
    memcpy(&v,
           cairo_image_surface_get_data(image) + y * cairo_image_surface_get_stride(image) + 4 * x,
           sizeof v);
    return v & 0xffffff;
}

/* Colours that occur in a column of the picture. */
static bool column_has(cairo_surface_t *image, int x, unsigned colour)
{
    for (int y = 0; y < cairo_image_surface_get_height(image); y++)
        if (pixel(image, x, y) == colour)
            return true;
    return false;
}

/* First row from y on that holds the colour in the column; -1: none. */
static int row_of(cairo_surface_t *image, int x, int y, unsigned colour)
{
    for (; y < cairo_image_surface_get_height(image); y++)
        if (pixel(image, x, y) == colour)
            return y;
    return -1;
}

/* Positions: margin 12, bracket 11, state bar 9, gap 3, picture 220, gap 3, row bar 9, letters 18;
 * three frames a row. Frames keep their colours. */
static void a_strip_shows_what_it_says(void **state)
{
    (void)state;
    enum { PITCH = 273, PICTURE = 12 + 11 + 9 + 3, ROWS = PICTURE + WIDTH + 3 + 4 };
    struct fl_take *t = a_take("a");
    struct fl_strip s;
    fill(&s, t, (long)(t->states.lapse[0].start_s * t->capture_rate_hz) - 2);
    assert_int_equal(fl_strip_write(&s, "test-filmstrip.png", NULL), FLINCH_OK);
    cairo_surface_t *image = cairo_image_surface_create_from_png("test-filmstrip.png");
    assert_int_equal(cairo_surface_status(image), CAIRO_STATUS_SUCCESS);
    assert_int_equal(cairo_image_surface_get_width(image), 2 * 12 + 3 * PITCH);
    int top = row_of(image, PICTURE + 180, 0, 0xff0000), middle = top + HEIGHT / 2;
    assert_true(top > 0);
    assert_int_equal(pixel(image, 2, 2), fl_palette[FL_PAPER].light);
    assert_int_equal(pixel(image, PICTURE + 20, middle), 0x000000);
    assert_int_equal(pixel(image, PICTURE + 180, middle), 0xff0000);
    assert_int_equal(pixel(image, PICTURE + 20, middle + HEIGHT + 3), 0xffffff); /* no difference */
    assert_true(column_has(image, 12 + 11 + 4, fl_palette[FL_ON].light)); /* before the edge */
    assert_true(column_has(image, 12 + 2 * PITCH + 11 + 4, fl_palette[FL_OFF].light)); /* past it */
    assert_int_equal(pixel(image, ROWS, middle - HEIGHT / 3),
                     fl_palette[FL_INK].light); /* changed */
    assert_int_equal(pixel(image, ROWS, middle + HEIGHT / 3),
                     fl_palette[FL_PAPER].light);                                 /* stood still */
    assert_true(row_of(image, PICTURE + 180, middle + HEIGHT * 2, 0xff0000) > 0); /* the fourth */
    cairo_surface_destroy(image);
    remove("test-filmstrip.png");
    drop(&s);
    fl_take_free(&t);
}

static void the_same_strip_is_the_same_file(void **state)
{
    (void)state;
    struct fl_take *t = a_take("a");
    struct fl_strip s;
    char *data[2];
    size_t size[2];
    fill(&s, t, 100);
    for (int i = 0; i < 2; i++) {
        assert_int_equal(fl_strip_write(&s, "test-filmstrip.png", NULL), FLINCH_OK);
        assert_int_equal(fl_read_file("test-filmstrip.png", 1 << 20, &data[i], &size[i], NULL),
                         FLINCH_OK);
        remove("test-filmstrip.png");
    }
    assert_int_equal(size[0], size[1]);
    assert_memory_equal(data[0], data[1], size[0]);
    free(data[0]);
    free(data[1]);
    drop(&s);
    fl_take_free(&t);
}

static void a_place_that_cannot_be_written_is_named(void **state)
{
    (void)state;
    struct fl_take *t = a_take("a");
    struct fl_strip s;
    struct fl_error err;
    fill(&s, t, 100);
    assert_int_equal(fl_strip_write(&s, "no-such-folder/a.png", &err), FLINCH_ERR_WRITE);
    assert_non_null(strstr(err.text, "no-such-folder"));
    drop(&s);
    fl_take_free(&t);
}

static void touch(const char *folder, const char *name)
{
    char *path = fl_path_join(folder, name);
    FILE *out = fopen(path, "w");
    assert_non_null(out);
    fclose(out);
    free(path);
}

static void stale_strips_go(void **state)
{
    (void)state;
    char *folder = make_folder();
    char *strips = fl_path_join(folder, "strips");
    assert_int_equal(fl_make_folder(strips, NULL), FLINCH_OK);
    static const char *const names[] = {"strips/a-01.png", "strips/a-02.png", "strips/a-03.png",
                                        "strips/a-b-03.png"};
    for (size_t i = 0; i < 4; i++)
        touch(folder, names[i]);
    fl_filmstrips_remove(folder, "a", 1);
    assert_true(fl_filmstrip_there(folder, "a", 0));
    assert_false(fl_filmstrip_there(folder, "a", 1));
    assert_false(fl_filmstrip_there(folder, "a", 2));
    assert_true(fl_filmstrip_there(folder, "a-b", 2));
    free(strips);
    remove_folder(folder);
}

static char *page_of(const struct fl_session *s, const char *folder)
{
    char *text = NULL;
    size_t size;
    FILE *out = open_memstream(&text, &size);
    fl_page_write(out, s, folder, &(struct fl_show_settings){0});
    fclose(out);
    return text;
}

/* The page links what is there, and keeps still about what is not; an id never leaves its
 * attribute. */
static void the_page_links_strips_that_are_there(void **state)
{
    (void)state;
    char *folder = make_folder();
    char *strips = fl_path_join(folder, "strips");
    assert_int_equal(fl_make_folder(strips, NULL), FLINCH_OK);
    static const char bad[] = "x\" onclick=\"alert(1)";
    struct fl_session *s = fl_session_new("one");
    fl_session_add(s, a_take("a"));
    fl_session_add(s, a_take(bad));
    assert_true(s->takes[0]->states.n_lapses >= 2);
    fl_session_study(s);
    char *page = page_of(s, folder);
    assert_null(strstr(page, "href=\"strips/"));
    free(page);
    touch(folder, "strips/a-02.png");
    touch(folder, "strips/x\" onclick=\"alert(1)-01.png");
    page = page_of(s, folder);
    assert_non_null(strstr(page, "<a href=\"strips/a-02.png\" data-lapse=\"1\">filmstrip 2</a>"));
    assert_null(strstr(page, "a-01.png"));
    assert_non_null(strstr(page, "<a href=\"strips/x%22%20onclick%3D%22alert%281%29-01.png\""));
    assert_null(strstr(page, "\" onclick=\""));
    free(page);
    free(strips);
    fl_session_free(&s);
    remove_folder(folder);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_strip_shows_what_it_says),
        cmocka_unit_test(the_same_strip_is_the_same_file),
        cmocka_unit_test(a_place_that_cannot_be_written_is_named),
        cmocka_unit_test(stale_strips_go),
        cmocka_unit_test(the_page_links_strips_that_are_there),
    };
    return RUN_TESTS(tests);
}
