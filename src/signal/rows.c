/* Tiles → what each row band did: a vote of the tiles that belong to the scene.
 *
 * A band stood still if it fits the picture before better unmoved than moved, and changed if the
 * other way round; ln of the two costs' ratio measures it, with the coding's noise added to both so
 * that flat rows say nothing. */
#include "signal/rows.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>

#include "base/mem.h"
#include "maths/robust.h"
#include "signal/bands.h"
#include "signal/scene_shift.h"

/* Costs about as large as this are coding noise, grey levels. The footage sets it, between these
 * limits: clean footage of a dark scene tells rows apart by differences that on other footage are
 * noise. Choices. */
static const struct {
    float least, most; /* grey levels */
    float moving;      /* quality of a frame, 0..1, in which still tiles are noise or overlay */
    size_t low_of;     /* the noise is the lowest of so many parts of them: 20 is a 5 % quantile */
} noise = {.least = 0.02f, .most = 0.15f, .moving = 0.3f, .low_of = 20};
/* ln(best moved cost / unmoved cost) of a band: rows of one and the same picture match unmoved many
 * times better than moved; rows that moved never do. Between the two nothing is said. Choices. */
static const struct {
    float still_from, still_sure;     /* from here on still, from there on surely, verdict 1 */
    float changed_from, changed_sure; /* up to here changed, up to there surely, verdict -1 */
    float still;                      /* verdict from which a band stood, and moved by 0 */
    float tile_changed;               /* of one tile, when overlay is told from scene */
    float near;                       /* verdict of a band beside that counts as a change */
} band = {.still_from = 0.8f,
          .still_sure = 1.4f,
          .changed_from = -0.15f,
          .changed_sure = -0.45f,
          .still = 0.5f,
          .tile_changed = -0.2f,
          .near = -0.3f};
/* Frames that tell scene from overlay, and what overlay is. Choices. */
static const struct {
    float quality; /* 0..1 */
    float px;      /* working px a frame */
    double upper;  /* quantile of tiles that surely are scene */
    float share;   /* a tile that moved in under this share of what those did is overlay */
} overlay = {.quality = 0.6f, .px = 3, .upper = 0.75, .share = 0.5f};
enum { ENOUGH_FAST = 8, LEAST_TILES = 2, TELLING_PART = 4 };

static float tile_ratio(const struct fl_rows *r, const struct fl_tile *t)
{
    return logf((fl_cost(t->moved) + r->noise) / (fl_cost(t->still) + r->noise));
}

/* A low quantile of what tiles differ by unmoved while the scene moves: those are still rows and
 * overlay. */
static void learn_noise(struct fl_rows *r, const struct fl_signals *s)
{
    enum { CODES = 256 };
    size_t count[CODES] = {0}, total = 0, tiles = (size_t)(s->grid.bands * s->grid.tiles), sum = 0;
    for (size_t i = 1; i < s->n; i++) {
        const struct fl_tile *tile = fl_tiles(s, i);
        if (!(fl_scene_shifts(s, i)->quality > noise.moving))
            continue;
        total += tiles;
        for (size_t k = 0; k < tiles; k++)
            count[tile[k].still]++;
    }
    int code = 0;
    while (code < CODES - 1 && (sum += count[code]) < total / noise.low_of)
        code++;
    float low = fl_cost((uint8_t)code);
    r->noise = low < noise.least ? noise.least : low > noise.most ? noise.most : low;
}

static bool fast_and_sure(const struct fl_signals *s, size_t i)
{
    const struct fl_scene_shift *shift = fl_scene_shifts(s, i);
    return i > 0 && shift->quality > overlay.quality && hypotf(shift->x, shift->y) > overlay.px;
}

/* Overlay and held objects stay while the scene moves: a tile's share of fast frames in which it
 * moved, against that of the upper quarter of tiles. */
static void weigh_tiles(struct fl_rows *r, const struct fl_signals *s)
{
    size_t n = (size_t)(s->grid.bands * s->grid.tiles), frames = 0;
    r->tile_weight = FL_NEW(float, n);
    for (size_t i = 0; i < s->n; i++) {
        if (!fast_and_sure(s, i))
            continue;
        frames++;
        const struct fl_tile *tile = fl_tiles(s, i);
        for (size_t k = 0; k < n; k++)
            r->tile_weight[k] +=
                tile[k].moved != FL_COST_NONE && tile_ratio(r, &tile[k]) < band.tile_changed;
    }
    float upper = frames < ENOUGH_FAST ? 0 : (float)fl_quantile_f(r->tile_weight, n, overlay.upper);
    for (size_t k = 0; k < n; k++)
        r->tile_weight[k] = upper == 0 || r->tile_weight[k] > overlay.share * upper ? 1 : 0;
}

static float ramp(float x, float zero, float one)
{
    float v = (x - zero) / (one - zero);
    return v < 0 ? 0 : v > 1 ? 1 : v;
}

