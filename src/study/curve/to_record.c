/* Which quantities still stand, and which setting would part them, in words. */
#include "study/curve/to_record.h"

#include <stddef.h>
#include "study/curve/quantity_rank.h"
#include "study/curve/setting.h"

#define TAKES "four takes of about 30 flicks"
/* a field of view that differs by this in focal length parts image step from camera speed */
#define FOCAL_BY 1.5
#define RADIANS (FL_PI / 180)

/* The text grows by sentences. */
struct words {
    const struct fl_watch_settings *s;
    const struct fl_quantity_rank *rank;
    struct fl_arena *arena;
    const char *text;
};

#define SAY(w, ...)                                                                      \
    ((w)->text = fl_arena_printf((w)->arena, "%s%s%s", (w)->text, *(w)->text ? " " : "", \
                                 fl_arena_printf((w)->arena, __VA_ARGS__)))

/* Each is parted from the next by one setting that leaves those before it alone. */
static const enum fl_quantity CHAIN[] = {FL_HAND_SPEED,  FL_COUNT_RATE,   FL_STICK_DEFLECTION,
                                         FL_STICK_RATE,  FL_CAMERA_SPEED, FL_IMAGE_STEP,
                                         FL_IMAGE_CHANGE};
#define LINKS (sizeof CHAIN / sizeof *CHAIN)

static const char *label(enum fl_quantity q)
{
    return fl_quantity_info(q)->label;
}

static bool measured(const struct words *w, enum fl_quantity q)
{
    return w->rank[q].grade != FL_WATCH_NOT_MEASURED;
}

/* The value that all settings share; NaN when they differ or it is unknown. */
static double shared(const struct fl_watch_settings *s, size_t offset)
{
    double first = FL_UNKNOWN;
    for (size_t i = 0; i < s->n; i++) {
        double x = *(const double *)((const char *)&s->v[i] + offset);
        if (i && !fl_same_number(x, first))
            return FL_UNKNOWN;
        first = x;
    }
    return first;
}

#define SHARED(s, field) shared(s, offsetof(struct fl_watch_setting, field))

static const char *twice_or_half(const struct words *w, double now, const char *unit)
{
    if (!fl_known(now))
        return "one twice the other or more";
    return fl_arena_printf(w->arena, "%.4g and %.4g%s, or %.4g", now, 2 * now, unit, now / 2);
}

static void say_resolution(struct words *w)
{
    SAY(w,
        "Set the mouse to two counts per inch (%s), leave the in-game sensitivity as it is, and "
        "record " TAKES " at each.",
        twice_or_half(w, SHARED(w->s, counts_per_inch), ""));
}

static void say_sensitivity(struct words *w)
{
    SAY(w,
        "At one mouse resolution use two in-game sensitivities (%s) and record " TAKES " at each.",
        twice_or_half(w, SHARED(w->s, degrees_per_count), " degrees per count"));
}

static double other_view(double fov_deg, double by)
{
    return 2 * atan(tan(fov_deg / 2 * RADIANS) * by) / RADIANS;
}

static void say_view(struct words *w)
{
    double now = SHARED(w->s, horizontal_fov_deg);
    const char *views =
        fl_known(now) ? fl_arena_printf(w->arena, "horizontally %.0f and %.0f or %.0f degrees", now,
                                        other_view(now, 1 / FOCAL_BY), other_view(now, FOCAL_BY))
                      : "say 65 and 90 degrees horizontally";
    SAY(w,
        "Use two fields of view (%s) or two frame caps of which one is half the other, all else "
        "the same, record " TAKES " at each, and note them as horizontal_fov_deg or cap_hz.",
        views);
}

static void say_scene(struct words *w)
{
    SAY(w, "Record " TAKES " in each of two places of the game, one rich in contrast and detail, "
           "one plain or dim, with the "
           "same settings, and name the places as condition.");
}

static void say_stick(struct words *w)
{
    SAY(w, "Move the stick both ways in each take: flicked at once to a part of its range, and "
           "pushed slowly to the end.");
}

static void say_how_to_part(struct words *w, enum fl_quantity a, enum fl_quantity b)
{
    SAY(w, "%c%s and %s went together.", label(a)[0] - 'a' + 'A', label(a) + 1, label(b));
    if (a == FL_HAND_SPEED && b == FL_COUNT_RATE)
        say_resolution(w);
    else if (a == FL_STICK_DEFLECTION && b == FL_STICK_RATE)
        say_stick(w);
    else if (a <= FL_HAND_SPEED || a >= FL_STICK_DEFLECTION)
        say_sensitivity(w);
    else if (a == FL_CAMERA_SPEED)
        say_view(w);
    else
        say_scene(w);
}

