/* Rows → log likelihood ratios along the scan.
 *
 * A verdict of a band is turned into nats in proportion, with a ceiling a frame: bands share detail
 * and coding errors, so they are not independent. Slow motion takes the say away, as coding then
 * moves or holds whole rows of blocks together. Flips show where the shift down the scan rises. */
#include "state/evidence.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>

#include "base/mem.h"

/* Whether rows stood still. Choices, but for the speeds, which are where the video codecs in use
 * began to move whole rows of blocks together on staged takes. */
static const struct {
    float frame_nats; /* of a whole frame of bands that agree, however many it is cut into */
    float slow;       /* working px a frame: up to here rows say nothing, ... */
    float clear;      /* ... from here on all they have, on a line between */
    float sure;       /* verdict (-1..1) from which a band is counted as still or as changed */
    float unmixed; /* share of bands that changed or stayed up to which a frame is of one piece */
} still = {.frame_nats = 18, .slow = 0.6f, .clear = 1.4f, .sure = 0.5f, .unmixed = 0.08f};
enum { TELLING_PART = 4 }; /* of a frame's bands, one in so many must tell */

/* Whether a flip lies between two rows, by their shifts since the frame before, in units of the
 * scene's. Across a flip the shift rises by output interval / capture period, 0.4 to 2 on footage
 * worth its name. Choices. */
static const struct {
    int window;        /* bands compared on each side: 2 or 3 tell, more blur */
    float middle;      /* a rise that says neither: the least of true ones */
    float slope;       /* nats a unit of rise */
    float most, least; /* nats */
    float slowest;     /* working px a frame: under it coding moves whole rows of blocks */
    float fine;        /* working px a frame: up to here steps drown in whole pixels, ... */
    float coarse;      /* ... from here on they have their whole say */
} rising = {.window = 3,
            .middle = 0.4f,
            .slope = 5,
            .most = 2,
            .least = -1,
            .slowest = 0.5f,
            .fine = 1,
            .coarse = 2.2f};

/* Local recordings: every frame is a flip unless it repeats the one before. */
static const struct {
    double slot_s;    /* finer than any clock that frames are stamped by, s */
    float flip_nats;  /* of a frame at its time */
    float none_nats;  /* of any other time: recorders lose frames, so not beyond doubt */
    float many_still; /* still bands for each changed one that make a frame a repeat */
} local = {.slot_s = 0.0005, .flip_nats = 3, .none_nats = -5, .many_still = 4};

/* Times and lags of the slots from frame i's blank up to the next frame's. */
static void place_frame(struct fl_evidence *e, const struct fl_scan *scan, size_t i, int bands)
{
    size_t per = (size_t)bands + 1;
    size_t at = (size_t)(scan->number[i] - scan->number[0]) * per;
    size_t next =
        i + 1 < scan->n ? (size_t)(scan->number[i + 1] - scan->number[0]) * per : at + per;
    assert(at < next && next <= e->n);
    long back = i ? scan->number[i] - scan->number[i - 1] : 1;
    for (size_t k = at; k < next; k++) {
        double row = (double)((k - at) % per) - 1, whole = (double)((k - at) / per);
        double in = row < 0 ? -scan->blank / 2 : (1 - scan->blank) * (row + 0.5) / bands;
        e->slot[k] =
            (struct fl_slot){.time_s = scan->time_s[i] + scan->period_s * (whole + in),
                             .lag = k < at + per ? (int32_t)(per * (size_t)back) : INT32_MAX,
                             .frame = (int32_t)i};
    }
}

static float weight_of(float speed)
{
    float w = (speed - still.slow) / (still.clear - still.slow);
    return w < 0 ? 0 : w > 1 ? 1 : w;
}

static void gather_frame(struct fl_evidence *e, const struct fl_rows *r,
                         const struct fl_scene_speed *speed, size_t i, struct fl_slot *slot)
{
    /* That rows stood still says something only while the scene moves before and after; that they
     * changed already where motion sets in or ends. */
    float moving = weight_of(speed->across[i]), near = weight_of(speed->beside[i]);
    int changed = 0, stood = 0;
    for (int b = 0; b < r->bands; b++) {
        float v = i ? r->verdict[i * (size_t)r->bands + (size_t)b] : 0;
        changed += v < -still.sure;
        stood += v > still.sure;
        slot[1 + b].still = v * (v > 0 ? moving : near) * still.frame_nats / (float)r->bands;
    }
    bool telling = moving > 0 && TELLING_PART * (changed + stood) >= r->bands;
    e->changed_share[i] = telling ? (float)changed / (float)(changed + stood) : NAN;
}

/* Mean shift of the telling bands among `count` slots from k on (step 1) or before k (step -1); NaN
 * with fewer than two. */
