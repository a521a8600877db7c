#include "scene.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/units.h"

enum { MAX_TEXTURES = 16, MAX_RECTS = 48, MAX_BOXES = 40, MAX_LAMPS = 12, FACES = 6 };

/* Half sizes of every place, metres; the camera stays within two metres of the middle. */
static const double HALF_X = 13, HALF_Y = 9.5;

struct lamp {
    double at[3], power;
};

struct box {
    double centre[3], size[3]; /* centre of the foot */
    const struct st_texture *side, *top;
    double texels_per_m;       /* 0: each face shows the texture once */
    double reach[3], period_s; /* it swings this far about its centre; 0 = it stands still */
    struct st_rect face[FACES];
};

/* What stands still, as one camera saw it. */
struct backdrop {
    struct st_picture picture;
    struct st_camera camera;
    bool drawn;
};

struct st_scene {
    struct st_texture texture[MAX_TEXTURES];
    int n_textures;
    struct st_rect rect[MAX_RECTS]; /* walls, ground, sky: do not hide one another */
    int n_rects;
    struct st_rect sign[MAX_RECTS]; /* on the walls, drawn after them */
    int n_signs;
    struct box box[MAX_BOXES];
    int n_boxes;
    struct lamp lamp[MAX_LAMPS];
    int n_lamps;
    double ambient;
    uint64_t seed;
    struct backdrop backdrop; /* of rect and sign */
};

const char *st_scene_name(enum st_place place)
{
    static const char *const names[ST_PLACES] = {"harbour", "foundry", "orchard", "cellar",
                                                 "parlour"};
    return names[place];
}

/* ---- light ---- */

static float light_of(const struct st_scene *s, const double *p, const double *normal)
{
    double sum = s->ambient;
    for (int i = 0; i < s->n_lamps; i++) {
        double d[3], r2 = 0, facing = 0;
        for (int k = 0; k < 3; k++) {
            d[k] = s->lamp[i].at[k] - p[k];
            r2 += d[k] * d[k];
            facing += d[k] * normal[k];
        }
        facing = fmax(0, facing / sqrt(r2 + 1e-9));
        sum += s->lamp[i].power * (0.25 + 0.75 * facing) / (1 + r2 / 6);
    }
    return (float)fl_clamp(sum, 0, 1.6);
}

static void bake(struct st_scene *s, struct st_rect *r, double grid_m)
{
    double n[3] = {r->b[1] * r->a[2] - r->b[2] * r->a[1], r->b[2] * r->a[0] - r->b[0] * r->a[2],
                   r->b[0] * r->a[1] - r->b[1] * r->a[0]};
    struct st_rng rng = st_rng(s->seed, 900 + (uint64_t)s->n_rects);
    r->light_w = (int)fmax(2, ceil(r->width / grid_m) + 1);
    r->light_h = (int)fmax(2, ceil(r->height / grid_m) + 1);
    r->light = fl_calloc((size_t)(r->light_w * r->light_h), sizeof *r->light);
    for (int j = 0; j < r->light_h; j++)
        for (int i = 0; i < r->light_w; i++) {
            double x = r->width * i / (r->light_w - 1), y = r->height * j / (r->light_h - 1), p[3];
            for (int k = 0; k < 3; k++)
                p[k] = r->origin[k] + x * r->a[k] + y * r->b[k];
            r->light[j * r->light_w + i] = light_of(s, p, n) * (float)st_uniform(&rng, 0.88, 1.12);
        }
}

/* ---- building blocks ---- */

static const struct st_texture *paint(struct st_scene *s, enum st_pattern pattern, int side,
                                      struct st_paint p)
{
    struct st_canvas c;
    st_canvas_init(&c, side, side);
    st_paint_pattern(&c, pattern, &p, s->seed + 31 * (uint64_t)s->n_textures);
    struct st_texture *t = &s->texture[s->n_textures++];
    st_texture_init(t, &c);
    st_canvas_finish(&c);
    return t;
}

