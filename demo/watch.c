#include "watch.h"

#include <stdlib.h>

#include "base/mem.h"
#include "scene.h"

enum { PART = 2, NOMINAL = 219 };

struct st_watch {
    const struct st_scenario *scenario;
    const struct st_hand *hand;
    struct st_scene *scene;
    struct st_picture picture[2];
    int now;
    bool begun;
};

struct st_watch *st_watch_new(const struct st_scenario *s, const struct st_hand *h)
{
    if (s->synthesis != ST_CUT_OFF || s->key != ST_KEY_CHANGE)
        return NULL;
    struct st_watch *w = FL_NEW(struct st_watch, 1);
    *w = (struct st_watch){.scenario = s, .hand = h, .scene = st_scene_new(s->place, s->seed)};
    if (s->lifts || s->rides)
        st_scene_add_posts(w->scene);
    for (int i = 0; i < 2; i++)
        st_picture_init(&w->picture[i], st_render_width(s) / PART & ~15,
                        st_render_height(s) / PART & ~1);
    return w;
}

void st_watch_free(struct st_watch **watch)
{
    struct st_watch *w = *watch;
    if (!w)
        return;
    st_scene_free(&w->scene);
    st_picture_finish(&w->picture[0]);
    st_picture_finish(&w->picture[1]);
    free(w);
    *watch = NULL;
}

static double difference(const struct st_picture *a, const struct st_picture *b)
{
    long long sum = 0;
    for (int y = 0; y < a->height; y++)
        for (int x = 0; x < a->width; x++)
            sum += abs(a->plane[0][y * a->stride[0] + x] - b->plane[0][y * b->stride[0] + x]);
    return (double)sum / a->width / a->height / NOMINAL;
}

double st_watch_change(struct st_watch *w, const struct st_rendered *r)
{
    const struct st_scenario *s = w->scenario;
    struct st_picture *to = &w->picture[w->now = 1 - w->now];
    struct st_camera camera = {
        {0}, r->yaw_deg, r->pitch_deg, r->focal_px * to->width / st_render_width(s)};
    st_hand_position(w->hand, r->sample_s, camera.position);
    st_scene_draw(w->scene, &camera, st_hand_game_time(w->hand, r->sample_s) * s->pace, to);
    double change = w->begun ? difference(to, &w->picture[1 - w->now]) : 0;
    w->begun = true;
    return change;
}
