#include "flip/evidence.h"

#include <math.h>
#include <stdlib.h>

#include "base/mem.h"
#include "maths/robust.h"

/* Costs below this many grey levels are coding noise on any footage. */
static const float noise_levels = 0.15f;
/* ln(best moved cost / unmoved cost) of a band: rows of one and the same picture match unmoved many
 * times better than moved; rows that moved never do. Between the two nothing is said. */
static const float still_from = 0.8f, still_sure = 1.4f, changed_from = -0.15f, changed_sure = -0.45f;
/* Neighbouring bands see the same detail and the same coding errors, so a whole frame of agreeing
 * bands is worth this many nats, however many bands it is cut into. */
static const float frame_nats = 18;

static float tile_ratio(const struct fl_tile *t)
{
    return logf((fl_cost(t->moved) + noise_levels) / (fl_cost(t->still) + noise_levels));
}

static bool fast_and_sure(const struct fl_signals *s, size_t i)
{
    return i > 0 && s->quality[i] > 0.6f && hypotf(s->shift_x[i], s->shift_y[i]) > 3;
}

/* Overlay and held objects stay while the scene moves: a tile's share of fast frames in which it
 * moved, against that of the upper quarter of tiles. */
static void weigh_tiles(struct fl_evidence *e, const struct fl_signals *s)
{
    size_t n = (size_t)(s->grid.bands * s->grid.tiles);
    e->tile_weight = FL_NEW(float, n);
    size_t frames = 0;
    for (size_t i = 0; i < s->n; i++) {
        if (!fast_and_sure(s, i))
            continue;
        frames++;
        const struct fl_tile *tile = s->tiles + i * n;
        for (size_t k = 0; k < n; k++)
            e->tile_weight[k] += tile[k].moved != FL_COST_NONE && tile_ratio(&tile[k]) < -0.2f;
    }
    if (frames < 8) {
        for (size_t k = 0; k < n; k++)
            e->tile_weight[k] = 1;
        return;
    }
    float upper = (float)fl_quantile_f(e->tile_weight, n, 0.75);
    for (size_t k = 0; k < n; k++)
        e->tile_weight[k] = e->tile_weight[k] > 0.5f * upper ? 1 : 0;
}

/* ln(moved / still) summed over the band's scene tiles; 0 with fewer than two of them. */
static float band_ratio(const struct fl_signals *s, const struct fl_evidence *e, size_t frame, int band)
{
    float moved = 0, still = 0;
    int used = 0;
    for (int t = 0; t < s->grid.tiles; t++) {
        const struct fl_tile *tile = fl_signals_tile(s, frame, band, t);
        if (tile->moved == FL_COST_NONE || e->tile_weight[band * s->grid.tiles + t] == 0)
            continue;
        moved += fl_cost(tile->moved);
        still += fl_cost(tile->still);
        used++;
    }
    if (used < 2 && used < s->grid.tiles)
        return 0;
    float floor = noise_levels * (float)used;
    return logf((moved + floor) / (still + floor));
}

static float ramp(float x, float zero, float one)
{
    float r = (x - zero) / (one - zero);
    return r < 0 ? 0 : r > 1 ? 1 : r;
}

/* -1 changed .. 0 cannot tell .. 1 still */
static float verdict(float ratio)
{
    return ratio > 0 ? ramp(ratio, still_from, still_sure) : -ramp(ratio, changed_from, changed_sure);
}

/* How far the scene surely moves through the frames around: at a turning point or where motion ends
 * rows stand still without any flip missing. */
static float sure_speed(const struct fl_signals *s, size_t i)
{
    enum { AROUND = 2 };
    float x = s->shift_x[i], y = s->shift_y[i], length = hypotf(x, y), least = length;
    if (length == 0 || s->quality[i] < 0.1f)
        return 0;
    size_t from = i > AROUND ? i - AROUND : 1, to = i + AROUND < s->n ? i + AROUND : s->n - 1;
    for (size_t k = from; k <= to; k++) {
        float along = (s->shift_x[k] * x + s->shift_y[k] * y) / length;
        least = fminf(least, along);
    }
    return fmaxf(least, 0);
}