static float shift_beside(const float *shift, size_t n, size_t k, int step, int count)
{
    float sum = 0;
    int used = 0;
    for (int i = step < 0 ? 1 : 0; i < count + (step < 0 ? 1 : 0); i++) {
        size_t at = step < 0 ? k - (size_t)i : k + (size_t)i;
        if (at < n && !isnan(shift[at])) {
            sum += shift[at];
            used++;
        }
    }
    return used < 2 ? NAN : sum / (float)used;
}

/* Shift of a slot's rows, working px; NaN where none is known. */
static float shift_at(const struct fl_evidence *e, const struct fl_rows *r, size_t k)
{
    const size_t per = (size_t)e->slots_a_frame, band = k % per;
    const bool filled = k < per || e->slot[k].frame != e->slot[k - per].frame;
    return band && filled ? r->shift[(size_t)e->slot[k].frame * (size_t)r->bands + band - 1] : NAN;
}

/* How much further rows from slot k on moved than those before it. */
static float rise_at(const float *shift, size_t n, size_t k)
{
    return shift_beside(shift, n, k, 1, rising.window) -
           shift_beside(shift, n, k, -1, rising.window);
}

static float nats_of(float rise)
{
    return fmaxf(rising.least, fminf(rising.most, rising.slope * (rise - rising.middle)));
}

/* Down the scan a row's shift since the frame before grows by one output step where a flip lies
 * (and falls by one where the flip of a frame ago drops out of sight). */
static void gather_flips(struct fl_evidence *e, const struct fl_rows *r,
                         const struct fl_scene_speed *scene)
{
    float *shift = FL_NEW(float, e->n);
    size_t per = (size_t)e->slots_a_frame;
    for (size_t k = 0; k < e->n; k++)
        shift[k] = shift_at(e, r, k);
    for (size_t k = 1; k < e->n; k++) {
        float speed = scene->across[e->slot[k].frame],
              weight = (speed - rising.fine) / (rising.coarse - rising.fine);
        if (weight <= 0 || (k >= per && e->slot[k].frame == e->slot[k - per].frame))
            continue;
        float rise = rise_at(shift, e->n, k) / speed;
        if (!isnan(rise))
            e->slot[k].flip = fminf(weight, 1) * nats_of(rise);
    }
    free(shift);
}

/* Mean of what is known about slot k, up to a frame on either side; NaN where half is not. */
static float mean_about(const float *shift, size_t n, size_t k, size_t reach)
{
    float sum = 0;
    size_t used = 0, from = k > reach ? k - reach : 0, to = k + reach < n ? k + reach : n;
    for (size_t i = from; i < to; i++)
        if (!isnan(shift[i])) {
            sum += shift[i];
            used++;
        }
    return 2 * used > to - from ? sum / (float)used : NAN;
}

bool fl_evidence_steps(float *out, const struct fl_evidence *e, const struct fl_rows *r,
                       size_t from, size_t to)
{
    const size_t per = (size_t)e->slots_a_frame, first = from > per ? from - per : 0,
                 end = to + 2 * per < e->n ? to + 2 * per : e->n, n = end - first;
    float *shift = FL_NEW(float, n);
    bool any = false;
    for (size_t k = 0; k < n; k++)
        shift[k] = shift_at(e, r, first + k);
    for (size_t k = from - first; k < to - first; k++) {
        const float mean = mean_about(shift, n, k, per), rise = rise_at(shift, n, k) / mean,
                    fall = -rise_at(shift, n, k + per) / mean;
        const bool tells = mean > rising.slowest && !isnan(rise);
        out[first + k - from] = tells ? nats_of(rise) + (isnan(fall) ? 0 : nats_of(fall)) : 0;
        any |= tells;
    }
    free(shift);
    return any;
}

static void gather_mixed(struct fl_evidence *e)
{
    size_t telling = 0, mixed = 0;
    for (size_t i = 0; i < e->frames; i++) {
        telling += !isnan(e->changed_share[i]);
        mixed += e->changed_share[i] > still.unmixed && e->changed_share[i] < 1 - still.unmixed;
    }
    e->mixed = telling ? (double)mixed / (double)telling : NAN;
}

void fl_evidence_gather(struct fl_evidence *e, const struct fl_rows *r,
                        const struct fl_scene_speed *speed, const struct fl_scan *scan)
{
    size_t per = (size_t)r->bands + 1, n = r->frames;
    assert(scan->n == n && speed->frames == n && n <= INT32_MAX);
    *e = (struct fl_evidence){
        .slots_a_frame = (int)per, .slot_s = scan->period_s / (double)per, .frames = n};
    size_t places = n ? (size_t)(scan->number[n - 1] - scan->number[0]) + 1 : 0;
    e->slot = fl_calloc(places, per * sizeof *e->slot); /* which checks the product */
    e->n = places * per;
    e->changed_share = FL_NEW(float, n);
    for (size_t i = 0; i < n; i++) {
        place_frame(e, scan, i, r->bands);
        gather_frame(e, r, speed, i, e->slot + (size_t)(scan->number[i] - scan->number[0]) * per);
    }
    gather_flips(e, r, speed);
    gather_mixed(e);
}