static const struct st_texture *letter(struct st_scene *s, const char *text, int width, int height,
                                       struct st_paint board, float ink, int u, int v)
{
    struct st_canvas c;
    st_canvas_init(&c, width, height);
    st_paint_sign(&c, text, &board, ink, u, v);
    struct st_texture *t = &s->texture[s->n_textures++];
    st_texture_init(t, &c);
    st_canvas_finish(&c);
    return t;
}

static struct st_rect upright(double x0, double y0, double x1, double y1, double low, double high,
                              const struct st_texture *t, double texels_per_m)
{
    double w = hypot(x1 - x0, y1 - y0);
    return (struct st_rect){.origin = {x0, y0, high},
                            .a = {(x1 - x0) / w, (y1 - y0) / w, 0},
                            .b = {0, 0, -1},
                            .width = w,
                            .height = high - low,
                            .texture = t,
                            .texels_per_m = texels_per_m,
                            .flat_light = 1};
}

/* A wall, seen with (x0, y0) at its left. */
static void wall(struct st_scene *s, double x0, double y0, double x1, double y1, double high,
                 const struct st_texture *t, double texels_per_m)
{
    struct st_rect r = upright(x0, y0, x1, y1, 0, high, t, texels_per_m);
    r.u0 = 37.0 * s->n_rects;
    bake(s, &r, 0.8);
    s->rect[s->n_rects++] = r;
}

/* Ground (up) or ceiling (down) over the whole place. */
static void level_plane(struct st_scene *s, double z, bool up, double half_x, double half_y,
                        const struct st_texture *t, double texels_per_m, bool lit)
{
    struct st_rect r = {.origin = {-half_x, up ? half_y : -half_y, z},
                        .a = {1, 0, 0},
                        .b = {0, up ? -1 : 1, 0},
                        .width = 2 * half_x,
                        .height = 2 * half_y,
                        .texture = t,
                        .texels_per_m = texels_per_m,
                        .flat_light = 1};
    if (lit)
        bake(s, &r, 0.8);
    s->rect[s->n_rects++] = r;
}

/* Its left end at (x0, y0), as wide as the texture's shape asks. */
static void sign(struct st_scene *s, double x0, double y0, double x1, double y1, double low,
                 double high, const struct st_texture *t)
{
    struct st_rect r = upright(x0, y0, x1, y1, low, high, t, 0);
    r.smooth = true;
    bake(s, &r, 1);
    s->sign[s->n_signs++] = r;
}

static void lamp(struct st_scene *s, double x, double y, double z, double power)
{
    s->lamp[s->n_lamps++] = (struct lamp){{x, y, z}, power};
}

/* The faces of a box at a place: four sides, the top, the underside. */
static void place_faces(const struct st_scene *s, struct box *b, const double *at, bool lit)
{
    double hx = b->size[0] / 2, hy = b->size[1] / 2, z0 = at[2], z1 = at[2] + b->size[2];
    double x0 = at[0] - hx, x1 = at[0] + hx, y0 = at[1] - hy, y1 = at[1] + hy;
    struct st_rect f[FACES] = {
        upright(x0, y0, x1, y0, z0, z1, b->side, b->texels_per_m), /* seen from the south */
        upright(x1, y1, x0, y1, z0, z1, b->side, b->texels_per_m),
        upright(x1, y0, x1, y1, z0, z1, b->side, b->texels_per_m),
        upright(x0, y1, x0, y0, z0, z1, b->side, b->texels_per_m),
        {.origin = {x0, y1, z1},
         .a = {1, 0, 0},
         .b = {0, -1, 0},
         .width = 2 * hx,
         .height = 2 * hy,
         .texture = b->top,
         .texels_per_m = b->texels_per_m},
        {.origin = {x0, y0, z0},
         .a = {1, 0, 0},
         .b = {0, 1, 0},
         .width = 2 * hx,
         .height = 2 * hy,
         .texture = b->top,
         .texels_per_m = b->texels_per_m},
    };
    static const double normal[FACES][3] = {{0, -1, 0}, {0, 1, 0}, {1, 0, 0},
                                            {-1, 0, 0}, {0, 0, 1}, {0, 0, -1}};
    for (int i = 0; i < FACES; i++) {
        f[i].smooth = true;
        f[i].light = b->face[i].light;
        f[i].light_w = b->face[i].light_w;
        f[i].light_h = b->face[i].light_h;
        double centre[3];
        for (int k = 0; k < 3; k++)
            centre[k] = f[i].origin[k] + 0.5 * (f[i].width * f[i].a[k] + f[i].height * f[i].b[k]);
        if (!lit)
            f[i].flat_light = light_of(s, centre, normal[i]);
        b->face[i] = f[i];
    }
}

