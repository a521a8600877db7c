/* A plan as steps at the desk: takes in an order that spreads settings over the sitting, with
 * rests. */
#include "study/plan/recording_schedule.h"

#include <string.h>

#include "maths/random.h"

/* Limits for hands (docs/recording.md: common practice, no source). */
#define STRETCH_MIN 10.0
#define REST_MIN 5.0
#define SITTING_MIN 60.0
#define FLICK_S 4.5   /* a flick and its rest: 40 in three minutes */
#define SETUP_MIN 1.0 /* to change a setting and start the recorders */
#define CONTROL_FLICKS 20
/* of a setting, before a first session: what they show says more than this plan */
#define FIRST_TAKES 6

const char *fl_step_name(enum fl_step_kind k)
{
    static const char *const names[] = {"caution", "prepare", "control", "take", "rest", "after"};
    return names[k];
}

size_t fl_schedule_order(const int *takes, size_t n, size_t *order)
{
    int rounds = 0;
    size_t out = 0;
    for (size_t i = 0; i < n; i++)
        rounds = takes[i] > rounds ? takes[i] : rounds;
    for (int r = 0; r < rounds; r++)
        for (size_t k = 0; k < n; k++) {
            size_t i = r % 2 ? n - 1 - k : k;
            int first = (rounds - takes[i]) / 2;
            if (r >= first && r < first + takes[i])
                order[out++] = i;
        }
    return out;
}

/* ---- one sitting ---- */

static double flicking_min(int flicks)
{
    return flicks * FLICK_S / 60;
}

static double sitting_min(const struct fl_plan *plan, int most)
{
    double sum = 0;
    for (size_t i = 0; i < plan->n; i++) {
        const struct fl_plan_setting *t = &plan->setting[i];
        sum += (t->takes < most ? t->takes : most) * flicking_min(t->flicks_a_take);
    }
    return sum;
}

/* The most takes of a setting that fit: an even number, at least two. */
static int most_takes(const struct fl_plan *plan)
{
    int most = plan->from_nothing ? FIRST_TAKES : FL_FORECAST_TAKES;
    while (most > 2 && sitting_min(plan, most) > SITTING_MIN)
        most -= 2;
    return most;
}

/* ---- steps ---- */

struct list {
    struct fl_schedule *d;
    struct fl_arena *arena;
    struct fl_random rng;
    double since_rest, flicking; /* min */
};

static struct fl_step *add(struct list *l, enum fl_step_kind kind, double minutes, const char *text)
{
    struct fl_step *s = &l->d->step[l->d->n++];
    *s = (struct fl_step){.kind = kind, .minutes = minutes, .text = text};
    return s;
}

static void rest_before(struct list *l, int flicks)
{
    double minutes = flicking_min(flicks);
    if (l->since_rest > 0 && l->since_rest + minutes > STRETCH_MIN) {
        add(l, FL_STEP_REST, REST_MIN, "Rest: five minutes of something else, hand off the mouse.");
        l->since_rest = 0;
    }
    l->since_rest += minutes;
    l->flicking += minutes;
}

/* Each block of flicks has each band by its share, in an order of its own. */
static unsigned char *mixed_order(struct list *l, const struct fl_plan_setting *t)
{
    unsigned char *order = FL_ARENA(l->arena, unsigned char, (size_t)t->flicks_a_take);
    for (int i = 0; i < t->flicks_a_take; i++) {
        int in_block = i % FL_PLAN_BLOCK, start = i - in_block, band = 0;
        for (int left = in_block - t->band[0].share; left >= 0; left -= t->band[band].share)
            band++;
        size_t k = fl_random_below(&l->rng, (size_t)in_block + 1);
        order[i] = order[start + (int)k];
        order[start + (int)k] = (unsigned char)(band + 1);
    }
    return order;
}

static void add_take(struct list *l, const struct fl_plan_setting *t)
{
    rest_before(l, t->flicks_a_take);
    struct fl_step *s = add(l, FL_STEP_TAKE, flicking_min(t->flicks_a_take) + SETUP_MIN, NULL);
    s->setting = t;
    s->flicks = t->flicks_a_take;
    s->order = mixed_order(l, t);
    s->text = fl_arena_printf(l->arena, "Slate, then %d flicks, left and right in turn, in bands",
                              s->flicks);
    l->d->takes++;
}

