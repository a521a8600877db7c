/* Sessions in which one quantity is watched, and how often the study names it, or another. */
#include "watched.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/parallel.h"
#include "maths/random.h"
#include "simulate.h"
#include "study/curve/quantity_rank.h"
#include "study/curve/watched.h"
#include "target.h"

#define TAKES 4
#define FLICKS 40
#define SPAN 2.5 /* peaks lie within this factor of the trip speed, as a plan asks for */
#define SETTINGS 5
#define WRONG 0.02 /* of the sessions at most */
#define NAMED 0.4  /* of the sessions that part all quantities at least, over all such scenarios */
#define UNLIKELY 0.02 /* of the sessions at most call what is watched unlikely */
#define SOFT 0.05     /* octaves: each flick meets a threshold that strays by so much */
#define ERRATIC_SD 0.35
#define TAKE_SD 0.03  /* octaves: and each take */
#define TEXTURE 0.25  /* octaves: what a flick passes over has more or less to change */
#define MEASURED 0.02 /* octaves: error of a measured peak */
#define CHANGE_MEASURED 0.08

/* How the session is recorded. */
enum plan { APART, THREE, ERRATIC, RESOLUTION, ONE, FEW };

struct watched_scenario {
    const char *name, *text;
    enum fl_quantity truth;
    enum plan plan;
};

#define FIVE "base, resolution, sensitivity, field of view, scene"
#define THREE_OF_SIX "6 takes each: base; resolution and field of view (60°); sensitivity and scene"
#define FIVE_ERRATIC FIVE "; takes of one stray by 0.35 octaves"
static const struct watched_scenario scenarios[] = {
    {"watched_hand", FIVE, FL_HAND_SPEED, APART},
    {"watched_counts", FIVE, FL_COUNT_RATE, APART},
    {"watched_camera", FIVE, FL_CAMERA_SPEED, APART},
    {"watched_step", FIVE, FL_IMAGE_STEP, APART},
    {"watched_change", FIVE, FL_IMAGE_CHANGE, APART},
    {"three_counts", THREE_OF_SIX, FL_COUNT_RATE, THREE},
    {"three_camera", THREE_OF_SIX, FL_CAMERA_SPEED, THREE},
    {"three_step", THREE_OF_SIX, FL_IMAGE_STEP, THREE},
    {"three_change", THREE_OF_SIX, FL_IMAGE_CHANGE, THREE},
    {"erratic_counts", FIVE_ERRATIC, FL_COUNT_RATE, ERRATIC},
    {"erratic_camera", FIVE_ERRATIC, FL_CAMERA_SPEED, ERRATIC},
    {"erratic_step", FIVE_ERRATIC, FL_IMAGE_STEP, ERRATIC},
    {"erratic_change", FIVE_ERRATIC, FL_IMAGE_CHANGE, ERRATIC},
    {"few_counts", FIVE ", 2 takes of 12 each", FL_COUNT_RATE, FEW},
    {"few_camera", FIVE ", 2 takes of 12 each", FL_CAMERA_SPEED, FEW},
    {"few_step", FIVE ", 2 takes of 12 each", FL_IMAGE_STEP, FEW},
    {"few_change", FIVE ", 2 takes of 12 each", FL_IMAGE_CHANGE, FEW},
    {"resolution_counts", "two resolutions only", FL_COUNT_RATE, RESOLUTION},
    {"resolution_camera", "two resolutions only", FL_CAMERA_SPEED, RESOLUTION},
    {"resolution_step", "two resolutions only", FL_IMAGE_STEP, RESOLUTION},
    {"resolution_change", "two resolutions only", FL_IMAGE_CHANGE, RESOLUTION},
    {"one_counts", "one setting", FL_COUNT_RATE, ONE},
    {"one_camera", "one setting", FL_CAMERA_SPEED, ONE},
    {"one_step", "one setting", FL_IMAGE_STEP, ONE},
    {"one_change", "one setting", FL_IMAGE_CHANGE, ONE},
};

struct desk {
    double cpi, degrees, fov, scene;
};

