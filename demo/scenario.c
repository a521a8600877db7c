#include "scenario.h"

#include <string.h>

/* A field left at 0 takes the value in fill(). Base rates, thresholds and delays are invented. */
static const struct st_scenario table[] = {
/* The demo session: three games, two mouse resolutions each at one degrees-per-centimetre. */
#define HARBOUR                                                                                    \
    .game = "Copper Harbour", .place = ST_HARBOUR, .base_hz = 70, .theta_hi = 50, .theta_lo = 32,  \
    .d_off_s = 0.12, .flick_low = 15, .flick_high = 350, .strafes = true
    {.name = "harbour-400-a",
     .about = "trips early; 400 counts per inch",
     HARBOUR,
     .seed = 101,
     .counts_per_inch = 400,
     .degrees_per_count = 0.088,
     .clock_offset_s = 4.3127,
     .drift_ppm = 38},
    {.name = "harbour-400-b",
     .about = "the same again",
     HARBOUR,
     .seed = 102,
     .counts_per_inch = 400,
     .degrees_per_count = 0.088,
     .clock_offset_s = -0.6184,
     .drift_ppm = -22},
    {.name = "harbour-1600-a",
     .about = "trips early; 1600 counts per inch",
     HARBOUR,
     .seed = 103,
     .counts_per_inch = 1600,
     .degrees_per_count = 0.022,
     .clock_offset_s = 2.0471,
     .drift_ppm = 61},
    {.name = "harbour-1600-b",
     .about = "the same again",
     HARBOUR,
     .seed = 104,
     .counts_per_inch = 1600,
     .degrees_per_count = 0.022,
     .clock_offset_s = 7.1503,
     .drift_ppm = -47,
     .b_frames = true,
     .container = "mp4"},
    {.name = "harbour-control",
     .about = "synthesis disabled: the rate without it",
     HARBOUR,
     .seed = 105,
     .counts_per_inch = 1600,
     .degrees_per_count = 0.022,
     .synthesis = ST_NEVER_ON,
     .clock_offset_s = 3.4029,
     .drift_ppm = 19},
#define FOUNDRY                                                                                    \
    .game = "Night Foundry", .place = ST_FOUNDRY, .base_hz = 67, .theta_hi = 140, .theta_lo = 95,  \
    .d_on_s = 0.012, .d_off_s = 0.18, .flick_low = 35, .flick_high = 800, .delay_on_ms = 38,       \
    .delay_off_ms = 27
    {.name = "foundry-800",
     .about = "trips in the middle; dark; 800 counts per inch",
     FOUNDRY,
     .seed = 201,
     .counts_per_inch = 800,
     .degrees_per_count = 0.05,
     .clock_offset_s = 1.2266,
     .drift_ppm = 54},
    {.name = "foundry-3200",
     .about = "the same at 3200 counts per inch",
     FOUNDRY,
     .seed = 202,
     .counts_per_inch = 3200,
     .degrees_per_count = 0.0125,
     .clock_offset_s = -1.0375,
     .drift_ppm = -31,
     .container = "mp4"},
#define ORCHARD                                                                                    \
    .game = "Paper Orchard", .place = ST_ORCHARD, .base_hz = 72, .theta_hi = 300, .theta_lo = 210, \
    .d_on_s = 0.012, .d_off_s = 0.22, .flick_low = 70, .flick_high = 800, .delay_on_ms = 36,       \
    .delay_off_ms = 28, .strafes = true
    {.name = "orchard-400",
     .about = "trips late; 400 counts per inch",
     ORCHARD,
     .seed = 301,
     .counts_per_inch = 400,
     .degrees_per_count = 0.1,
     .clock_offset_s = 5.0642,
     .drift_ppm = -66},
    {.name = "orchard-1600",
     .about = "the same at 1600 counts per inch",
     ORCHARD,
     .seed = 302,
     .counts_per_inch = 1600,
     .degrees_per_count = 0.025,
     .clock_offset_s = 2.7318,
     .drift_ppm = 27},

/* Small ones for tests: 960 × 540, 16 s. */
#define SMALL .game = "Test Yard", .width = 960, .height = 540
    {.name = "torn-140", .about = "140/s on a 120/s card, trips at 60 deg/s", SMALL, .seed = 11},
    {.name = "torn-110",
     .about = "110/s on a 120/s card: output below the capture rate",
     SMALL,
     .seed = 12,
     .base_hz = 55,
     .place = ST_ORCHARD},
    {.name = "sync-120",
     .about = "flips wait for the blank of the capture clock",
     SMALL,
     .seed = 13,
     .base_hz = 60,
     .capture = ST_SYNC},
    {.name = "never-on",
     .about = "synthesis disabled",
     SMALL,
     .seed = 14,
     .synthesis = ST_NEVER_ON},
    {.name = "always-on",
     .about = "never lets go",
     SMALL,
     .seed = 15,
     .synthesis = ST_ALWAYS_ON,
     .place = ST_ORCHARD},
    {.name = "heavy",
     .about = "the base rate halves for a second or two, synthesis on",
     SMALL,
     .seed = 16,
     .synthesis = ST_ALWAYS_ON,
     .heavy = true},
    {.name = "uneven",
     .about = "a rendered frame has only 30 % of its pair's time",
     SMALL,
     .seed = 17,
     .pair_fraction = 0.3},
    {.name = "local-missing",
     .about = "local recording, 8 % of the synthesised frames missing",
     SMALL,
     .seed = 18,
     .capture = ST_LOCAL,
     .missing_share = 0.08},
    {.name = "trip-at-edges",
     .about = "off at the first and at the last frame",
     SMALL,
     .seed = 19,
     .edge_flicks = true,
     .flick_low = 120},
    {.name = "still",
     .about = "nothing moves but what moves by itself",
     SMALL,
     .seed = 20,
     .seconds = 8,
     .no_hand = true,
     .still_s = -1},
    {.name = "dark",
     .about = "little but darkness to see",
     SMALL,
     .seed = 21,
     .place = ST_CELLAR,
     .preset = "veryfast",
     .b_frames = true},
    {.name = "image-key",
     .about = "the cut-off watches the shift of the picture",
     SMALL,
     .seed = 22,
     .key = ST_KEY_IMAGE,
     .theta_hi = 9,
     .theta_lo = 6},
    {.name = "count-key",
     .about = "the cut-off watches mouse counts",
     SMALL,
     .seed = 23,
     .key = ST_KEY_COUNTS,
     .theta_hi = 1800,
     .theta_lo = 1200},
    {.name = "hevc",
     .about = "encoded as HEVC into MP4",
     SMALL,
     .seed = 24,
     .encoder = "libx265",
     .preset = "ultrafast",
     .container = "mp4",
     .seconds = 8},
};

