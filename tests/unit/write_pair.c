/* write_pair BEFORE NOW: the measurements of two invented sessions, as JSON and CSV, of which the
 * later differs from the earlier in what stands here and in nothing else. */
#include <stdio.h>

#include "fake_take.h"
#include "ruled_take.h"
#include "show_folder.h"
#include "study/compare/session_study.h"

#define HOSTILE "</script><b>\"'&\u202etfel\u202c 🎮 \x1b[31m"

static char long_name[400];
static char ids[200][16];

static const char *next_id(void)
{
    static int n;
    snprintf(ids[n], sizeof ids[n], "take-%d", n);
    return ids[n++];
}

static struct fl_take *add(struct fl_session *s, struct ruled_settings r, uint64_t seed)
{
    r.id = next_id();
    r.seed = seed;
    struct fl_take *t = ruled_take(&r);
    t->exposure.lapses_per_min = 60 * (double)t->states.n_lapses / t->duration_s;
    t->transfer = "bt709";
    fl_session_add(s, t);
    return t;
}

static void add_some(struct fl_session *s, const struct ruled_settings *r, uint64_t n,
                     uint64_t seed)
{
    for (uint64_t k = 0; k < n; k++)
        add(s, *r, 5 * seed + k);
}

static void add_fake(struct fl_session *s, const char *game, bool control, bool now, uint64_t seed)
{
    for (uint64_t k = 0; k < 2; k++) {
        const struct fake_settings f = {.id = next_id(),
                                        .game = game,
                                        .counts_per_inch = 800,
                                        .degrees_per_count = 0.044,
                                        .v50_deg_s = 200,
                                        .slope = 6,
                                        .flicks = 20,
                                        .control = control,
                                        .seed = seed + k};
        struct fl_take *t = fake_take(&f);
        t->transfer = now ? "smpte2084" : "bt709";
        t->states.base_rate_off_hz *= 1 + 0.002 * (double)k + (now && control ? 0.1 : 0);
        fl_session_add(s, t);
    }
}

static struct fl_session *session(bool now)
{
    const struct ruled_settings base = {.game = "Glass Canyon",
                                        .key = FL_CAMERA_SPEED,
                                        .theta_off = now ? 225 : 150,
                                        .theta_on = now ? 150 : 100,
                                        .d_off_s = 0.03,
                                        .d_on_s = 0.03,
                                        .seen_above_deg_s = 8,
                                        .soft = 0.1,
                                        .flicks = 20};
    struct ruled_settings canyon = base, meadow = base, vale = base, hill = base, lake = base,
                          odd = base, gone = base;
    struct fl_session *s = fl_session_new(now ? "Driver 2" : "Driver 1 " HOSTILE);
    uint64_t seed = now ? 100 : 200;
    canyon.flicks = 40;         /* enough to see a factor of 1.5 */
    meadow.game = "Tin Meadow"; /* as before */
    meadow.theta_off = 200;
    meadow.theta_on = 120;
    vale.game = "Quiet Vale"; /* trips no more */
    vale.theta_off = now ? 1e6 : 150;
    hill.game = "Local Hill"; /* captured otherwise */
    lake.game = "Slow Lake";  /* renders slower */
    lake.base_hz = now ? 50 : 70;
    odd.game = long_name; /* one take */
    odd.condition = HOSTILE;
    gone.game = now ? "New Pier" : "Old Mill";
    add_some(s, &canyon, 4, seed + 1);
    add_some(s, &meadow, 2, seed + 2);
    add_some(s, &vale, 4, seed + 3);
    add(s, hill, seed + 50)->spec.capture_local = now;
    add(s, lake, seed + 51);
    add(s, odd, seed + 52);
    add(s, gone, seed + 53);
    add_fake(s, "Pale Dunes", false, now, seed + 60);
    add_fake(s, "Pale Dunes", true, now, seed + 70);
    return s;
}

static enum flinch_code write_one(const char *folder, bool now, struct fl_error *err)
{
    struct fl_session *s = session(now);
    fl_session_study(s);
    enum flinch_code code = write_all(folder, s, "json", err);
    if (!code)
        code = write_all(folder, s, "csv", err);
    fl_session_free(&s);
    return code;
}

int main(int argc, char **argv)
{
    struct fl_error err = {.text = "use: write_pair BEFORE NOW"};
    snprintf(long_name, sizeof long_name, "%s", HOSTILE);
    while (strlen(long_name) < 300)
        strcat(long_name, "x");
    enum flinch_code code = argc == 3 ? write_one(argv[1], false, &err) : FLINCH_ERR_USAGE;
    if (!code)
        code = write_one(argv[2], true, &err);
    if (code)
        fprintf(stderr, "%s\n", err.text);
    return code != FLINCH_OK;
}
