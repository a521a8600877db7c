/* write_page FOLDER plain | linked | hostile | long | many: an invented session's files and report
 * page, for tests in a browser and for the bench. Charts are left out: they are slow, and the page
 * has its own. */
#include <stdio.h>

#include "base/file.h"
#include "fake_take.h"
#include "show/clip/filmstrip.h"
#include "show/draw/indexed_png.h"
#include "show_folder.h"
#include "study/compare/session_study.h"
#include "show/store/output_rounding.h"
#include "writers.h"

/* Figures of all sizes, as a measurement has them; unknown ones stay so. */
static void roughen(struct fl_take *t, bool everywhere)
{
    for (long i = 0; i < t->frames; i++) {
        float *rate = &t->states.unique_rate_hz[i], *speed = &t->quantity[FL_CAMERA_SPEED][i];
        double wave = sin(0.37 * (double)i) + sin(1.91 * (double)i + 0.3);
        if (everywhere && isnan(*rate))
            *rate = 120;
        *rate = (float)(*rate * (1 + 0.013 * wave));
        *speed = (float)(*speed * (1 + 0.02 * wave) + fabs(wave) * (i % 3 ? 0.21 : 1.7e-6));
        t->states.frame_confidence[i] *= (float)(0.99 + 0.005 * wave);
    }
    fl_take_round(t);
}

static struct fl_take *take(const char *id, const char *game, const char *condition, int flicks,
                            double capture_hz)
{
    struct fl_take *t = fake_take(&(struct fake_settings){.id = id,
                                                          .game = game,
                                                          .condition = condition,
                                                          .counts_per_inch = 800,
                                                          .degrees_per_count = 0.044,
                                                          .v50_deg_s = 300,
                                                          .slope = 3,
                                                          .flicks = flicks,
                                                          .capture_hz = capture_hz,
                                                          .seed = 7});
    roughen(t, flicks > 100);
    return t;
}

/* A picture a lapse, 200 px wide and more by the lapse's number, so that each is known again. */
static enum flinch_code draw_strips(const char *folder, const struct fl_take *t,
                                    struct fl_error *err)
{
    enum { WIDTH = 200, HEIGHT = 60 };
    char *strips = fl_path_join(folder, "strips");
    enum flinch_code code = fl_make_folder(strips, err);
    free(strips);
    for (size_t i = 0; i < t->states.n_lapses && !code; i++) {
        size_t width = WIDTH + i;
        uint32_t *rgb = FL_NEW(uint32_t, width * HEIGHT);
        for (size_t k = 0; k < width * HEIGHT; k++)
            rgb[k] = (uint32_t)((k % width) & 255) * 0x010101u;
        char *name = fl_filmstrip_name(t->spec.id, i), *path = fl_path_join(folder, name);
        code = fl_indexed_write(rgb, (int)width, HEIGHT, width, path, err);
        free(path);
        free(name);
        free(rgb);
    }
    return code;
}

static void add_hostile(struct fl_session *s)
{
    static char lengthy[301];
    memset(lengthy, 'W', 300);
    static const char bad[] =
        "<script>window.broken=1</script><img src=x onerror=window.broken=1>\"'--></script><!--";
    static const char *const game[] = {
        bad, "\"quoted\" & 'single'", "\xe2\x80\xae\xd9\x84\xd8\xb9\xd8\xa8\xd8\xa9 abc", lengthy,
        "\xf0\x9f\x8e\xae\xf0\x9f\x8f\xb3\xef\xb8\x8f\xe2\x80\x8d\xf0\x9f\x8c\x88 game"};
    static const char *const id[] = {"hostile-a", "hostile-b", "hostile-c", "hostile-d",
                                     "hostile-e"};
    for (int i = 0; i < 5; i++) {
        struct fl_take *t = take(id[i], game[i], i == 0 ? lengthy : i == 3 ? bad : "default", 6, 0);
        t->spec.note_keys = t->spec.note_values = &game[i];
        t->spec.n_notes = 1;
        t->spec.footage = game[i];
        t->states.span[0].reason = game[i];
        fl_take_warn(t, "hostile", "%s", game[i]);
        fl_session_add(s, t);
    }
    fl_session_add_failed(s, "hostile-lost", bad);
}