static void or_else(double *x, double otherwise)
{
    if (*x == 0)
        *x = otherwise;
}

static void or_else_text(const char **x, const char *otherwise)
{
    if (!*x)
        *x = otherwise;
}

static void fill(struct st_scenario *s)
{
    s->width = s->width ? s->width : 1280;
    s->height = s->height ? s->height : 720;
    s->crf = s->crf ? s->crf : 21;
    bool small = s->height < 720;
    or_else(&s->seconds, small ? 16 : 29);
    or_else(&s->fps, 120);
    or_else(&s->hfov_deg, 90);
    or_else(&s->counts_per_inch, 800);
    or_else(&s->degrees_per_count, 0.044);
    or_else(&s->flick_low, 15);
    or_else(&s->flick_high, 600);
    or_else(&s->still_s, small ? 2 : 3);
    or_else(&s->base_hz, 70);
    or_else(&s->off_gain, s->capture == ST_SYNC ? 1 : 1.03);
    or_else(&s->theta_hi, 60);
    or_else(&s->theta_lo, 40);
    or_else(&s->d_off_s, 0.1);
    or_else(&s->pair_fraction, 0.5);
    or_else(&s->delay_on_ms, 34);
    or_else(&s->delay_off_ms, 27);
    if (s->synthesis == ST_NEVER_ON)
        s->delay_on_ms = s->delay_off_ms;
    if (s->synthesis == ST_ALWAYS_ON)
        s->delay_off_ms = s->delay_on_ms;
    or_else(&s->blank, 0.045);
    or_else(&s->clock_offset_s, 3.2051);
    or_else(&s->drift_ppm, 33);
    or_else(&s->mic_ms, 28 + (double)(s->seed % 7));
    or_else_text(&s->encoder, "libx264");
    or_else_text(&s->preset, "superfast");
    or_else_text(&s->container, "mkv");
}

bool st_scenario_get(struct st_scenario *out, size_t i)
{
    if (i >= sizeof table / sizeof *table)
        return false;
    *out = table[i];
    fill(out);
    return true;
}

bool st_scenario_find(struct st_scenario *out, const char *name)
{
    for (size_t i = 0; st_scenario_get(out, i); i++)
        if (!strcmp(out->name, name))
            return true;
    return false;
}