static struct box *add_box(struct st_scene *s, double x, double y, double z, double w, double d,
                           double h, const struct st_texture *side, const struct st_texture *top,
                           double texels_per_m)
{
    struct box *b = &s->box[s->n_boxes++];
    *b = (struct box){.centre = {x, y, z},
                      .size = {w, d, h},
                      .side = side,
                      .top = top,
                      .texels_per_m = texels_per_m};
    place_faces(s, b, b->centre, false);
    for (int i = 0; i < FACES; i++)
        bake(s, &b->face[i], 0.5);
    return b;
}

static void add_mover(struct st_scene *s, double x, double y, double z, double size,
                      const struct st_texture *t, double reach_x, double reach_y, double reach_z,
                      double period_s)
{
    struct box *b = &s->box[s->n_boxes++];
    *b = (struct box){.centre = {x, y, z},
                      .size = {size, size, size},
                      .side = t,
                      .top = t,
                      .reach = {reach_x, reach_y, reach_z},
                      .period_s = period_s};
}

/* ---- the places ---- */

/* Four walls in three stretches each; rich and plain ones alternate. */
static void walls(struct st_scene *s, double high, const struct st_texture *const *kind,
                  const double *scale)
{
    static const int order[4][3] = {{0, 1, 0}, {2, 0, 1}, {1, 2, 2}, {0, 3, 1}};
    double x = HALF_X, y = HALF_Y;
    const double corner[5][2] = {{-x, y}, {x, y}, {x, -y}, {-x, -y}, {-x, y}};
    for (int i = 0; i < 4; i++) {
        const double cut[4] = {0, 0.38, 0.66, 1};
        for (int k = 0; k < 3; k++) {
            const double *p = corner[i], *q = corner[i + 1];
            int m = order[i][k];
            wall(s, p[0] + (q[0] - p[0]) * cut[k], p[1] + (q[1] - p[1]) * cut[k],
                 p[0] + (q[0] - p[0]) * cut[k + 1], p[1] + (q[1] - p[1]) * cut[k + 1], high,
                 kind[m], scale[m]);
        }
    }
}

