/* write_survey FOLDER [GAMES]: the measurements of an invented session of GAMES games (12 without
 * it), as JSON and CSV. Among the first twelve: names that are long, hostile, from right to left,
 * without glyphs; a game that never trips, one with hardly any flicks, one whose flicks trip at any
 * speed, one with a known rule. Only the first and the last of them have frames, states and lapses:
 * studying those takes time. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "fake_take.h"
#include "ruled_take.h"
#include "show_folder.h"
#include "study/compare/session_study.h"

enum { TAKES = 2, MOST = 60, LONG = 7, NEVER = 3, FEW = 10, ANY = 5, RULED = 11 };

static char names[MOST][320], ids[MOST * TAKES][16];

static void name_games(void)
{
    static const char *const name[] = {
        "Glass Canyon",
        "Ember Harbour",
        "Tin Meadow",
        "Quiet Vale",
        "<script>alert('x')</script> & \"Sons\"",
        "\xd7\xa9\xd7\x9c\xd7\x95\xd7\x9d \xd7\xa2\xd7\x95\xd7\x9c\xd7\x9d",
        "Paper Lantern \xf0\x9f\xa6\x8a\xf0\x9f\x9a\x80",
        "",
        "Salt Orchard",
        "Copper Hollow",
        "Nine Ferries",
        "The Lamplighter's Almanac: Complete Edition",
    };
    for (int i = 0; i < MOST; i++)
        snprintf(names[i], sizeof names[i], "Game %d", i);
    for (int i = 0; i < 12; i++)
        snprintf(names[i], sizeof names[i], "%s", name[i]);
    for (int i = 0; i < 300; i++)
        names[LONG][i] = "Endless Title "[i % 14];
}

/* A response that bends, with a dead zone. */
static struct fl_turn_curve a_stick(void)
{
    static struct fl_turn_rate rate[8];
    for (int i = 0; i < 8; i++) {
        const double x = 0.05 + 0.13 * i, deg_s = 400 * pow(fmax(0, x - 0.1), 1.6);
        rate[i] = (struct fl_turn_rate){x, 12 * deg_s, 11 * deg_s, 13.5 * deg_s, deg_s, 40};
    }
    return (struct fl_turn_curve){rate, 8, 0.02, 0.1};
}

static struct fl_take *take_of(int game, int k)
{
    const char *id = ids[game * TAKES + k];
    bool fine = k == 1;
    double cpi = fine ? 1600 : 800, degrees = fine ? 0.022 : 0.044;
    uint64_t seed = 100 + (uint64_t)(game * TAKES + k);
    struct fl_take *t;
    if (game == RULED)
        t = ruled_take(&(struct ruled_settings){.id = id,
                                                .game = names[game],
                                                .key = FL_CAMERA_SPEED,
                                                .theta_off = 150,
                                                .theta_on = 100,
                                                .d_off_s = 0.03,
                                                .d_on_s = 0.03,
                                                .seen_above_deg_s = 8,
                                                .flicks = 10,
                                                .counts_per_inch = cpi,
                                                .degrees_per_count = degrees,
                                                .seed = seed});
    else
        t = fake_take(
            &(struct fake_settings){.id = id,
                                    .game = names[game],
                                    .counts_per_inch = cpi,
                                    .degrees_per_count = degrees,
                                    .v50_deg_s = game == NEVER ? 1e9 : 60 * pow(1.3, game % 12),
                                    .slope = game == ANY ? 1 : 4,
                                    .take_sd_octaves = 0.08,
                                    .flicks = game == FEW ? 4
                                              : game == 0 ? 12
                                                          : 25,
                                    .flicks_only = game != 0,
                                    .seed = seed});
    if (game == 0)
        t->turn_curve = a_stick();
    t->spec.recorded_at = k ? "2026-11-03T14:00:00Z" : "2026-11-05T10:00:00Z";
    return t;
}

int main(int argc, char **argv)
{
    int games = argc == 3 ? atoi(argv[2]) : 12;
    if (argc < 2 || games < 1 || games > MOST)
        return 2;
    struct fl_session *s = fl_session_new("Autumn survey");
    name_games();
    for (int i = 0; i < games; i++)
        for (int k = 0; k < TAKES; k++) {
            snprintf(ids[i * TAKES + k], sizeof *ids, "g%02d-%c", i, 'a' + k);
            fl_session_add(s, take_of(i, k));
        }
    fl_session_study(s);
    struct fl_error err = {0};
    enum flinch_code code = write_all(argv[1], s, "json", &err);
    if (!code)
        code = write_all(argv[1], s, "csv", &err);
    fl_session_free(&s);
    if (code)
        fprintf(stderr, "%s\n", err.text);
    return code != FLINCH_OK;
}