static bool went_apart(const struct fl_watch_settings *s, enum fl_quantity a, enum fl_quantity b)
{
    for (size_t i = 0; i < s->n_pairs; i++)
        if (fl_watch_moves(&s->pair[i], a, b) >= FL_APART)
            return true;
    return false;
}

/* Which quantities lack, and what would give them. */
static void say_unmeasured(struct words *w)
{
    bool mouse = measured(w, FL_COUNT_RATE), stick = measured(w, FL_STICK_DEFLECTION);
    if (!mouse && !stick)
        SAY(w, "Hand speed and count rate are not known: record an input trace with each take.");
    if (mouse && !measured(w, FL_HAND_SPEED))
        SAY(w, "Hand speed is not known: give counts_per_inch for each take.");
    if (!measured(w, FL_CAMERA_SPEED))
        SAY(w, "Camera speed is not known: give degrees_per_count or horizontal_fov_deg for each "
               "take.");
    if (!measured(w, FL_IMAGE_STEP))
        SAY(w, "Image step is not known: give horizontal_fov_deg for each take.");
    if (!measured(w, FL_IMAGE_CHANGE))
        SAY(w, "Image change is not known for enough flicks, or is not comparable: record all "
               "takes with one transfer.");
}

static size_t standing(const struct words *w, enum fl_quantity *out)
{
    size_t n = 0;
    for (size_t i = 0; i < LINKS; i++)
        if (w->rank[CHAIN[i]].stands)
            out[n++] = CHAIN[i];
    return n;
}

/* One that is left alone has yet to be parted from those that are only unlikely. */
static size_t with_neighbours(const struct words *w, enum fl_quantity alone, enum fl_quantity *out)
{
    enum fl_quantity all[LINKS], left = alone;
    size_t n = 0, at = 0, first, kept = 0;
    for (size_t i = 0; i < LINKS; i++)
        if (measured(w, CHAIN[i])) {
            at = CHAIN[i] == left ? n : at;
            all[n++] = CHAIN[i];
        }
    first = at ? at - 1 : 0;
    for (size_t i = first; i < n && i <= at + 1; i++)
        out[kept++] = all[i];
    return kept;
}

static bool none_agrees(const struct words *w, const enum fl_quantity *q, size_t n)
{
    for (size_t i = 0; i < n; i++)
        if (w->rank[q[i]].agrees)
            return false;
    return true;
}

static void say_standing(struct words *w, const enum fl_quantity *q, size_t n)
{
    const char *list = "";
    for (size_t i = 0; i < n; i++)
        list = fl_arena_printf(w->arena, "%s%s%s", list,
                               !i          ? ""
                               : i + 1 < n ? ", "
                                           : " and ",
                               label(q[i]));
    if (n > 1)
        SAY(w, "Cannot tell between %s.", list);
    else if (n == 1)
        SAY(w, "Only %s still fits, but not yet surely enough.", list);
    if (none_agrees(w, q, n))
        SAY(w, "The trip speeds of every measured quantity differ between the settings: either "
               "none of them is watched, or the "
               "conditions differ in more than what is watched. Name the conditions as games of "
               "their own, and record each at "
               "several settings.");
}

static size_t thin_settings(const struct fl_watch_settings *s)
{
    size_t n = 0;
    for (size_t i = 0; i < s->n; i++)
        n += s->v[i].n < FL_AGREEMENT_TAKES;
    return n;
}

/* The settings are there, but too little was recorded at them. */
static void say_more(struct words *w)
{
    size_t thin = thin_settings(w->s);
    if (thin)
        SAY(w,
            "The settings differ enough, but at %zu of %zu there is only one take: record " TAKES
            " at each.",
            thin, w->s->n);
    else
        SAY(w, "The settings differ enough, but what was recorded is too little to tell: record as "
               "many takes again at each, with "
               "most peaks near the trip speed (flinch plan lists them).");
}

const char *fl_to_record(const struct fl_watch_settings *s, const struct fl_quantity_rank *rank,
                         struct fl_arena *arena)
{
    struct words w = {s, rank, arena, ""};
    enum fl_quantity q[LINKS];
    size_t n = standing(&w, q), parted = 0;
    if (!s->n)
        return NULL;
    bool any = false;
    for (int i = 0; i < FL_QUANTITIES; i++)
        any = any || fl_known(rank[i].auc);
    if (!any)
        return "No flicks that trip and flicks that hold were both seen: record flicks from slow "
               "to fast, on both sides of the trip speed.";
    say_standing(&w, q, n);
    say_unmeasured(&w);
    if (n == 1)
        n = with_neighbours(&w, q[0], q);
    for (size_t i = 0; i + 1 < n; i++)
        if (!went_apart(s, q[i], q[i + 1])) {
            say_how_to_part(&w, q[i], q[i + 1]);
            parted++;
        }
    if (!parted && n)
        say_more(&w);
    return w.text;
}
