#include "stage.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

#include "base/file.h"
#include "capture.h"
#include "encode.h"
#include "film.h"
#include "sound.h"
#include "truth.h"

static struct st_encode_settings encode_settings(const struct st_scenario *s)
{
    bool local = s->capture == ST_LOCAL;
    return (struct st_encode_settings){
        .encoder = s->encoder,
        .preset = s->preset,
        .crf = s->crf,
        .qp = s->qp,
        .kbit_s = s->kbit_s,
        .b_frames = s->b_frames,
        .key_interval = (int)lround(s->key_s * s->fps),
        .width = s->width,
        .height = s->height,
        .look = {st_render_width(s), st_render_height(s), s->ten_bit, s->full_range, s->pq},
        .nominal_hz = local ? 0 : s->fps,
        .tick_num = 1,
        .tick_den = local ? s->ticks_hz : (int)lround(s->fps)};
}

static enum flinch_code film_take(struct st_take *t, const char *path,
                                  const struct fl_progress *progress, struct fl_error *err)
{
    struct fl_file file;
    struct st_encoder *encoder = NULL;
    struct st_encode_settings settings = encode_settings(&t->scenario);
    enum flinch_code code = fl_file_begin_named(&file, path, err);
    if (code)
        return code;
    code = st_encoder_open(&encoder, file.temp, &settings, err);
    if (!code) {
        struct st_film *film = st_film_new(&t->scenario, &t->hand, &t->game, t->scenario.seed);
        code = st_capture_run(&t->capture, &t->scenario, &t->game, film, encoder, progress, err);
        enum flinch_code closed = st_encoder_close(&encoder, code ? NULL : err);
        code = code ? code : closed;
        st_film_free(&film);
    }
    if (!code)
        return fl_file_commit(&file, err);
    fl_file_abandon(&file);
    return code;
}

static enum flinch_code record_sound(const struct st_take *t, const char *path,
                                     struct fl_error *err)
{
    struct fl_file file;
    enum flinch_code code = fl_file_begin_named(&file, path, err);
    if (code)
        return code;
    code = st_sound_write(file.temp, &t->scenario, &t->hand, t->scenario.seed, err);
    if (!code)
        return fl_file_commit(&file, err);
    fl_file_abandon(&file);
    return code;
}

enum flinch_code st_stage(const struct st_scenario *scenario, const char *folder,
                          const struct fl_progress *progress, struct fl_error *err)
{
    struct st_take t = {.scenario = *scenario};
    char name[32];
    snprintf(name, sizeof name, "capture.%s", scenario->container);
    char *home = fl_path_join(folder, scenario->name), *movie = fl_path_join(home, name);
    char *sound = fl_path_join(home, "sound.flac"), *truth = fl_path_join(home, "truth.json");
    enum flinch_code code = fl_make_folder(home, err);
    unlink(truth);
    st_hand_init(&t.hand, scenario, scenario->seed);
    st_game_init(&t.game, scenario, &t.hand, scenario->seed);
    if (!code)
        code = film_take(&t, movie, progress, err);
    if (!code)
        code = record_sound(&t, sound, err);
    if (!code)
        code = st_truth_write(home, &t, err);
    st_capture_finish(&t.capture);
    st_game_finish(&t.game);
    st_hand_finish(&t.hand);
    free(home);
    free(movie);
    free(sound);
    free(truth);
    return code;
}