static void add_control(struct list *l, const struct fl_plan_setting *t, bool first)
{
    rest_before(l, CONTROL_FLICKS);
    struct fl_step *s = add(l, FL_STEP_CONTROL, flicking_min(CONTROL_FLICKS) + SETUP_MIN, NULL);
    s->setting = t;
    s->flicks = CONTROL_FLICKS;
    s->text = fl_arena_printf(
        l->arena, "Synthesis disabled, same scene: slate, then %d flicks in all bands%s.",
        s->flicks, first ? "" : ", as in the first control");
}

static const char *game_of(const struct fl_plan_setting *t)
{
    return t->game ? t->game : "";
}

/* The settings of one game, from the i-th of the plan, that come this time. */
static void add_game(struct list *l, const struct fl_plan *plan, size_t i, int most)
{
    int *takes = FL_ARENA(l->arena, int, plan->n);
    size_t *order = FL_ARENA(l->arena, size_t, plan->n * (size_t)most), all = 0;
    for (size_t k = i; k < plan->n; k++) {
        const struct fl_plan_setting *t = &plan->setting[k];
        if (!strcmp(game_of(t), game_of(&plan->setting[i])))
            takes[k] = t->takes < most ? t->takes : most;
        all += (size_t)takes[k];
    }
    if (!all)
        return;
    size_t n = fl_schedule_order(takes, plan->n, order);
    add_control(l, &plan->setting[i], true);
    for (size_t k = 0; k < n; k++)
        add_take(l, &plan->setting[order[k]]);
    add_control(l, &plan->setting[i], false);
}

static void add_beginning(struct list *l)
{
    add(l, FL_STEP_CAUTION, 0,
        "Fast turns flicker: nobody who may be photosensitive does or watches this; keep the room "
        "lit, look away while you "
        "flick, follow your local rules, and ask a doctor if unsure.");
    add(l, FL_STEP_CAUTION, 0,
        "Repeated flicks strain hand and wrist: at most ten minutes at a stretch, an hour a day. "
        "Stop at the first pain, "
        "numbness or tingling; if it stays, see a medical professional. Rules at your place of "
        "work come first.");
    add(l, FL_STEP_PREPARE, 0,
        "Same driver, game version, display and graphics settings throughout; note them. Blur, "
        "grain, sway and mouse "
        "acceleration off. One bright scene, rich in detail. Somebody else sets each setting, if "
        "that can be.");
    add(l, FL_STEP_PREPARE, 10,
        "Play ten minutes, so that temperatures and caches settle; practise the speeds.");
    add(l, FL_STEP_PREPARE, 2,
        "Trial: start the trace, then the recorder; twenty seconds of flicks; flinch check FILE "
        "--trace TRACE. Mend what it "
        "says before going on.");
    add(l, FL_STEP_PREPARE, 0,
        "Each take: start the trace, then the recorder. Slate: rest two seconds, three sharp "
        "flicks left and right, one click "
        "or clap that is seen and heard, rest two seconds. Flick from rest to rest, half a second "
        "or more between.");
}

static void add_end(struct list *l, const struct fl_plan *plan)
{
    l->d->takes_left = -l->d->takes;
    for (size_t i = 0; i < plan->n; i++)
        l->d->takes_left += plan->setting[i].takes;
    const char *rest = l->d->takes_left
                           ? fl_arena_printf(l->arena,
                                             " About %d more takes are reckoned with; how many and "
                                             "how fast will change with what these show.",
                                             l->d->takes_left)
                           : "";
    add(l, FL_STEP_AFTER, 0,
        fl_arena_printf(l->arena,
                        "Add the takes to the session file; flinch run, then flinch plan again.%s",
                        rest));
}

void fl_schedule_make(struct fl_schedule *d, const struct fl_plan *plan, struct fl_arena *arena)
{
    size_t takes = 0;
    for (size_t i = 0; i < plan->n; i++)
        takes += (size_t)plan->setting[i].takes;
    *d =
        (struct fl_schedule){.step = FL_ARENA(arena, struct fl_step, 2 * takes + 4 * plan->n + 16)};
    struct list l = {.d = d, .arena = arena};
    fl_random_seed(&l.rng, 1);
    int most = most_takes(plan);
    if (takes)
        add_beginning(&l);
    for (size_t i = 0; i < plan->n; i++) {
        bool seen = false;
        for (size_t k = 0; k < i; k++)
            seen = seen || !strcmp(game_of(&plan->setting[k]), game_of(&plan->setting[i]));
        if (!seen && (!d->takes || l.flicking < SITTING_MIN))
            add_game(&l, plan, i, most);
    }
    if (takes)
        add_end(&l, plan);
}