static struct desk desk_of(enum plan plan, int setting)
{
    struct desk d = {800, 0.044, 90, 1};
    if (plan == THREE) {
        static const struct desk three[] = {
            {800, 0.044, 90, 1}, {1600, 0.044, 60, 1}, {800, 0.088, 90, 0.45}};
        return three[setting];
    }
    if (setting == 1)
        d.cpi = 1600;
    else if (setting == 2)
        d.degrees = 0.088;
    else if (setting == 3)
        d.fov = 67;
    else if (setting == 4)
        d.scene = 0.45;
    return d;
}

/* The change of a picture levels off once it has moved by the size of what is in it. */
static double in_quantity(enum fl_quantity q, double deg_s, const struct desk *d, double texture)
{
    double step = 640 / tan(d->fov / 2 * FL_PI / 180) * tan(fmin(deg_s / 70, 80) * FL_PI / 180);
    switch (q) {
    case FL_COUNT_RATE: return deg_s / d->degrees;
    case FL_HAND_SPEED: return deg_s / d->degrees * FL_CM_PER_INCH / d->cpi;
    case FL_CAMERA_SPEED: return deg_s;
    case FL_IMAGE_STEP: return step;
    case FL_IMAGE_CHANGE: return 0.12 * d->scene * texture * (1 - exp(-step / 120));
    default: return FL_UNKNOWN;
    }
}

/* Camera speed at which the watched quantity crosses theta; the ends of the range where it does
 * not. */
static double trip_speed(enum fl_quantity q, double theta, const struct desk *d)
{
    double low = SLOWEST, high = FASTEST;
    for (int i = 0; i < 40; i++) {
        double middle = sqrt(low * high);
        *(in_quantity(q, middle, d, 1) < theta ? &low : &high) = middle;
    }
    return low;
}

static void make_flick(struct fl_flick *f, const struct watched_scenario *s, const struct desk *d,
                       double theta, struct fl_random *rng)
{
    double v = trip_speed(s->truth, theta, d) * pow(SPAN, 2 * fl_random_uniform(rng) - 1),
           texture = exp2(TEXTURE * fl_random_normal(rng));
    double error = exp2(MEASURED * fl_random_normal(rng)),
           soft = exp2(SOFT * fl_random_normal(rng));
    f->at_risk = FL_YES;
    f->tripped = in_quantity(s->truth, v, d, texture) > theta * soft ? FL_YES : FL_NO;
    for (int q = 0; q < FL_QUANTITIES; q++)
        f->peak[q] = in_quantity(q, v, d, texture) * error;
    f->peak[FL_IMAGE_STEP] *= exp2(MEASURED * fl_random_normal(rng));
    f->peak[FL_IMAGE_CHANGE] *= exp2(CHANGE_MEASURED * fl_random_normal(rng));
}

static struct fl_take *make_take(const struct watched_scenario *s, int setting, int flicks,
                                 double theta, struct fl_random *rng)
{
    struct desk d = desk_of(s->plan, setting);
    struct fl_take *t = fl_take_new();
    t->spec.id = t->spec.game = "invented";
    t->spec.condition = d.scene < 1 ? "plain" : "default";
    t->spec.counts_per_inch = d.cpi;
    t->spec.degrees_per_count = d.degrees;
    t->spec.horizontal_fov_deg = d.fov;
    t->kernel_ms = 14;
    t->visible_floor_deg_s = 15;
    t->n_flicks = (size_t)flicks;
    t->flicks = FL_ARENA(t->arena, struct fl_flick, t->n_flicks);
    bool erratic = s->plan == ERRATIC && setting == 0;
    theta *= exp2((erratic ? ERRATIC_SD : TAKE_SD) * fl_random_normal(rng));
    for (int i = 0; i < flicks; i++) {
        t->flicks[i].start_s = 1.5 * i;
        t->flicks[i].end_s = t->flicks[i].start_s + 0.3;
        make_flick(&t->flicks[i], s, &d, theta, rng);
    }
    return t;
}

