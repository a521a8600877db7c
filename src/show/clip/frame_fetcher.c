/* Chosen frames of the footage, in rising order: seeks to key frames where times can be relied
 * on, else counts. */
#include "show/clip/frame_fetcher.h"

#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "media/canvas.h"
#include "media/footage.h"

/* Differences are taken of pictures FINER times as wide as the strip's: grain averages out, edges
 * stay.
 */
enum { FINER = 3 };
/* Fewer frames than that are read sooner than a file is opened again. */
enum { WORTH_SKIPPING = 60 };
enum { MOST_HEIGHT = 400 }; /* of the strip's pictures, px: portrait footage */

struct fl_frame_fetcher {
    const struct fl_take *t;
    int threads, width, height; /* of the strip's pictures */
    int fine_width, fine_height;
    struct fl_footage *footage;
    struct fl_coding coding;
    bool skips;  /* key frames can be jumped to */
    bool jumped; /* this reading began at one */
    long at;     /* frame in hand; -1: none */
    double at_pts_s;
    bool beside;           /* `before` is the frame before it */
    uint8_t *now, *before; /* luma, fine_width × fine_height */
    uint8_t *chroma[2];    /* of `now`, half as wide and as high */
};

static enum flinch_code start_at(struct fl_frame_fetcher *r, double from_s, struct fl_error *err)
{
    fl_footage_close(&r->footage);
    const struct fl_footage_settings settings = {
        .threads = r->threads, .from_s = from_s, .colour = true};
    r->jumped = from_s > 0;
    enum flinch_code code = fl_footage_open(&r->footage, r->t->spec.footage, &settings, err);
    if (code && r->jumped) {
        r->skips = false;
        return start_at(r, 0, err);
    }
    if (!code && (fl_footage_info(r->footage)->width != r->t->width ||
                  fl_footage_info(r->footage)->height != r->t->height))
        code = fl_fail(err, FLINCH_ERR_FORMAT, "%s: changed while it was measured; run again",
                       r->t->spec.footage);
    if (!r->jumped)
        r->at = -1;
    return code;
}

enum flinch_code fl_frame_fetcher_open(struct fl_frame_fetcher **out, const struct fl_take *t,
                                       int width, int threads, struct fl_error *err)
{
    struct fl_frame_fetcher *r = FL_NEW(struct fl_frame_fetcher, 1);
    *r = (struct fl_frame_fetcher){.t = t,
                                   .threads = threads,
                                   .width = width,
                                   .skips = true,
                                   .at = -1,
                                   .at_pts_s = FL_UNKNOWN};
    r->height =
        2 * (int)fl_clamp(lrint((double)width * t->height / t->width / 2), 4, MOST_HEIGHT / 2);
    r->fine_width = FINER * r->width;
    r->fine_height = FINER * r->height;
    size_t n = (size_t)r->fine_width * (size_t)r->fine_height;
    r->now = FL_NEW(uint8_t, n);
    r->before = FL_NEW(uint8_t, n);
    for (int p = 0; p < 2; p++)
        r->chroma[p] = FL_NEW(uint8_t, n / 4);
    enum flinch_code code = start_at(r, 0, err);
    if (code)
        fl_frame_fetcher_close(&r);
    else
        r->coding = fl_footage_info(r->footage)->coding;
    *out = r;
    return code;
}

int fl_frame_fetcher_height(const struct fl_frame_fetcher *r)
{
    return r->height;
}

void fl_frame_fetcher_close(struct fl_frame_fetcher **fetcher)
{
    struct fl_frame_fetcher *r = *fetcher;
    if (!r)
        return;
    fl_footage_close(&r->footage);
    free(r->now);
    free(r->before);
    free(r->chroma[0]);
    free(r->chroma[1]);
    free(r);
    *fetcher = NULL;
}

static enum flinch_code reduce(struct fl_frame_fetcher *r, struct fl_error *err)
{
    struct fl_canvas to = {.plane = {r->now, r->chroma[0], r->chroma[1]},
                           .stride = {r->fine_width, r->fine_width / 2, r->fine_width / 2},
                           .width = r->fine_width,
                           .height = r->fine_height};
    return fl_footage_paint(r->footage, &to, 0, 0, to.width, to.height, err);
}

/* True if the frame read is the wanted one: by its time where times can be relied on, else by
 * count. */
static bool is_wanted(struct fl_frame_fetcher *r, const struct fl_frame *f, double pts_s,
                      long frame, bool *late)
{
    const double same_s = 1e-6;
    if (!fl_known(pts_s)) {
        r->at++;
        return r->at == frame;
    }
    *late = f->pts_s > pts_s + same_s;
    return !*late && f->pts_s > pts_s - same_s;
}

