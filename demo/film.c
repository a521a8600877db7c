#include "film.h"

#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "effects.h"
#include "overlay.h"
#include "scene.h"
#include "synth.h"

enum { RING = 8 };

struct shot {
    struct st_picture picture;
    struct st_pyramid pyramid;
    size_t index;
    bool made, shrunk;
};

struct st_film {
    const struct st_scenario *scenario;
    const struct st_hand *hand;
    const struct st_game *game;
    struct st_scene *scene;
    struct st_overlay *overlay;
    struct st_synth synth;
    struct shot rendered[RING], made[RING];
};

struct st_film *st_film_new(const struct st_scenario *scenario, const struct st_hand *hand,
                            const struct st_game *game, uint64_t seed)
{
    struct st_film *f = FL_NEW(struct st_film, 1);
    f->scenario = scenario;
    f->hand = hand;
    f->game = game;
    int width = st_render_width(scenario), height = st_render_height(scenario);
    f->scene = st_scene_new(scenario->place, seed);
    if (scenario->lifts || scenario->rides)
        st_scene_add_posts(f->scene);
    f->overlay = st_overlay_new(scenario->place, width, height, scenario->panel, seed);
    st_synth_init(&f->synth, width, height);
    for (int i = 0; i < RING; i++) {
        st_picture_init(&f->rendered[i].picture, width, height);
        st_picture_init(&f->made[i].picture, width, height);
        st_pyramid_init(&f->rendered[i].pyramid, width, height);
    }
    return f;
}

void st_film_free(struct st_film **film)
{
    struct st_film *f = *film;
    if (!f)
        return;
    st_scene_free(&f->scene);
    st_overlay_free(&f->overlay);
    st_synth_finish(&f->synth);
    for (int i = 0; i < RING; i++) {
        st_picture_finish(&f->rendered[i].picture);
        st_picture_finish(&f->made[i].picture);
        st_pyramid_finish(&f->rendered[i].pyramid);
    }
    free(f);
    *film = NULL;
}

/* The view of the scene, smeared by the motion since the frame before. */
static void draw_view(struct st_film *f, size_t index, double game_s, struct st_picture *picture)
{
    const struct st_scenario *s = f->scenario;
    const struct st_rendered *r = f->game->rendered + index, *before = index ? r - 1 : r;
    struct st_camera camera = {{0}, 0, r->pitch_deg, r->focal_px};
    camera.yaw_deg = r->yaw_deg + st_cut_deg(&f->game->stretches, r->sample_s);
    st_hand_position(f->hand, r->sample_s, camera.position);
    st_scene_draw(f->scene, &camera, game_s * s->pace, picture);
    if (s->shutter > 0) {
        double px_deg = s->shutter * r->focal_px * FL_PI / 180;
        st_smear(picture, px_deg * (r->yaw_deg - before->yaw_deg),
                 px_deg * (r->pitch_deg - before->pitch_deg));
    }
    if (s->grain > 0)
        st_add_grain(picture, s->grain, index);
}

static struct shot *rendered_shot(struct st_film *f, size_t index)
{
    struct shot *shot = &f->rendered[index % RING];
    if (shot->made && shot->index == index)
        return shot;
    const struct st_scenario *s = f->scenario;
    const struct st_rendered *r = f->game->rendered + index;
    double game_s = st_hand_game_time(f->hand, r->sample_s);
    draw_view(f, index, game_s, &shot->picture);
    const struct fl_span *still = &f->hand->still;
    bool paused = fl_known(still->start_s) && r->sample_s >= still->start_s + 0.3 &&
                  r->sample_s < still->end_s - 0.3;
    st_overlay_draw(f->overlay, game_s, paused && !s->loading, &shot->picture);
    st_relight(&shot->picture, st_light_at(&f->game->stretches, r->sample_s));
    if (paused && s->loading)
        st_loading_screen(&shot->picture, r->sample_s);
    if (s->bars > 0)
        st_bars(&shot->picture, s->bars);
    shot->index = index;
    shot->made = true;
    shot->shrunk = false;
    return shot;
}

static struct shot *shrunk_shot(struct st_film *f, size_t index)
{
    struct shot *shot = rendered_shot(f, index);
    if (!shot->shrunk)
        st_pyramid_fill(&shot->pyramid, &shot->picture);
    shot->shrunk = true;
    return shot;
}

const struct st_picture *st_film_output(struct st_film *f, size_t output)
{
    const struct st_output *o = f->game->outputs + output;
    if (!o->synthesised)
        return &rendered_shot(f, o->rendered)->picture;
    struct shot *made = &f->made[output % RING];
    if (made->made && made->index == output)
        return &made->picture;
    const struct shot *before = shrunk_shot(f, o->rendered),
                      *after = shrunk_shot(f, o->rendered + 1);
    st_synthesise(&f->synth, &before->pyramid, &before->picture, &after->pyramid, &after->picture,
                  o->part, &made->picture);
    made->index = output;
    made->made = true;
    return &made->picture;
}