enum { MANY = 72 };
/* Takes from `first` to before `end`, three minutes each. Rates and confidence hold for as long as
 * a state does, as measured ones do; speeds are rough. */
static void add_many(struct fl_session *s, int first, int end)
{
    enum { GAMES = 6, FLICKS = 120 };
    static const char *const game[GAMES] = {"Glass Canyon",  "Ember Harbour", "Paper Orchard",
                                            "Night Foundry", "Tin Meadow",    "Salt Viaduct"};
    for (int i = first; i < end; i++) {
        static char ids[MANY][sizeof "take-00"]; /* they stay as long as the takes */
        char *id = ids[i];
        snprintf(id, sizeof ids[i], "take-%02u", (unsigned)(i + 1) % 100u);
        struct fl_take *t =
            fake_take(&(struct fake_settings){.id = id,
                                              .game = game[i % GAMES],
                                              .counts_per_inch = i / GAMES % 2 ? 1600 : 400,
                                              .degrees_per_count = i / GAMES % 2 ? 0.022 : 0.088,
                                              .v50_deg_s = 200 + 10 * (i % GAMES),
                                              .slope = 3,
                                              .flicks = FLICKS,
                                              .seed = (unsigned)(7 + i)});
        for (long k = 0; k < t->frames; k++)
            t->quantity[FL_CAMERA_SPEED][k] +=
                (float)(fabs(sin(0.37 * (double)k + i) + sin(1.91 * (double)k)) * 0.21);
        fl_take_round(t);
        fl_session_add(s, t);
    }
}

static struct fl_session *session(const char *kind)
{
    struct fl_session *s = fl_session_new(
        strcmp(kind, "hostile") ? "Invented survey" : "</title><script>window.broken=1</script>");
    if (!strcmp(kind, "hostile")) {
        add_hostile(s);
    } else if (!strcmp(kind, "long")) {
        fl_session_add(s, take("long", "Glass Canyon", NULL, 400, 240)); /* 602 s */
    } else if (!strcmp(kind, "many")) {
        add_many(s, 0, 2);
    } else {
        fl_session_add(s, take("canyon-a", "Glass Canyon", NULL, 20, 0));
        fl_session_add(s, take("canyon-b", "Glass Canyon", NULL, 14, 0));
        fl_session_add(s, take("harbour-a", "Ember Harbour", NULL, 12, 0));
        fl_session_add_failed(s, "harbour-lost", "harbour-lost.mkv: no such file");
        struct fl_take *t = fl_take_new();
        t->spec.id = "empty";
        t->spec.game = "Nothing";
        t->spec.condition = "default";
        fl_session_add(s, t);
    }
    fl_session_study(s);
    if (!strcmp(kind,
                "many")) /* the page of many takes is asked about, not their study, which is slow */
        add_many(s, 2, MANY);
    return s;
}

static enum flinch_code write_page(const char *folder, const struct fl_session *s, bool linked,
                                   struct fl_error *err)
{
    const struct fl_show_settings settings = {.linked_pictures = linked};
    const bool many = s->n_takes >= MANY; /* the page alone, as if measured without filmstrips */
    enum flinch_code code = many ? FLINCH_OK : write_all(folder, s, "csv", err);
    if (!code && !many)
        code = write_all(folder, s, "json", err);
    for (size_t i = 0; i + 2 < s->n_takes && !many && !code;
         i++) /* those of the last takes are not there */
        code = draw_strips(folder, s->takes[i], err);
    for (size_t w = 0; fl_writers[w] && !code; w++)
        if (!strcmp(fl_writers[w]->name, "page"))
            code = fl_writers[w]->write_session(folder, s, &settings, err);
    return code;
}

int main(int argc, char **argv)
{
    struct fl_error err = {0};
    if (argc != 3)
        return 2;
    struct fl_session *s = session(argv[2]);
    enum flinch_code code = fl_make_folder(argv[1], &err);
    if (!code)
        code = write_page(argv[1], s, !strcmp(argv[2], "linked"), &err);
    fl_session_free(&s);
    if (code)
        fprintf(stderr, "write_page: %s\n", err.text);
    return code != FLINCH_OK;
}