static void build_harbour(struct st_scene *s)
{
    s->ambient = 0.62;
    lamp(s, -30, 40, 45, 130); /* a low sun */
    lamp(s, 9, -8, 3, 0.7);
    const struct st_texture *kind[4] = {
        paint(s, ST_BRICK, 512, (struct st_paint){0.52f, 0.66f, 120, 146, 0.3f}),
        paint(s, ST_PLANKS, 512, (struct st_paint){0.42f, 0.1f, 122, 136, 0.3f}),
        paint(s, ST_PLASTER, 256, (struct st_paint){0.7f, 0, 124, 131, 0.06f}),
        paint(s, ST_PLATES, 512, (struct st_paint){0.38f, 0.1f, 134, 122, 0.25f}),
    };
    const double scale[4] = {130, 150, 50, 130};
    const struct st_texture *ground =
        paint(s, ST_GRAVEL, 512, (struct st_paint){0.5f, 0.2f, 124, 131, 0.3f});
    const struct st_texture *sky =
        paint(s, ST_CLOUDS, 512, (struct st_paint){0.95f, 0.55f, 140, 118, 0});
    const struct st_texture *box =
        paint(s, ST_CRATE, 256, (struct st_paint){0.55f, 0.12f, 114, 140, 0.3f});
    const struct st_texture *cask =
        paint(s, ST_PLATES, 256, (struct st_paint){0.45f, 0.08f, 118, 158, 0.3f});
    level_plane(s, 24, false, 900, 900, sky, 5, false);
    walls(s, 4.6, kind, scale);
    level_plane(s, 0, true, HALF_X, HALF_Y, ground, 110, true);
    sign(s, -4.5, HALF_Y - 0.02, 0.5, HALF_Y - 0.02, 2.2, 3.7,
         letter(s, "COPPER\nHARBOUR", 512, 128, (struct st_paint){0.12f, 0, 140, 118, 0.05f}, 0.9f,
                128, 128));
    sign(s, HALF_X - 0.02, 4, HALF_X - 0.02, 0.5, 1.6, 3.2,
         letter(s, "QUAY 4\n< TIDE GATE", 512, 256, (struct st_paint){0.78f, 0, 90, 144, 0.08f},
                0.08f, 128, 128));
    const struct st_texture *notice =
        letter(s, "MIND\nTHE ROPE", 256, 256, (struct st_paint){0.3f, 0, 110, 190, 0.08f}, 0.92f,
               128, 128);
    sign(s, 3, -HALF_Y + 0.02, 1, -HALF_Y + 0.02, 1.2, 3, notice);
    sign(s, -HALF_X + 0.02, -4, -HALF_X + 0.02, -2.4, 1.4, 2.8, notice);
    add_box(s, 4.6, 3.2, 0, 1.4, 1.4, 1.4, box, box, 0);
    add_box(s, 6.2, 3.6, 0, 1.2, 1.2, 1.2, box, box, 0);
    add_box(s, 4.9, -4.6, 0, 1.0, 1.0, 2.4, cask, cask, 0);
    add_box(s, -5.2, -3.4, 0, 1.6, 1.6, 1.6, box, box, 0);
    add_box(s, -4.2, 4.4, 0, 0.6, 0.6, 4.2, kind[1], kind[1], 150);
    add_box(s, 3.4, 0.9, 0, 0.25, 0.25, 3.8, kind[3], kind[3], 150);
    add_box(s, -2.6, -5.6, 0, 2.4, 0.8, 0.9, kind[1], kind[1], 150);
    add_box(s, -7.5, 1.5, 0, 0.5, 0.5, 4.4, kind[3], kind[3], 130);
    add_mover(s, 0.5, 6.6, 1.6, 0.8, cask, 5, 0.3, 0.4, 7.3);
    add_mover(s, 8.0, -2.0, 0.1, 1.0, box, 0.4, 4, 0, 9.1);
}

