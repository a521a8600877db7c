/* The public library as a program outside the project uses it. */
#include "flinch/flinch.h"
#include "flinch/live.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static int failures;

#define CHECK(what)                                   \
    do {                                              \
        if (!(what)) {                                \
            failures++;                               \
            printf("line %d: %s\n", __LINE__, #what); \
        }                                             \
    } while (0)

static void misuse_is_an_error(void)
{
    struct flinch_message why;
    flinch_take *take = (flinch_take *)&why;
    struct flinch_take_settings settings = {0};
    CHECK(flinch_take_measure(&take, &settings, NULL, &why) == FLINCH_ERR_USAGE);
    CHECK(!take && strlen(why.text) > 10);
    CHECK(flinch_take_measure(NULL, &settings, NULL, NULL) == FLINCH_ERR_USAGE);
    settings.footage = "no/such/file.mkv";
    CHECK(flinch_take_measure(&take, &settings, NULL, &why) == FLINCH_ERR_OPEN);
    CHECK(!take && strstr(why.text, "no/such/file.mkv"));
    const double bad[] = {-1, 1e12, NAN, INFINITY};
    for (int i = 0; i < 4; i++) {
        settings.counts_per_inch = bad[i];
        CHECK(flinch_take_measure(&take, &settings, NULL, &why) == FLINCH_ERR_USAGE);
        CHECK(strstr(why.text, "counts_per_inch") != NULL);
    }
    settings.counts_per_inch = 0;
    settings.id = "a/b";
    CHECK(flinch_take_measure(&take, &settings, NULL, &why) == FLINCH_ERR_USAGE);
    flinch_take_free(&take);
    flinch_take_free(NULL);
}

static void versions_agree(void)
{
    char headers[32];
    snprintf(headers, sizeof headers, "%d.%d.%d", FLINCH_VERSION_MAJOR, FLINCH_VERSION_MINOR,
             FLINCH_VERSION_PATCH);
    CHECK(!strcmp(headers, flinch_version()));
}

static void a_stream_refuses_what_it_cannot_use(void)
{
    static unsigned char picture[64 * 64];
    const struct flinch_live_format format = {.width = 64, .height = 64, .rate_hz = 60};
    const struct flinch_input wild = {.time_s = NAN};
    struct flinch_live_format wrong = format;
    struct flinch_live_event event;
    struct flinch_message why;
    flinch_live *live = (flinch_live *)&why;
    flinch_take *take;
    wrong.width = 15;
    CHECK(flinch_live_open(&live, &wrong, NULL, &why) == FLINCH_ERR_USAGE && !live);
    CHECK(strstr(why.text, "width") != NULL);
    CHECK(flinch_live_open(NULL, &format, NULL, NULL) == FLINCH_ERR_USAGE);
    CHECK(flinch_live_open(&live, NULL, NULL, &why) == FLINCH_ERR_USAGE);
    CHECK(flinch_live_open(&live, &format, NULL, &why) == FLINCH_OK && live && !why.text[0]);
    CHECK(flinch_live_push(live, NULL, 64, 0, true, &why) == FLINCH_ERR_USAGE);
    CHECK(flinch_live_push(live, picture, 63, 0, true, &why) == FLINCH_ERR_USAGE);
    CHECK(flinch_live_push(live, picture, 64, INFINITY, true, NULL) == FLINCH_ERR_USAGE);
    CHECK(flinch_live_input(live, &wild, 1, &why) == FLINCH_ERR_USAGE);
    CHECK(flinch_live_input(live, NULL, 0, &why) == FLINCH_OK);
    CHECK(flinch_live_push(live, picture, 64, 0, true, &why) == FLINCH_OK);
    CHECK(!flinch_live_poll(live, &event) && !flinch_live_poll(NULL, &event));
    CHECK(flinch_live_finish(&live, &take, &why) == FLINCH_ERR_EMPTY && !live && !take);
    CHECK(flinch_live_finish(&live, &take, &why) == FLINCH_ERR_USAGE);
    CHECK(flinch_live_open(&live, &format, NULL, NULL) == FLINCH_OK);
    flinch_live_free(&live);
    CHECK(!live);
    flinch_live_free(NULL);
}

static void nothing_answers_nothing(void)
{
    struct flinch_lapse lapse;
    struct flinch_curve curve;
    struct flinch_rule rule;
    struct flinch_delay delay;
    struct flinch_comparison comparison;
    CHECK(!flinch_session_rule(NULL, 0, &rule) && flinch_session_rule_count(NULL) == 0);
    CHECK(!flinch_session_delay(NULL, 0, &delay) && flinch_session_delay_count(NULL) == 0);
    CHECK(!flinch_session_comparison(NULL, 0, &comparison) &&
          flinch_session_comparison_count(NULL) == 0);
    CHECK(flinch_take_lapse_count(NULL) == 0 && !flinch_take_lapse(NULL, 0, &lapse));
    CHECK(flinch_take_id(NULL) == NULL && flinch_take_warning_text(NULL, 0) == NULL);
    CHECK(flinch_take_state_at(NULL, 1) == FLINCH_UNSEEN);
    CHECK(!flinch_column(0, NULL) && flinch_take_column(NULL, 0, 0, 1, &(double){0}) == 0);
    CHECK(flinch_session_take(NULL, 0) == NULL && !flinch_session_curve(NULL, 0, &curve));
    CHECK(flinch_quantity_name(FLINCH_QUANTITIES) == NULL);
    CHECK(!strcmp(flinch_quantity_name(FLINCH_CAMERA_SPEED), "camera_speed"));
    CHECK(!strcmp(flinch_quantity_unit(FLINCH_CAMERA_SPEED), "deg_s"));
    CHECK(!strcmp(flinch_error_text(FLINCH_OK), "done"));
}

static void sessions_refuse_what_they_cannot_read(void)
{
    struct flinch_message why;
    flinch_session *session = (flinch_session *)&why;
    struct flinch_session_settings settings = {.jobs = -1};
    CHECK(flinch_session_run(&session, "no/such/session.yaml", NULL, NULL, &why) ==
          FLINCH_ERR_OPEN);
    CHECK(!session && strstr(why.text, "no/such/session.yaml"));
    CHECK(flinch_session_run(&session, "no/such/session.yaml", &settings, NULL, &why) ==
          FLINCH_ERR_USAGE);
    session = flinch_session_new("empty");
    CHECK(flinch_session_study(session) == FLINCH_OK);
    CHECK(flinch_session_take_count(session) == 0 && flinch_session_curve_count(session) == 0);
    CHECK(flinch_session_rule_count(session) == 0 && flinch_session_delay_count(session) == 0 &&
          flinch_session_comparison_count(session) == 0);
    CHECK(flinch_session_add(session, NULL) == FLINCH_ERR_USAGE);
    CHECK(flinch_session_write(session, NULL, &why) == FLINCH_ERR_USAGE);
    flinch_session_free(&session);
    CHECK(!session);
}

static void stretches_tile(const flinch_take *take, double duration_s)
{
    struct flinch_stretch stretch;
    double at = 0;
    size_t n = flinch_take_stretch_count(take);
    CHECK(n > 0);
    for (size_t i = 0; i < n; i++) {
        CHECK(flinch_take_stretch(take, i, &stretch));
        CHECK(stretch.start_s == at && stretch.end_s > at);
        CHECK(flinch_take_state_at(take, (stretch.start_s + stretch.end_s) / 2) == stretch.state);
        at = stretch.end_s;
    }
    CHECK(!flinch_take_stretch(take, n, &stretch));
    CHECK(fabs(at - duration_s) < 1e-9);
}

/* The number of the column of that name; the test fails when there is none. */
static size_t column_named(const char *name)
{
    struct flinch_column column = {""};
    size_t i = 0;
    while (flinch_column(i, &column) && strcmp(column.name, name))
        i++;
    CHECK(i < flinch_column_count() && *column.meaning);
    return i;
}

/* What columns say of a frame is what the other readers say of its time. */
static void columns_are_the_frames(const flinch_take *take, size_t frames)
{
    struct flinch_column column;
    double time_s[3] = {NAN, NAN, NAN}, state[3], number[2];
    size_t time = column_named("time_s"), states = column_named("state");
    CHECK(flinch_take_column(take, time, 0, 3, time_s) == 3);
    CHECK(flinch_take_column(take, states, 0, 3, state) == 3);
    CHECK(time_s[0] < time_s[1] && time_s[1] < time_s[2]);
    for (int i = 0; i < 3; i++)
        CHECK((enum flinch_state)state[i] == flinch_take_state_at(take, time_s[i]));
    CHECK(flinch_take_column(take, column_named("frame"), frames - 1, 2, number) == 1);
    CHECK((size_t)number[0] == frames - 1);
    CHECK(flinch_take_column(take, column_named("camera_speed_deg_s"), 0, 1, number) == 1);
    CHECK(flinch_take_column(take, time, frames, 1, number) == 0);
    CHECK(!flinch_column(flinch_column_count(), &column));
    CHECK(flinch_take_column(take, flinch_column_count(), 0, 1, number) == 0);
}

static int calls;

static void count_calls(void *context, size_t part, const char *what, double done)
{
    calls += context == &calls && part == 0 && what && done >= 0 && done <= 1;
}

static bool stop_at_once(void *context)
{
    return context == &calls;
}

/* One recording, measured, read and written. */
static void measures(const char *footage, const char *folder)
{
    struct flinch_message why = {""};
    struct flinch_take_settings settings = {
        .footage = footage, .id = "a", .horizontal_fov_deg = 90};
    struct flinch_watch watch = {count_calls, NULL, &calls}, stop = {NULL, stop_at_once, &calls};
    struct flinch_take_figures figures;
    struct flinch_exposure exposure;
    flinch_take *take, *none;
    CHECK(flinch_take_measure(&none, &settings, &stop, &why) == FLINCH_ERR_INTERRUPTED && !none);
    if (flinch_take_measure(&take, &settings, &watch, &why)) {
        printf("%s\n", why.text);
        failures++;
        return;
    }
    CHECK(calls > 0 && !*why.text);
    CHECK(flinch_take_figures(take, &figures) && figures.frames > 2 && figures.width > 0);
    CHECK(flinch_take_exposure(take, &exposure));
    CHECK(fabs(exposure.on_s + exposure.off_s + exposure.unseen_s - figures.duration_s) < 1e-6);
    stretches_tile(take, figures.duration_s);
    columns_are_the_frames(take, (size_t)figures.frames);
    flinch_session *session = flinch_session_new("trial");
    CHECK(flinch_session_add(session, &take) == FLINCH_OK && !take);
    CHECK(flinch_session_study(session) == FLINCH_OK);
    CHECK(flinch_session_take_count(session) == 1);
    CHECK(!strcmp(flinch_take_id(flinch_session_take(session, 0)), "a"));
    if (flinch_session_write(session, folder, &why))
        printf("%s\n", why.text), failures++;
    flinch_session_free(&session);
}

/* A session that a program of the same sources has measured: nothing is measured again. */
static void reuses(const char *session_file, const char *folder)
{
    struct flinch_message why = {""};
    struct flinch_session_settings settings = {.folder = folder, .no_strips = true};
    struct flinch_watch watch = {count_calls, NULL, &calls};
    flinch_session *session;
    if (flinch_session_run(&session, session_file, &settings, &watch, &why))
        printf("%s\n", why.text), failures++;
    CHECK(calls == 0 && flinch_session_take_count(session) == 1);
    flinch_session_free(&session);
}

int main(int argc, char **argv)
{
    if (argc == 3)
        measures(argv[1], argv[2]);
    if (argc == 4 && !strcmp(argv[1], "reuse"))
        reuses(argv[2], argv[3]);
    CHECK(strchr(flinch_version(), '.') != NULL);
    misuse_is_an_error();
    versions_agree();
    a_stream_refuses_what_it_cannot_use();
    nothing_answers_nothing();
    sessions_refuse_what_they_cannot_read();
    return failures != 0;
}
