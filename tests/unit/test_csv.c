#include "show/store/csv.h"

#include <string.h>

#include "base/file.h"
#include "fake_take.h"
#include "show_folder.h"
#include "test.h"

static char *table(const struct fl_take *t, const char *ending)
{
    char *folder = make_folder(), *data, *path = fl_take_path(folder, t->spec.id, ending);
    size_t size;
    assert_int_equal(fl_csv_writer.write_take(folder, t, NULL, NULL), FLINCH_OK);
    assert_int_equal(fl_read_file(path, 1 << 24, &data, &size, NULL), FLINCH_OK);
    free(path);
    remove_folder(folder);
    return data;
}

static struct fl_take *small_take(void)
{
    return fake_take(&(struct fake_settings){.id = "a",
                                             .game = "Glass, \"Canyon\"",
                                             .counts_per_inch = 800,
                                             .degrees_per_count = 0.044,
                                             .v50_deg_s = 300,
                                             .slope = 3,
                                             .flicks = 6,
                                             .seed = 5});
}

/* The columns that the file format settles, in its order; others may follow the confidence. */
static void columns_are_the_settled_ones(void **state)
{
    (void)state;
    struct fl_take *t = small_take();
    char *frames = table(t, "-frames.csv"), *flips = table(t, "-flips.csv"),
         *flicks = table(t, "-flicks.csv");
    const char *want =
        "frame,time_s,shift_x_px,shift_y_px,shift_quality,changed_share,unique_rate_hz,state,"
        "confidence,";
    assert_memory_equal(frames, want, strlen(want));
    assert_non_null(
        strstr(frames, ",count_rate_counts_s,hand_speed_cm_s,camera_speed_deg_s,image_step_px,"));
    want = "time_s,capture_frame,row,confidence,kind";
    assert_memory_equal(flips, want, strlen(want));
    assert_non_null(strstr(flicks, "peak_camera_speed_deg_s"));
    assert_non_null(strstr(flicks, ",at_risk,tripped,trip_delay_s,"));
    free(frames);
    free(flips);
    free(flicks);
    fl_take_free(&t);
}

static int count(const char *text, char c)
{
    int n = 0;
    for (; *text; text++)
        n += *text == c;
    return n;
}

static void a_row_for_each(void **state)
{
    (void)state;
    struct fl_take *t = small_take();
    char *frames = table(t, "-frames.csv"), *flips = table(t, "-flips.csv"),
         *flicks = table(t, "-flicks.csv");
    assert_int_equal(count(frames, '\n'), t->frames + 1);
    assert_int_equal(count(flips, '\n'), t->flips.n + 1);
    assert_int_equal(count(flicks, '\n'), t->n_flicks + 1);
    /* Every frame row has as many cells as the header. */
    char *rows = strchr(frames, '\n') + 1;
    rows[-1] = 0;
    assert_int_equal(count(rows, ','), t->frames * count(frames, ','));
    free(frames);
    free(flips);
    free(flicks);
    fl_take_free(&t);
}

static void unknown_numbers_are_empty_cells(void **state)
{
    (void)state;
    struct fl_take *t = small_take();
    fl_take_shift(t).x_px[0] = NAN;
    t->states.unique_rate_hz[0] = INFINITY;
    t->quantity[FL_HAND_SPEED] = NULL;
    t->flicks[0].tripped = FL_ANSWER_UNKNOWN;
    char *frames = table(t, "-frames.csv"), *flicks = table(t, "-flicks.csv");
    const char *row = strchr(frames, '\n') + 1;
    assert_memory_equal(row, "0,0.000000,,", 12);
    assert_null(strstr(frames, "nan"));
    assert_null(strstr(frames, "inf"));
    assert_non_null(strstr(flicks, ",yes,,"));
    free(frames);
    free(flicks);
    fl_take_free(&t);
}

static void names_are_quoted(void **state)
{
    (void)state;
    struct fl_take *t = small_take();
    char *flicks = table(t, "-flicks.csv");
    assert_non_null(strstr(flicks, ",a,\"Glass, \"\"Canyon\"\"\",default,800,0.044\n"));
    free(flicks);
    fl_take_free(&t);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(columns_are_the_settled_ones),
        cmocka_unit_test(a_row_for_each),
        cmocka_unit_test(unknown_numbers_are_empty_cells),
        cmocka_unit_test(names_are_quoted),
    };
    return RUN_TESTS(tests);
}