static void build_foundry(struct st_scene *s, double level)
{
    s->ambient = 0.10 * level;
    static const double lamps[8][3] = {{-9, 6, 3.6}, {-2, 8, 3.2}, {6, 7, 3.8},  {11, 1, 3},
                                       {8, -7, 3.4}, {1, -8, 2.8}, {-1, 1, 4.2}, {4, 3, 3.9}};
    for (int i = 0; i < 8; i++)
        lamp(s, lamps[i][0], lamps[i][1], lamps[i][2], (i == 6 ? 0.5 : 1.15) * level);
    const struct st_texture *kind[4] = {
        paint(s, ST_PLATES, 512, (struct st_paint){0.46f, 0.06f, 130, 130, 0.4f}),
        paint(s, ST_BLOCKS, 512, (struct st_paint){0.42f, 0.12f, 124, 134, 0.4f}),
        paint(s, ST_PLASTER, 256, (struct st_paint){0.2f, 0, 128, 128, 0.05f}),
        paint(s, ST_BRICK, 512, (struct st_paint){0.4f, 0.2f, 120, 148, 0.35f}),
    };
    const double scale[4] = {130, 140, 50, 130};
    const struct st_texture *ground =
        paint(s, ST_TILES, 512, (struct st_paint){0.4f, 0.08f, 128, 128, 0.35f});
    const struct st_texture *roof =
        paint(s, ST_PLANKS, 512, (struct st_paint){0.25f, 0.03f, 124, 134, 0.2f});
    const struct st_texture *box =
        paint(s, ST_CRATE, 256, (struct st_paint){0.5f, 0.08f, 132, 122, 0.35f});
    const struct st_texture *ember =
        paint(s, ST_LEAVES, 256, (struct st_paint){0.85f, 0.2f, 80, 190, 0.3f});
    level_plane(s, 5.4, false, HALF_X, HALF_Y, roof, 90, true);
    walls(s, 5.4, kind, scale);
    level_plane(s, 0, true, HALF_X, HALF_Y, ground, 150, true);
    sign(s, 1, HALF_Y - 0.02, 6, HALF_Y - 0.02, 2.4, 3.7,
         letter(s, "NIGHT FOUNDRY", 512, 128, (struct st_paint){0.2f, 0, 112, 150, 0.08f}, 0.85f,
                100, 160));
    sign(s, HALF_X - 0.02, 2.5, HALF_X - 0.02, -1.5, 1.4, 3.2,
         letter(s, "FURNACE 9\nCAST HALL >", 512, 256, (struct st_paint){0.75f, 0, 70, 150, 0.1f},
                0.06f, 128, 128));
    const struct st_texture *notice = letter(
        s, "HOT\nMETAL", 256, 256, (struct st_paint){0.34f, 0, 108, 196, 0.08f}, 0.95f, 128, 128);
    sign(s, 9, -HALF_Y + 0.02, 7, -HALF_Y + 0.02, 1.3, 3.1, notice);
    sign(s, -HALF_X + 0.02, 1.5, -HALF_X + 0.02, 3.3, 1.4, 3, notice);
    add_box(s, 4.4, 2.2, 0, 0.9, 0.9, 5.4, kind[1], kind[1], 140);
    add_box(s, -4.4, 3.0, 0, 0.9, 0.9, 5.4, kind[1], kind[1], 140);
    add_box(s, 4.4, -4.2, 0, 0.9, 0.9, 5.4, kind[0], kind[0], 140);
    add_box(s, -5.0, -4.2, 0, 0.9, 0.9, 5.4, kind[0], kind[0], 140);
    add_box(s, 7.4, 0.4, 0, 1.5, 2.2, 1.3, box, box, 0);
    add_box(s, -1.2, 5.4, 0, 1.6, 1.2, 1.2, box, box, 0);
    add_box(s, -7.4, -0.5, 0, 1.4, 1.4, 1.8, box, box, 0);
    add_box(s, 1.4, -6.3, 0, 1.8, 1.1, 0.8, ember, ember, 0);
    add_mover(s, 2.0, 7.2, 2.4, 0.9, ember, 6, 0.2, 0.5, 8.7);
    add_mover(s, 9.2, -3.0, 0.2, 1.0, box, 0.3, 3.4, 0, 6.9);
}

