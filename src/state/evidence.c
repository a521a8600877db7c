#include "state/evidence.h"

#include <math.h>
#include <stdlib.h>

#include "base/mem.h"

/* Neighbouring bands see the same detail and the same coding errors, so a whole frame of agreeing
 * bands is worth this many nats, however many bands it is cut into. */
static const float frame_nats = 18;
/* Slower than this, in working px a frame, coding may hold moved rows in place. */
static const float slow = 0.6f, clear = 1.4f;

/* Times and lags of the slots from frame i's blank up to the next frame's. */
static void place_frame(struct fl_evidence *e, const struct fl_scan *scan, size_t i, int bands)
{
    size_t per = (size_t)bands + 1;
    size_t at = (size_t)(scan->number[i] - scan->number[0]) * per;
    size_t next =
        i + 1 < scan->n ? (size_t)(scan->number[i + 1] - scan->number[0]) * per : at + per;
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
    float w = (speed - slow) / (clear - slow);
    return w < 0 ? 0 : w > 1 ? 1 : w;
}

static void gather_frame(struct fl_evidence *e, const struct fl_rows *r,
                         const struct fl_scene_speed *speed, size_t i, struct fl_slot *slot)
{
    /* That rows stood still says something only while the scene moves before and after; that they
     * changed already where motion sets in or ends. */
    float moving = weight_of(speed->across[i]), near = weight_of(speed->beside[i]);
    int changed = 0, still = 0;
    for (int b = 0; b < r->bands; b++) {
        float v = i ? r->verdict[i * (size_t)r->bands + (size_t)b] : 0;
        changed += v < -0.5f;
        still += v > 0.5f;
        slot[1 + b].still = v * (v > 0 ? moving : near) * frame_nats / (float)r->bands;
    }
    bool telling = moving > 0 && 4 * (changed + still) >= r->bands;
    e->changed_share[i] = telling ? (float)changed / (float)(changed + still) : NAN;
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

/* Down the scan a row's shift since the frame before grows by one output step where a flip lies
 * (and falls by one where the flip of a frame ago drops out of sight). The step, against the
 * scene's shift a frame, is output interval / capture period: 0.4 to 2 on footage worth its name.
 */
static void gather_flips(struct fl_evidence *e, const struct fl_rows *r,
                         const struct fl_scene_speed *scene)
{
    const int window = 3;
    const float middle = 0.4f, slope = 5, most = 2, least = -1;
    const float fine = 1, coarse = 2.2f; /* px a frame: below, steps drown in whole pixels */
    float *shift = FL_NEW(float, e->n);
    size_t per = (size_t)e->slots_a_frame;
    for (size_t k = 0; k < e->n; k++) {
        size_t band = k % per;
        bool filled = k < per || e->slot[k].frame != e->slot[k - per].frame;
        shift[k] =
            band && filled ? r->shift[(size_t)e->slot[k].frame * (size_t)r->bands + band - 1] : NAN;
    }
    for (size_t k = 1; k < e->n; k++) {
        float speed = scene->across[e->slot[k].frame], weight = (speed - fine) / (coarse - fine);
        if (weight <= 0 || (k >= per && e->slot[k].frame == e->slot[k - per].frame))
            continue;
        float rise =
            (shift_beside(shift, e->n, k, 1, window) - shift_beside(shift, e->n, k, -1, window)) /
            speed;
        if (isnan(rise))
            continue;
        float v = slope * (rise - middle);
        e->slot[k].flip = fminf(weight, 1) * (v > most ? most : v < least ? least : v);
    }
    free(shift);
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

void fl_evidence_gather(struct fl_evidence *e, const struct fl_rows *r,
                        const struct fl_scene_speed *speed, const struct fl_scan *scan)
{
    size_t per = (size_t)r->bands + 1, n = r->frames;
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
    int still = 0, changed = 0;
    for (int b = 0; b < r->bands; b++) {
        still += r->verdict[i * (size_t)r->bands + (size_t)b] > 0.5f;
        changed += r->verdict[i * (size_t)r->bands + (size_t)b] < 0;
    }
    return speed > clear && still > 4 * changed && 2 * still > r->bands;
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
        at[i].left_out = at[i - 1].left_out + (step > most ? step - most : 0);
        at[i].slot = (size_t)(whole - at[i].left_out);
    }
    return at;
}

void fl_evidence_gather_local(struct fl_evidence *e, const struct fl_rows *r,
                              const struct fl_scene_speed *speed, const double *time_s)
{
    const double slot_s = 0.0005;
    const float flip_nats = 3, none_nats = -5;
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
                                      .flip = none_nats,
                                      .lag = INT32_MAX,
                                      .frame = (int32_t)frame};
    }
    for (size_t i = 0; i < n; i++) {
        bool still = i && frame_stood_still(r, speed->across[i], i);
        e->changed_share[i] = !i ? NAN : still ? 0 : 1;
        e->slot[at[i].slot].flip = still ? none_nats : flip_nats;
    }
    free(at);
}

void fl_evidence_coarsen(struct fl_evidence *out, const struct fl_evidence *e, int by)
{
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

void fl_evidence_finish(struct fl_evidence *e)
{
    free(e->slot);
    free(e->changed_share);
    *e = (struct fl_evidence){0};
}
