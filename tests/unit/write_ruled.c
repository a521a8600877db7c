/* write_ruled FOLDER: the measurements of an invented session with known cut-off rules, as JSON and
 * CSV. Game "Glass Canyon" watches camera speed (off over 150 deg/s, on under 100), at 400 and 1600
 * counts per inch and two sensitivities; "Tin Meadow" watches counts (off over 4000/s); "Quiet
 * Vale" never trips. */
#include <stdio.h>

#include "ruled_take.h"
#include "show_folder.h"
#include "study/compare/session_study.h"

static void add(struct fl_session *s, struct ruled_settings t, const char *id, bool fine,
                uint64_t seed)
{
    t.id = id;
    t.seed = seed;
    t.counts_per_inch = fine ? 1600 : 400;
    t.degrees_per_count = fine ? 0.022 : 0.066;
    fl_session_add(s, ruled_take(&t));
}

int main(int argc, char **argv)
{
    const struct ruled_settings canyon = {.game = "Glass Canyon",
                                          .key = FL_CAMERA_SPEED,
                                          .theta_off = 150,
                                          .theta_on = 100,
                                          .d_off_s = 0.03,
                                          .d_on_s = 0.03,
                                          .seen_above_deg_s = 8,
                                          .flicks = 16};
    struct ruled_settings meadow = canyon, vale = canyon;
    meadow.game = "Tin Meadow";
    meadow.key = FL_COUNT_RATE;
    meadow.theta_off = 4000;
    meadow.theta_on = 2800;
    vale.game = "Quiet Vale";
    vale.theta_off = 1e6;
    struct fl_session *s = fl_session_new("Known rules");
    static const char *const id[] = {"canyon-a", "canyon-b", "canyon-c", "canyon-d",
                                     "meadow-a", "meadow-b", "meadow-c", "meadow-d"};
    for (int i = 0; i < 8; i++)
        add(s, i < 4 ? canyon : meadow, id[i], i % 2, 20 + (uint64_t)i);
    add(s, vale, "vale-a", true, 30);
    fl_session_study(s);
    struct fl_error err = {0};
    enum flinch_code code = argc == 2 ? write_all(argv[1], s, "json", &err) : FLINCH_ERR_USAGE;
    if (!code)
        code = write_all(argv[1], s, "csv", &err);
    fl_session_free(&s);
    if (code)
        fprintf(stderr, "%s\n", err.text);
    return code != FLINCH_OK;
}