static void build_orchard(struct st_scene *s, bool plain)
{
    s->ambient = 0.8;
    lamp(s, 20, 26, 38, 60);
    lamp(s, -8, -6, 4, 0.5);
    const struct st_texture *kind[4] = {
        paint(s, ST_LEAVES, 512, (struct st_paint){0.5f, 0.12f, 108, 118, 0.3f}),
        paint(s, ST_PLASTER, 256, (struct st_paint){0.82f, 0, 122, 132, 0.05f}),
        paint(s, ST_BLOCKS, 512, (struct st_paint){0.66f, 0.4f, 122, 132, 0.25f}),
        paint(s, ST_PLANKS, 512, (struct st_paint){0.55f, 0.16f, 114, 142, 0.25f}),
    };
    const double scale[4] = {140, 50, 130, 150};
    const struct st_texture *ground =
        paint(s, ST_TILES, 512, (struct st_paint){0.62f, 0.4f, 120, 136, 0.3f});
    const struct st_texture *roof =
        paint(s, ST_CLOUDS, 512, (struct st_paint){0.98f, 0.7f, 136, 122, 0});
    const struct st_texture *box =
        paint(s, ST_CRATE, 256, (struct st_paint){0.62f, 0.2f, 108, 144, 0.3f});
    const struct st_texture *fruit =
        paint(s, ST_LEAVES, 256, (struct st_paint){0.6f, 0.2f, 96, 176, 0.3f});
    level_plane(s, 7, false, HALF_X, HALF_Y, roof, 24, false);
    const struct st_texture *const plaster[4] = {kind[1], kind[1], kind[1], kind[1]};
    static const double even[4] = {50, 50, 50, 50};
    walls(s, 7, plain ? plaster : kind, plain ? even : scale);
    level_plane(s, 0, true, HALF_X, HALF_Y, plain ? kind[1] : ground, plain ? 50 : 130, true);
    sign(s, -2.4, HALF_Y - 0.02, 2.6, HALF_Y - 0.02, 2.4, 3.7,
         letter(s, "PAPER ORCHARD", 512, 128, (struct st_paint){0.25f, 0, 112, 112, 0.06f}, 0.9f,
                120, 130));
    sign(s, HALF_X - 0.02, -1.5, HALF_X - 0.02, -5.5, 1.4, 3.2,
         letter(s, "ROW 12\nPEARS >", 512, 256, (struct st_paint){0.9f, 0, 118, 132, 0.06f}, 0.12f,
                128, 128));
    const struct st_texture *notice =
        letter(s, "WATER\nAT NOON", 256, 256, (struct st_paint){0.35f, 0, 170, 110, 0.06f}, 0.95f,
               128, 128);
    sign(s, -2, -HALF_Y + 0.02, -4, -HALF_Y + 0.02, 1.3, 3.1, notice);
    sign(s, -HALF_X + 0.02, -1, -HALF_X + 0.02, 0.8, 1.4, 3, notice);
    for (int i = 0; i < 4; i++) {
        double x = i < 2 ? 4.8 : -4.8, y = i % 2 ? 4.4 : -4.0;
        add_box(s, x, y, 0, 0.5, 0.5, 3.0, kind[3], kind[3], 150);
        add_box(s, x, y, 3.0, 2.2, 2.2, 1.6, fruit, kind[0], 110);
    }
    add_box(s, 7.0, 0.6, 0, 1.2, 1.2, 1.1, box, box, 0);
    add_box(s, -0.6, 5.6, 0, 2.6, 0.8, 0.9, box, box, 0);
    add_box(s, -7.2, 0.8, 0, 1.0, 3.0, 0.8, kind[2], kind[0], 110);
    add_box(s, 1.8, -5.4, 0, 0.8, 0.8, 1.5, kind[2], kind[0], 110);
    add_mover(s, 1.0, 6.9, 1.4, 0.7, fruit, 5.5, 0.4, 0.5, 7.9);
    add_mover(s, -8.6, -2.0, 0.1, 0.9, box, 0.4, 4, 0, 8.3);
}

struct st_scene *st_scene_new(enum st_place place, uint64_t seed)
{
    struct st_scene *s = FL_NEW(struct st_scene, 1);
    s->seed = seed;
    if (place == ST_HARBOUR)
        build_harbour(s);
    else if (place == ST_ORCHARD)
        build_orchard(s, false);
    else if (place == ST_PARLOUR)
        build_orchard(s, true);
    else
        build_foundry(s, place == ST_CELLAR ? 0.3 : 1);
    return s;
}

void st_scene_add_posts(struct st_scene *s)
{
    enum { POSTS = 6 };
    const double off_m = 3, high_m = 14, thick_m = 0.3;
    const struct st_texture *side =
        paint(s, ST_BLOCKS, 256, (struct st_paint){0.5f, 0.2f, 118, 138, 0.35f});
    for (int i = 0; i < POSTS; i++) {
        double angle = (i + 0.25) * 2 * FL_PI / POSTS;
        add_box(s, off_m * cos(angle), off_m * sin(angle), 0, thick_m, thick_m, high_m, side, side,
                120);
    }
}

