#include "film.h"

#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
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
    f->scene = st_scene_new(scenario->place, seed);
    f->overlay = st_overlay_new(scenario->place, scenario->width, scenario->height, seed);
    st_synth_init(&f->synth, scenario->width, scenario->height);
    for (int i = 0; i < RING; i++) {
        st_picture_init(&f->rendered[i].picture, scenario->width, scenario->height);
        st_picture_init(&f->made[i].picture, scenario->width, scenario->height);
        st_pyramid_init(&f->rendered[i].pyramid, scenario->width, scenario->height);
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

static struct shot *rendered_shot(struct st_film *f, size_t index)
{
    struct shot *shot = &f->rendered[index % RING];
    if (shot->made && shot->index == index)
        return shot;
    const struct st_rendered *r = f->game->rendered + index;
    struct st_camera camera = {{0, 0, 1.7}, r->yaw_deg, r->pitch_deg, st_focal_px(f->scenario)};
    double game_s = st_hand_game_time(f->hand, r->sample_s);
    st_hand_position(f->hand, r->sample_s, &camera.position[0], &camera.position[1]);
    st_scene_draw(f->scene, &camera, game_s, &shot->picture);
    const struct fl_span *still = &f->hand->still;
    bool menu = fl_known(still->start_s) && r->sample_s >= still->start_s + 0.3 &&
                r->sample_s < still->end_s - 0.3;
    st_overlay_draw(f->overlay, game_s, menu, &shot->picture);
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
                  &made->picture);
    made->index = output;
    made->made = true;
    return &made->picture;
}