static enum flinch_code lost(const struct fl_frame_fetcher *r, struct fl_error *err)
{
    return fl_fail(err, FLINCH_ERR_FORMAT,
                   "%s: a frame that was measured is not found again; run again, or leave the "
                   "filmstrips out (--no-strips)",
                   r->t->spec.footage);
}

/* Reads on to the frame; *late if reading began behind it. */
static enum flinch_code read_to(struct fl_frame_fetcher *r, double pts_s, long frame, bool *late,
                                struct fl_error *err)
{
    struct fl_frame f;
    bool got, first = true;
    enum flinch_code code;
    *late = false;
    while (!(code = fl_footage_next(r->footage, &f, &got, err)) && got) {
        /* Landed before where it was: this container's key frames cannot be relied on. */
        if (first && r->jumped && f.pts_s <= r->at_pts_s)
            r->skips = false;
        first = false;
        if (is_wanted(r, &f, pts_s, frame, late)) {
            r->at = frame;
            r->at_pts_s = f.pts_s;
            return reduce(r, err);
        }
        if (*late)
            return FLINCH_OK;
    }
    if (!code && r->jumped)
        *late = true;
    return code || *late ? code : lost(r, err);
}

static bool worth_jumping(const struct fl_frame_fetcher *r, const struct fl_edge_frames *g)
{
    return r->skips && g->key_pts_s > 0 && g->key_frame > r->at + WORTH_SKIPPING;
}

enum flinch_code fl_frame_fetcher_reach(struct fl_frame_fetcher *r, const struct fl_edge_frames *g,
                                        long frame, struct fl_error *err)
{
    double pts_s = fl_known(g->key_pts_s) ? g->pts_s[frame - g->first + 1] : FL_UNKNOWN;
    bool late = false;
    uint8_t *swap = r->before;
    r->before = r->now;
    r->now = swap;
    r->beside = r->at >= 0 && frame == r->at + 1;
    enum flinch_code code = worth_jumping(r, g) ? start_at(r, g->key_pts_s, err) : FLINCH_OK;
    if (!code)
        code = read_to(r, pts_s, frame, &late, err);
    if (!code && late &&
        r->jumped) { /* not where the key frame was said to be: from the first frame on */
        r->skips = false;
        code = start_at(r, 0, err);
        if (!code)
            code = read_to(r, pts_s, frame, &late, err);
    }
    return !code && late ? lost(r, err) : code;
}

/* Over the FINER × FINER pixels behind the strip's pixel at x, y. */
static unsigned pixel_sum(const struct fl_frame_fetcher *r, int x, int y, bool difference)
{
    unsigned sum = 0;
    for (int v = FINER * y; v < FINER * (y + 1); v++)
        for (int u = FINER * x; u < FINER * (x + 1); u++) {
            size_t k = (size_t)v * (size_t)r->fine_width + (size_t)u;
            sum += difference ? (unsigned)abs(r->now[k] - r->before[k]) : r->now[k];
        }
    return sum;
}

uint32_t *fl_frame_fetcher_picture(const struct fl_frame_fetcher *r)
{
    uint32_t *out = FL_NEW(uint32_t, (size_t)r->width * (size_t)r->height);
    for (int y = 0; y < r->height; y++)
        for (int x = 0; x < r->width; x++) {
            size_t middle = (size_t)((FINER * y + 1) / 2) * (size_t)(r->fine_width / 2) +
                            (size_t)((FINER * x + 1) / 2);
            const double level[] = {pixel_sum(r, x, y, false) / (double)(FINER * FINER),
                                    r->chroma[0][middle], r->chroma[1][middle]};
            out[y * r->width + x] = fl_coding_rgb(&r->coding, level);
        }
    return out;
}

uint8_t *fl_frame_fetcher_difference(const struct fl_frame_fetcher *r)
{
    enum { QUARTERS = 4 };
    if (!r->beside)
        return NULL;
    uint8_t *out = FL_NEW(uint8_t, (size_t)r->width * (size_t)r->height);
    for (int y = 0; y < r->height; y++)
        for (int x = 0; x < r->width; x++) {
            unsigned v =
                (pixel_sum(r, x, y, true) * QUARTERS + FINER * FINER / 2) / (FINER * FINER);
            out[y * r->width + x] = (uint8_t)(v > 255 ? 255 : v);
        }
    return out;
}