void st_scene_free(struct st_scene **scene)
{
    struct st_scene *s = *scene;
    if (!s)
        return;
    for (int i = 0; i < s->n_textures; i++)
        st_texture_finish(&s->texture[i]);
    for (int i = 0; i < s->n_rects; i++)
        free(s->rect[i].light);
    for (int i = 0; i < s->n_signs; i++)
        free(s->sign[i].light);
    for (int i = 0; i < s->n_boxes; i++)
        for (int k = 0; k < FACES; k++)
            free(s->box[i].face[k].light);
    st_picture_finish(&s->backdrop.picture);
    free(s);
    *scene = NULL;
}

/* ---- drawing: walls and ground, then signs, then boxes from far to near ---- */

struct near_box {
    struct box box;
    double distance;
};

static int far_first(const void *a, const void *b)
{
    double x = ((const struct near_box *)a)->distance, y = ((const struct near_box *)b)->distance;
    return (x < y) - (x > y);
}

static void draw_boxes(const struct st_scene *s, const struct st_view *view, double game_s)
{
    static _Thread_local struct near_box order[MAX_BOXES];
    for (int i = 0; i < s->n_boxes; i++) {
        order[i].box = s->box[i];
        struct box *b = &order[i].box;
        double at[3], d2 = 0;
        for (int k = 0; k < 3; k++) {
            double phase = b->period_s > 0 ? 2 * FL_PI * game_s / b->period_s + k * 1.3 : 0;
            at[k] = b->centre[k] + b->reach[k] * sin(phase);
            double d = at[k] + (k == 2 ? b->size[2] / 2 : 0) - view->position[k];
            d2 += d * d;
        }
        if (b->period_s > 0)
            place_faces(s, b, at, false);
        order[i].distance = d2;
    }
    qsort(order, (size_t)s->n_boxes, sizeof *order, far_first);
    for (int i = 0; i < s->n_boxes; i++)
        for (int k = 0; k < FACES; k++)
            st_draw_rect(view, &order[i].box.face[k]);
}

static bool same_camera(const struct st_camera *a, const struct st_camera *b)
{
    for (int k = 0; k < 3; k++)
        if (a->position[k] != b->position[k])
            return false;
    return a->yaw_deg == b->yaw_deg && a->pitch_deg == b->pitch_deg && a->focal_px == b->focal_px;
}

static void copy_picture(struct st_picture *to, const struct st_picture *from)
{
    for (int i = 0; i < 3; i++)
        memcpy(to->plane[i], from->plane[i],
               (size_t)from->stride[i] * (size_t)(from->height >> (i > 0)));
}

static void keep_backdrop(struct backdrop *b, const struct st_camera *camera,
                          const struct st_picture *picture)
{
    if (b->picture.width != picture->width || b->picture.height != picture->height) {
        st_picture_finish(&b->picture);
        st_picture_init(&b->picture, picture->width, picture->height);
    }
    copy_picture(&b->picture, picture);
    b->camera = *camera;
    b->drawn = true;
}

/* A hand at rest is a third of most takes: what stands still is then drawn once. */
static void draw_backdrop(struct st_scene *s, const struct st_view *view,
                          const struct st_camera *camera, struct st_picture *picture)
{
    struct backdrop *b = &s->backdrop;
    if (b->drawn && same_camera(&b->camera, camera) && b->picture.width == picture->width &&
        b->picture.height == picture->height) {
        copy_picture(picture, &b->picture);
        return;
    }
    for (int i = 0; i < 3; i++)
        memset(picture->plane[i], i ? 128 : 30,
               (size_t)picture->stride[i] * (size_t)(picture->height >> (i > 0)));
    for (int i = 0; i < s->n_rects; i++)
        st_draw_rect(view, &s->rect[i]);
    for (int i = 0; i < s->n_signs; i++)
        st_draw_rect(view, &s->sign[i]);
    keep_backdrop(b, camera, picture);
}

void st_scene_draw(struct st_scene *s, const struct st_camera *camera, double game_s,
                   struct st_picture *picture)
{
    struct st_view view;
    st_view_init(&view, camera, picture);
    draw_backdrop(s, &view, camera, picture);
    draw_boxes(s, &view, game_s);
}
