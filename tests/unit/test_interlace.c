/* Pictures whose rows were exposed at known moments: what lies between odd and even rows is known
 * by construction. Interlaced: half of a frame's motion (ITU-R BT.656: two fields a frame, evenly).
 */
#include "signal/interlace.h"

#include <stdlib.h>

#include "base/mem.h"
#include "base/units.h"
#include "signal/stream.h"
#include "stills.h"
#include "test.h"

enum { W = 960, H = 272, FRAMES = 45, ROOM = 400 };

enum fields { PROGRESSIVE, EVEN_FIRST, ODD_FIRST };

/* How a film was made. Speeds in px a frame. */
struct film {
    enum fields fields;
    int turn;        /* px a frame; it goes to and fro */
    int torn;        /* below a row that climbs, the picture of half a frame later */
    int lines;       /* grey levels by which every other row is lighter, in the world */
    int dither;      /* the same, of a checkerboard that stays on the screen */
    int noise;       /* levels, uniform, new in every frame */
    bool scan_lines; /* every other row of the screen half as bright */
    bool overlay;    /* a third of the picture stays */
    int slant;       /* levels of thin lines that lean by two px a row, in the world */
    bool one_way;    /* it turns to one side only */
    int grain;       /* of the world, px; 0: 6 */
    int down;        /* px a frame, along the rows' normal */
};

/* Where the camera is at time t, half frames. */
static int at(const struct film *f, int half, int speed)
{
    if (f->one_way)
        return speed * half / 2;
    const int there = 2 * 23, k = half % (2 * there);
    return speed * (k < there ? k : 2 * there - k) / 2;
}

static uint8_t pixel(const struct film *f, const struct still *world, int x, int y, int frame,
                     uint64_t *rng)
{
    int half = 2 * frame;
    const int tear = H - (frame * 37) % H;
    half += f->fields == EVEN_FIRST ? y & 1 : f->fields == ODD_FIRST ? !(y & 1) : 0;
    half += f->torn && y >= tear;
    int wx = x + at(f, half, f->turn), wy = y + at(f, half, f->down);
    if (f->overlay && x < W / 3)
        wx = x, wy = y;
    int v = world->luma[(size_t)(wy % world->height) * (size_t)world->width +
                        (size_t)(wx % world->width)];
    v += f->lines && (wy & 1) ? f->lines : 0;
    v += f->slant && (wx + 2 * wy) % 7 == 0 ? f->slant : 0;
    v += f->dither && ((x + y) & 1) ? f->dither : 0;
    v = f->scan_lines && (y & 1) ? v / 2 : v;
    *rng = *rng * 6364136223846793005u + 1442695040888963407u;
    v += f->noise ? (int)((*rng >> 33) % (unsigned)(2 * f->noise + 1)) - f->noise : 0;
    return (uint8_t)(v < 0 ? 0 : v > 255 ? 255 : v);
}

static struct fl_interlace film(const struct film *f)
{
    struct still world = still_texture(W + ROOM, H + ROOM, f->grain ? f->grain : 6, 3);
    struct fl_signal_stream *stream = fl_signals_open(W, H);
    uint8_t *now = FL_NEW(uint8_t, (size_t)W * H);
    uint64_t rng = 1;
    for (int i = 0; i < FRAMES; i++) {
        for (int y = 0; y < H; y++)
            for (int x = 0; x < W; x++)
                now[y * W + x] = pixel(f, &world, x, y, i, &rng);
        fl_signals_push(stream, now, W, i == 0);
    }
    struct fl_signals signals;
    struct fl_interlace found;
    fl_signals_finish(&stream, &signals);
    fl_interlace_find(&found, &signals);
    fl_signals_free(&signals);
    still_free(&world);
    free(now);
    return found;
}

static void either_field_first_is_told(void **state)
{
    (void)state;
    const int turns[] = {4, 6, 10};
    for (int i = 0; i < 3; i++)
        for (int odd = 0; odd < 2; odd++) {
            struct fl_interlace f = film(&(struct film){odd ? ODD_FIRST : EVEN_FIRST, turns[i]});
            print_message("%d px a frame, %s rows first: %.2f of the motion, %.2f of %ld frames\n",
                          turns[i], odd ? "odd" : "even", f.part, f.agree, f.frames);
            assert_true(f.interlaced);
            assert_near(f.part, odd ? -0.5 : 0.5, 0.02);
        }
}

static void overlay_noise_and_lines_do_not_hide_it(void **state)
{
    (void)state;
    assert_true(film(&(struct film){EVEN_FIRST, 6, .overlay = true}).interlaced);
    assert_true(film(&(struct film){EVEN_FIRST, 6, .noise = 12}).interlaced);
    assert_true(film(&(struct film){ODD_FIRST, 6, .dither = 24}).interlaced);
    assert_true(film(&(struct film){ODD_FIRST, 6, .lines = 60}).interlaced);
}

/* All that looks like a comb and is none. */
static void progressive_footage_is_never_called_so(void **state)
{
    (void)state;
    static const struct {
        const char *what;
        struct film film;
    } row[] = {
        {"a plain turn", {PROGRESSIVE, 6}},
        {"torn", {PROGRESSIVE, 6, .torn = 1}},
        {"torn, fast", {PROGRESSIVE, 14, .torn = 1}},
        {"lines of one row", {PROGRESSIVE, 6, .lines = 90}},
        {"lines, and down", {PROGRESSIVE, 6, .lines = 90, .down = 1}},
        {"thin lines that lean", {PROGRESSIVE, 6, .slant = 120}},
        {"thin lines that lean, torn", {PROGRESSIVE, 6, .torn = 1, .slant = 120}},
        {"thin lines that lean, one way", {PROGRESSIVE, 6, .slant = 120, .one_way = true}},
        {"dither", {PROGRESSIVE, 6, .dither = 60}},
        {"scan lines", {PROGRESSIVE, 6, .scan_lines = true}},
        {"scan lines, torn", {PROGRESSIVE, 6, .torn = 1, .scan_lines = true}},
        {"noise", {PROGRESSIVE, 4, .noise = 30}},
        {"finest detail", {PROGRESSIVE, 6, .grain = 1}},
        {"finest detail, aslant", {PROGRESSIVE, 6, .grain = 1, .down = 3}},
        {"an overlay", {PROGRESSIVE, 6, .overlay = true, .torn = 1}},
    };
    for (size_t i = 0; i < sizeof row / sizeof *row; i++) {
        struct fl_interlace f = film(&row[i].film);
        print_message("%s: %ld frames, %.2f on one side\n", row[i].what, f.frames, f.agree);
        assert_false(f.interlaced);
    }
}

/* No motion, or only down: nothing is said. */
static void rest_tells_nothing(void **state)
{
    (void)state;
    struct fl_interlace f = film(&(struct film){EVEN_FIRST, 0});
    assert_false(f.interlaced || f.frames || fl_known(f.part) || fl_known(f.agree));
    f = film(&(struct film){EVEN_FIRST, 0, .down = 6});
    assert_false(f.interlaced);
    assert_int_equal(f.frames, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(either_field_first_is_told),
        cmocka_unit_test(overlay_noise_and_lines_do_not_hide_it),
        cmocka_unit_test(progressive_footage_is_never_called_so),
        cmocka_unit_test(rest_tells_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
