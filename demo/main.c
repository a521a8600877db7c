/* stage: films one invented take for the demo and the tests.
 *
 *   stage --list
 *   stage SCENARIO OUT_DIR [--seed N] [--seconds S] [--width W --height H] [--fov DEG]
 *         [--counts-per-inch C] [--degrees-per-count D] [--slowest V] [--fastest V] [--place NAME]
 *
 * The footage shows fast turns of a camera and hard changes of view. Those who are sensitive to
 * flicker or fast motion should not watch it full screen, or not at all; nothing in this project
 * needs it to be watched. */
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "stage.h"

static volatile sig_atomic_t interrupted;

static void on_signal(int number)
{
    (void)number;
    interrupted = 1;
}

static bool should_stop(void *ctx)
{
    (void)ctx;
    return interrupted;
}

static void show_progress(void *ctx, const char *what, double done)
{
    static struct timespec last;
    struct timespec now;
    (void)ctx;
    clock_gettime(CLOCK_MONOTONIC, &now);
    if ((double)(now.tv_sec - last.tv_sec) + 1e-9 * (double)(now.tv_nsec - last.tv_nsec) < 0.2)
        return;
    last = now;
    fprintf(stderr, "\r%s %3.0f %%", what, 100 * done);
    fflush(stderr);
}

static int usage(const char *why)
{
    fprintf(
        stderr,
        "stage: %s\nusage: stage SCENARIO OUT_DIR [--seed N] [--seconds S] [--width W --height H]\n"
        "             [--fov DEG] [--counts-per-inch C] [--degrees-per-count D]\n"
        "             [--slowest V] [--fastest V] [--place NAME] [--hold any]\n"
        "       stage --list\n",
        why);
    return 2;
}

static int list(void)
{
    struct st_scenario s;
    for (size_t i = 0; st_scenario_get(&s, i); i++)
        printf("%-16s %-9s %4d x %4d %3g s  %s\n", s.name, s.family ? s.family : "demo", s.width,
               s.height, s.seconds, s.about);
    return 0;
}

static bool read_place(struct st_scenario *s, const char *value)
{
    for (int i = 0; i < ST_PLACES; i++)
        if (!strcmp(st_scene_name(i), value)) {
            s->place = i;
            return true;
        }
    return false;
}

/* Takes "--name value"; false when the value is none of the places or no number in the range. */
static bool read_option(struct st_scenario *s, bool *any_hold, const char *name, const char *value)
{
    if (!strcmp(name, "--place"))
        return read_place(s, value);
    if (!strcmp(name, "--hold") && !strcmp(value, "any"))
        return *any_hold = true;
    char *end;
    double x = strtod(value, &end);
    if (*end || end == value)
        return false;
    if (!strcmp(name, "--seed") && x >= 0 && x < 1e15)
        s->seed = (uint64_t)x;
    else if (!strcmp(name, "--seconds") && x >= 1 && x <= 3600)
        s->seconds = x;
    else if (!strcmp(name, "--width") && x >= 320 && x <= 3840)
        s->width = (int)x & ~15;
    else if (!strcmp(name, "--height") && x >= 180 && x <= 2160)
        s->height = (int)x & ~1;
    else if (!strcmp(name, "--fov") && x >= 20 && x <= 150)
        s->hfov_deg = x;
    else if (!strcmp(name, "--counts-per-inch") && x >= 50 && x <= 50000)
        s->counts_per_inch = x;
    else if (!strcmp(name, "--degrees-per-count") && x >= 1e-4 && x <= 10)
        s->degrees_per_count = x;
    else if (!strcmp(name, "--slowest") && x >= 1 && x <= 5000)
        s->flick_low = x;
    else if (!strcmp(name, "--fastest") && x >= 1 && x <= 5000)
        s->flick_high = x;
    else
        return false;
    return true;
}

int main(int argc, char **argv)
{
    struct st_scenario s;
    if (argc == 2 && !strcmp(argv[1], "--list"))
        return list();
    if (argc < 3)
        return usage("a scenario and a folder are needed");
    if (!st_scenario_find(&s, argv[1]))
        return usage("no such scenario; --list names them");
    if (argc % 2 == 0)
        return usage("an option lacks its value");
    bool any_hold = false;
    for (int i = 3; i + 1 < argc; i += 2)
        if (!read_option(&s, &any_hold, argv[i], argv[i + 1]))
            return usage("unknown option, or a value out of its range");
    if (any_hold)
        st_scenario_draw_hold(&s);
    if (s.flick_low > s.flick_high)
        return usage("the slowest flick is faster than the fastest");
    signal(SIGINT, on_signal);
    signal(SIGTERM, on_signal);
    bool terminal = isatty(STDERR_FILENO);
    struct fl_progress progress = {terminal ? show_progress : NULL, should_stop, NULL};
    struct fl_error err;
    enum flinch_code code = st_stage(&s, argv[2], &progress, &err);
    if (terminal)
        fputs("\r\033[K", stderr);
    if (code)
        fprintf(stderr, "stage: %s\n", err.text);
    return code ? 1 : 0;
}