/* A band's verdict from its scene tiles together, and its shift from those that moved. */
static void judge_band(struct fl_rows *r, const struct fl_signals *s, size_t frame, int b)
{
    size_t at = frame * (size_t)r->bands + (size_t)b;
    const struct fl_scene_shift *shift = fl_scene_shifts(s, frame);
    float moved = 0, still = 0, length = hypotf(shift->x, shift->y);
    double steps[FL_TILES];
    size_t used = 0, stepped = 0;
    for (int t = 0; t < s->grid.tiles; t++) {
        const struct fl_tile *tile = fl_tile_at(s, frame, b, t);
        if (tile->moved == FL_COST_NONE || r->tile_weight[b * s->grid.tiles + t] == 0)
            continue;
        moved += fl_cost(tile->moved);
        still += fl_cost(tile->still);
        used++;
        if (tile_ratio(r, tile) < band.changed_from)
            steps[stepped++] = tile->steps;
    }
    r->verdict[at] = 0;
    r->shift[at] = NAN;
    if (used < LEAST_TILES && used < (size_t)s->grid.tiles)
        return;
    float floor = r->noise * (float)used, ratio = logf((moved + floor) / (still + floor));
    r->verdict[at] = ratio > 0 ? ramp(ratio, band.still_from, band.still_sure)
                               : -ramp(ratio, band.changed_from, band.changed_sure);
    if (r->verdict[at] > band.still)
        r->shift[at] = 0;
    else if (r->verdict[at] < 0 && stepped)
        r->shift[at] = (float)fl_median(steps, stepped) / FL_STEP_PARTS * length;
}

/* Against the mean of the frames before and after, so that the scene's own detail drops out. */
static void compare_detail(struct fl_rows *r, const struct fl_signals *s, size_t frame, int b)
{
    double v[FL_TILES];
    size_t n = 0;
    for (int t = 0; frame > 0 && frame + 1 < s->n && t < s->grid.tiles; t++) {
        uint8_t was = fl_tile_at(s, frame - 1, b, t)->detail,
                is = fl_tile_at(s, frame, b, t)->detail,
                will = fl_tile_at(s, frame + 1, b, t)->detail;
        if (was && is && will && r->tile_weight[b * s->grid.tiles + t] > 0)
            v[n++] = fl_detail(is) - 0.5 * (fl_detail(was) + fl_detail(will));
    }
    r->detail[frame * (size_t)r->bands + (size_t)b] =
        n >= LEAST_TILES ? (float)fl_median(v, n) : NAN;
}

static void mean_move(struct fl_rows *r, const struct fl_signals *s, size_t i)
{
    const struct fl_scene_shift *shift = fl_scene_shifts(s, i);
    float length = hypotf(shift->x, shift->y), sum = 0;
    int n = 0;
    for (int b = 0; b < r->bands; b++) {
        float v = r->shift[i * (size_t)r->bands + (size_t)b];
        if (!isnan(v)) {
            sum += v;
            n++;
        }
    }
    bool tells = length > 0 && TELLING_PART * n >= r->bands;
    r->move_x[i] = length == 0 ? 0 : tells ? sum / (float)n * shift->x / length : NAN;
    r->move_y[i] = length == 0 ? 0 : tells ? sum / (float)n * shift->y / length : NAN;
}

static bool changed_near(const struct fl_rows *r, size_t frame, int middle)
{
    enum { NEIGHBOURS = 3 }; /* bands with too little detail to tell borrow from these */
    for (int b = middle - NEIGHBOURS; b <= middle + NEIGHBOURS; b++)
        if (b >= 0 && b < r->bands && r->verdict[frame * (size_t)r->bands + (size_t)b] < band.near)
            return true;
    return false;
}

static bool changed_within(const struct fl_rows *r, size_t frame, int middle, int step,
                           size_t reach)
{
    for (size_t k = 1; k <= reach; k++) {
        size_t at = step < 0 ? frame - k : frame + k;
        /* Past the ends of the take nothing speaks against it. */
        if (at == 0 || at >= r->frames || changed_near(r, at, middle))
            return true;
    }
    return false;
}

/* Off or on, a moving scene changes every row within a base period. Rows that stay while others go
 * on changing belong to a scene that moves by itself in places. */
static void doubt_idle_rows(struct fl_rows *r, size_t reach)
{
    for (size_t i = 0; i < r->frames; i++)
        for (int b = 0; b < r->bands; b++) {
            float *v = &r->verdict[i * (size_t)r->bands + (size_t)b];
            if (*v > 0 &&
                !(changed_within(r, i, b, -1, reach) && changed_within(r, i, b, 1, reach)))
                *v = 0;
        }
}

size_t fl_rows_reach(double frame_s)
{
    const double reach_s = 0.025; /* a period of the lowest base rate of interest, 40/s */
    return (size_t)fmax(1, ceil(reach_s / frame_s));
}

/* One value a band of each frame; calloc checks the product. */
static float *a_band(const struct fl_signals *s)
{
    return fl_calloc(s->n, (size_t)s->grid.bands * sizeof(float));
}

void fl_rows_judge(struct fl_rows *r, const struct fl_signals *s, double frame_s)
{
    assert(s->grid.tiles >= 1 && s->grid.tiles <= FL_TILES);
    *r = (struct fl_rows){.frames = s->n,
                          .bands = s->grid.bands,
                          .verdict = a_band(s),
                          .shift = a_band(s),
                          .detail = a_band(s),
                          .move_x = FL_NEW(float, s->n),
                          .move_y = FL_NEW(float, s->n)};
    learn_noise(r, s);
    weigh_tiles(r, s);
    for (size_t i = 0; i < s->n; i++) {
        for (int b = 0; b < r->bands; b++) {
            judge_band(r, s, i, b);
            compare_detail(r, s, i, b);
        }
        mean_move(r, s, i);
    }
    doubt_idle_rows(r, fl_rows_reach(frame_s));
}

void fl_rows_finish(struct fl_rows *r)
{
    free(r->verdict);
    free(r->shift);
    free(r->detail);
    free(r->tile_weight);
    free(r->move_x);
    free(r->move_y);
    *r = (struct fl_rows){0};
}