static struct fl_session *make_session(const struct watched_scenario *s, uint64_t k)
{
    struct fl_random rng;
    fl_random_seed(&rng, 7000 + k);
    struct desk base = desk_of(APART, 0);
    double theta = in_quantity(s->truth, 150 * pow(400.0 / 150, fl_random_uniform(&rng)), &base, 1);
    int settings = s->plan == ONE ? 1 : s->plan == RESOLUTION ? 2 : s->plan == THREE ? 3 : SETTINGS;
    int takes = s->plan == FEW     ? 2
                : s->plan == THREE ? 6
                                   : TAKES,
        flicks = s->plan == FEW ? 12 : FLICKS;
    struct fl_session *session = fl_session_new(s->name);
    for (int i = 0; i < settings * takes; i++)
        fl_session_add(session, make_take(s, i / takes, flicks, theta, &rng));
    return session;
}

struct tally {
    int sessions, right, wrong, told, truth_stands, advised;
};

static void add(struct tally *t, const struct watched_scenario *s, struct fl_session *session)
{
    int named = -1;
    fl_study_quantities(session);
    const struct fl_quantity_rank *r = session->quantities;
    for (size_t i = 0; i < session->n_quantities; i++)
        named = strcmp(r[i].verdict, "named") ? named : (int)r[i].quantity;
    t->sessions++;
    t->told += named >= 0;
    t->right += named == (int)s->truth;
    t->wrong += named >= 0 && named != (int)s->truth;
    t->truth_stands += r[s->truth].stands;
    t->advised += named < 0 && r[s->truth].to_record && *r[s->truth].to_record;
}

struct run {
    const struct watched_scenario *s;
    struct tally *found; /* of each session */
};

static void run_session(void *ctx, size_t k)
{
    const struct run *r = ctx;
    struct fl_session *session = make_session(r->s, k);
    add(&r->found[k], r->s, session);
    fl_session_free(&session);
}

static void sum(struct tally *all, const struct tally *t)
{
    all->sessions += t->sessions;
    all->right += t->right;
    all->wrong += t->wrong;
    all->told += t->told;
    all->truth_stands += t->truth_stands;
    all->advised += t->advised;
}

static int missed(const struct watched_scenario *s, const struct tally *t)
{
    bool often_wrong = too_many(t->wrong, t->sessions, WRONG);
    bool disowned = too_many(t->sessions - t->truth_stands, t->sessions, UNLIKELY);
    bool silent = t->told + t->advised < t->sessions;
    if (often_wrong)
        fprintf(stderr, "%s: the wrong quantity is named too often\n", s->name);
    if (silent)
        fprintf(stderr, "%s: what to record is not said\n", s->name);
    if (disowned)
        fprintf(stderr, "%s: what is watched is called unlikely too often\n", s->name);
    return often_wrong || disowned || silent;
}

int watched(int sessions, const char *only, int jobs)
{
    int failures = 0, apart = 0, right = 0;
    struct tally all = {0};
    for (size_t i = 0; i < sizeof scenarios / sizeof *scenarios; i++) {
        const struct watched_scenario *s = &scenarios[i];
        struct tally t = {0};
        if (only && strcmp(only, s->name) && strcmp(only, "watched"))
            continue;
        struct run r = {s, FL_NEW(struct tally, (size_t)sessions + 1)};
        fl_parallel((size_t)sessions, jobs, run_session, &r);
        for (int k = 0; k < sessions; k++)
            sum(&t, &r.found[k]);
        free(r.found);
        printf("watched\t%s\t%s\t%s\t%d\t%d\t%d\t%d\t%d\n", s->name,
               fl_quantity_info(s->truth)->label, s->text, t.sessions, t.right, t.wrong,
               t.sessions - t.told, t.truth_stands);
        fflush(stdout);
        failures += missed(s, &t);
        sum(&all, &t);
        bool parted = s->plan == APART || s->plan == THREE;
        apart += parted ? t.sessions : 0;
        right += parted ? t.right : 0;
    }
    failures += all.sessions ? missed(&(struct watched_scenario){.name = "all of them"}, &all) : 0;
    bool seldom = too_few(right, apart, NAMED);
    if (seldom)
        fprintf(stderr, "watched: what is watched is named too seldom\n");
    return failures + seldom;
}