static bool frame_stood_still(const struct fl_rows *r, float speed, size_t i)
{
    int stood = 0, changed = 0;
    for (int b = 0; b < r->bands; b++) {
        stood += r->verdict[i * (size_t)r->bands + (size_t)b] > still.sure;
        changed += r->verdict[i * (size_t)r->bands + (size_t)b] < 0;
    }
    return speed > still.clear && (float)stood > local.many_still * (float)changed &&
           2 * stood > r->bands;
}

/* Where frames at times of their own lie among slots; a long gap leaves no more slots than
 * FL_SCAN_LONGEST_GAP_S has. */
struct place {
    size_t slot;
    long left_out; /* slots of all gaps before it */
};

static struct place *place_local(const double *time_s, size_t n, double slot_s)
{
    const long most = lrint(FL_SCAN_LONGEST_GAP_S / slot_s);
    struct place *at = FL_NEW(struct place, n);
    for (size_t i = 1; i < n; i++) {
        const long whole = lrint((time_s[i] - time_s[0]) / slot_s);
        const long step = whole - at[i - 1].left_out - (long)at[i - 1].slot;
        assert(step >= 0); /* times rise */
        at[i].left_out = at[i - 1].left_out + (step > most ? step - most : 0);
        at[i].slot = (size_t)(whole - at[i].left_out);
    }
    return at;
}

void fl_evidence_gather_local(struct fl_evidence *e, const struct fl_rows *r,
                              const struct fl_scene_speed *speed, const double *time_s)
{
    const double slot_s = local.slot_s;
    size_t n = r->frames;
    struct place *at = place_local(time_s, n, slot_s);
    double left_out_s = n ? (double)at[n - 1].left_out * slot_s : 0;
    double typical = n > 1 ? (time_s[n - 1] - time_s[0] - left_out_s) / (double)(n - 1) : slot_s;
    int per = (int)lrint(typical / slot_s);
    *e = (struct fl_evidence){.slot_s = slot_s,
                              .slots_a_frame = per > 0 ? per : 1,
                              .frames = n,
                              .local = true,
                              .mixed = NAN,
                              .changed_share = FL_NEW(float, n)};
    e->n = n ? at[n - 1].slot + 2 : 0;
    e->slot = FL_NEW(struct fl_slot, e->n);
    size_t frame = 0;
    for (size_t k = 0; k < e->n; k++) {
        while (frame + 1 < n && at[frame + 1].slot <= k)
            frame++;
        double whole = (double)k + (double)at[frame].left_out;
        e->slot[k] = (struct fl_slot){.time_s = time_s[0] + (whole + 0.5) * slot_s,
                                      .flip = local.none_nats,
                                      .lag = INT32_MAX,
                                      .frame = (int32_t)frame};
    }
    for (size_t i = 0; i < n; i++) {
        bool stood = i && frame_stood_still(r, speed->across[i], i);
        e->changed_share[i] = !i ? NAN : stood ? 0 : 1;
        e->slot[at[i].slot].flip = stood ? local.none_nats : local.flip_nats;
    }
    free(at);
}

void fl_evidence_coarsen(struct fl_evidence *out, const struct fl_evidence *e, int by)
{
    assert(by > 0 && by <= e->slots_a_frame);
    *out = (struct fl_evidence){
        .n = e->n / (size_t)by, .slot_s = e->slot_s * by, .slots_a_frame = e->slots_a_frame / by};
    out->slot = FL_NEW(struct fl_slot, out->n);
    for (size_t i = 0; i < out->n; i++) {
        const struct fl_slot *from = e->slot + i * (size_t)by;
        out->slot[i] = from[by / 2];
        out->slot[i].still = out->slot[i].flip = 0;
        for (int k = 0; k < by; k++) {
            out->slot[i].still += from[k].still;
            out->slot[i].flip += from[k].flip;
        }
        if (out->slot[i].lag < INT32_MAX)
            out->slot[i].lag = (out->slot[i].lag + by / 2) / by;
    }
}

void fl_evidence_reach(const struct fl_slot *slot, size_t n, size_t *unchanged, size_t *claims)
{
    size_t j = 0, k = 0;
    for (size_t i = 0; i < n; i++) {
        while (j < n && (long)j - slot[j].lag < (long)i)
            j++;
        unchanged[i] = j;
    }
    for (size_t t = 0; t < n; t++) {
        while (k < t && unchanged[k] < t)
            k++;
        claims[t] = k;
    }
}

void fl_evidence_finish(struct fl_evidence *e)
{
    free(e->slot);
    free(e->changed_share);
    *e = (struct fl_evidence){0};
}