static void gather_frame(struct fl_evidence *e, const struct fl_signals *s, size_t i, float speed_weight,
                         float change_weight, struct fl_slot *slot)
{
    int bands = s->grid.bands, changed = 0, still = 0;
    for (int b = 0; b < bands; b++) {
        float v = i ? verdict(band_ratio(s, e, i, b)) : 0;
        changed += v < -0.5f;
        still += v > 0.5f;
        slot[1 + b].still = v * (v > 0 ? speed_weight : change_weight) * frame_nats / (float)bands;
    }
    bool telling = speed_weight > 0 && 4 * (changed + still) >= bands;
    e->changed_share[i] = telling ? (float)changed / (float)(changed + still) : NAN;
}

/* Times and lags of the slots from frame i's blank up to the next frame's. */
static void place_frame(struct fl_evidence *e, const struct fl_scan *scan, size_t i, int bands)
{
    size_t per = (size_t)bands + 1;
    size_t at = (size_t)(scan->number[i] - scan->number[0]) * per;
    size_t next = i + 1 < scan->n ? (size_t)(scan->number[i + 1] - scan->number[0]) * per : at + per;
    long back = i ? scan->number[i] - scan->number[i - 1] : 1;
    for (size_t k = at; k < next; k++) {
        double row = (double)((k - at) % per) - 1, whole = (double)((k - at) / per);
        double in = row < 0 ? -scan->blank / 2 : (1 - scan->blank) * (row + 0.5) / bands;
        /* In a frame that is missing nothing was compared: its rows lie back as those of the next. */
        e->slot[k] = (struct fl_slot){.time_s = scan->time_s[i] + scan->period_s * (whole + in),
                                      .lag = (int32_t)(per * (size_t)back), .frame = (int32_t)i};
    }
}

static void gather_mixed(struct fl_evidence *e)
{
    size_t telling = 0, mixed = 0;
    for (size_t i = 0; i < e->frames; i++) {
        telling += !isnan(e->changed_share[i]);
        mixed += e->changed_share[i] > 0.08f && e->changed_share[i] < 0.92f;
    }
    e->mixed = telling ? (double)mixed / (double)telling : NAN;
}

void fl_evidence_gather(struct fl_evidence *e, const struct fl_signals *s, const struct fl_scan *scan)
{
    size_t per = (size_t)s->grid.bands + 1;
    *e = (struct fl_evidence){.slots_a_frame = (int)per, .slot_s = scan->period_s / (double)per, .frames = s->n};
    e->n = s->n ? (size_t)(scan->number[s->n - 1] - scan->number[0] + 1) * per : 0;
    e->slot = FL_NEW(struct fl_slot, e->n);
    e->changed_share = FL_NEW(float, s->n);
    e->speed = FL_NEW(float, s->n);
    weigh_tiles(e, s);
    for (size_t i = 0; i < s->n; i++) {
        place_frame(e, scan, i, s->grid.bands);
        e->speed[i] = sure_speed(s, i);
        /* Rows that changed have changed, whatever moved; that rows stood still says something only
         * while the scene surely moves. */
        float length = hypotf(s->shift_x[i], s->shift_y[i]);
        gather_frame(e, s, i, ramp(e->speed[i], 0.6f, 1.4f), ramp(length, 0.5f, 1),
                     e->slot + (size_t)(scan->number[i] - scan->number[0]) * per);
    }
    gather_mixed(e);
}

void fl_evidence_coarsen(struct fl_evidence *out, const struct fl_evidence *e, int by)
{
    *out = (struct fl_evidence){.n = e->n / (size_t)by, .slot_s = e->slot_s * by,
                                .slots_a_frame = e->slots_a_frame / by};
    out->slot = FL_NEW(struct fl_slot, out->n);
    for (size_t i = 0; i < out->n; i++) {
        const struct fl_slot *from = e->slot + i * (size_t)by;
        out->slot[i] = from[by / 2];
        out->slot[i].still = 0;
        for (int k = 0; k < by; k++)
            out->slot[i].still += from[k].still;
        out->slot[i].lag = (from[by / 2].lag + by / 2) / by;
    }
}

void fl_evidence_finish(struct fl_evidence *e)
{
    free(e->slot);
    free(e->changed_share);
    free(e->speed);
    free(e->tile_weight);
    *e = (struct fl_evidence){0};
}
