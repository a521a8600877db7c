#include "raster.h"

#include <math.h>
#include <stddef.h>
#include <string.h>

#include "base/units.h"
#include "span.h"

enum { MAX_ROWS = 4096, MAX_BLOCKS = 4096 / ST_BLOCK + 2, MAX_CORNERS = 6 };

/* fmaxf and fminf mind NaN, which costs a call each; none comes here. */
static float larger(float a, float b)
{
    return a > b ? a : b;
}

static float smaller(float a, float b)
{
    return a < b ? a : b;
}

static double dot(const double *a, const double *b)
{
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}

static void cross(double *out, const double *a, const double *b)
{
    out[0] = a[1] * b[2] - a[2] * b[1];
    out[1] = a[2] * b[0] - a[0] * b[2];
    out[2] = a[0] * b[1] - a[1] * b[0];
}

void st_view_init(struct st_view *view, const struct st_camera *camera, struct st_picture *picture)
{
    double yaw = camera->yaw_deg * FL_PI / 180, pitch = camera->pitch_deg * FL_PI / 180;
    memcpy(view->position, camera->position, sizeof view->position);
    view->forward[0] = cos(yaw) * cos(pitch);
    view->forward[1] = sin(yaw) * cos(pitch);
    view->forward[2] = sin(pitch);
    view->right[0] = sin(yaw);
    view->right[1] = -cos(yaw);
    view->right[2] = 0;
    cross(view->down, view->forward, view->right);
    view->focal_px = camera->focal_px;
    view->picture = picture;
}

/* ---- outline: corners → picture, left and right end of every row ---- */

struct point {
    double x, y, z; /* camera: right, down, forward; after projection x and y are pixels */
};

static int clip_near(struct point *out, const struct point *in, int n)
{
    const double near = 0.05;
    int m = 0;
    for (int i = 0; i < n; i++) {
        struct point a = in[i], b = in[(i + 1) % n];
        if (a.z > near)
            out[m++] = a;
        if ((a.z > near) != (b.z > near)) {
            double t = (near - a.z) / (b.z - a.z);
            out[m++] = (struct point){a.x + t * (b.x - a.x), a.y + t * (b.y - a.y), near};
        }
    }
    return m;
}

static int project(const struct st_view *view, const struct st_rect *r, struct point *out)
{
    struct point corner[4];
    for (int i = 0; i < 4; i++) {
        double s = i == 1 || i == 2 ? r->width : 0, t = i >= 2 ? r->height : 0, d[3];
        for (int k = 0; k < 3; k++)
            d[k] = r->origin[k] + s * r->a[k] + t * r->b[k] - view->position[k];
        corner[i] = (struct point){dot(d, view->right), dot(d, view->down), dot(d, view->forward)};
    }
    int n = clip_near(out, corner, 4);
    for (int i = 0; i < n; i++) {
        double scale = view->focal_px / out[i].z;
        out[i].x = 0.5 * view->picture->width + scale * out[i].x;
        out[i].y = 0.5 * view->picture->height + scale * out[i].y;
    }
    return n;
}

struct outline {
    int first, last; /* rows [first, last) */
    float left[MAX_ROWS], right[MAX_ROWS];
};

static void add_edge(struct outline *o, struct point a, struct point b)
{
    if (a.y > b.y) {
        struct point t = a;
        a = b;
        b = t;
    }
    int first = (int)ceil(fmax(a.y - 0.5, o->first)), last = (int)ceil(fmin(b.y - 0.5, o->last));
    double slope = (b.x - a.x) / (b.y - a.y);
    for (int y = first; y < last; y++) {
        float x = (float)(a.x + (y + 0.5 - a.y) * slope);
        o->left[y] = smaller(o->left[y], x);
        o->right[y] = larger(o->right[y], x);
    }
}

static bool trace_outline(struct outline *o, const struct point *p, int n, int height)
{
    double top = 1e9, bottom = -1e9;
    for (int i = 0; i < n; i++) {
        top = fmin(top, p[i].y);
        bottom = fmax(bottom, p[i].y);
    }
    if (n < 3 || top >= height || bottom <= 0)
        return false;
    o->first = (int)ceil(fmax(top - 0.5, 0));
    o->last = (int)ceil(fmin(bottom - 0.5, height));
    for (int y = o->first; y < o->last; y++) {
        o->left[y] = 1e9f;
        o->right[y] = -1e9f;
    }
    for (int i = 0; i < n; i++)
        add_edge(o, p[i], p[(i + 1) % n]);
    return o->first < o->last;
}

/* ---- the plane: along the ray d, a = au(d)/w(d), b = bv(d)/w(d), all linear in the pixel ---- */

struct plane {
    double a0, ax, ay, b0, bx, by, w0, wx, wy; /* at pixel (0,0), per column, per row */
    double scale_u, scale_v;                   /* texels of level 0 per metre */
};

static void linear(const struct st_view *v, const double *n, double sign, double *c0, double *cx,
                   double *cy)
{
    *cx = sign * dot(n, v->right);
    *cy = sign * dot(n, v->down);
    *c0 = sign * v->focal_px * dot(n, v->forward) - 0.5 * v->picture->width * *cx -
          0.5 * v->picture->height * *cy;
}

static bool plane_init(struct plane *p, const struct st_view *view, const struct st_rect *r)
{
    double q[3], n[3], qb[3], aq[3];
    for (int k = 0; k < 3; k++)
        q[k] = r->origin[k] - view->position[k];
    cross(n, r->a, r->b);
    if (dot(q, n) <= 1e-6) /* seen from behind */
        return false;
    cross(qb, q, r->b);
    cross(aq, r->a, q);
    linear(view, n, 1, &p->w0, &p->wx, &p->wy);
    linear(view, qb, -1, &p->a0, &p->ax, &p->ay);
    linear(view, aq, -1, &p->b0, &p->bx, &p->by);
    p->scale_u = r->texels_per_m > 0 ? r->texels_per_m : r->texture->width / r->width;
    p->scale_v = r->texels_per_m > 0 ? r->texels_per_m : r->texture->height / r->height;
    return true;
}

static float light_at(const struct st_rect *r, float a, float b)
{
    if (!r->light)
        return r->flat_light;
    float x = a / (float)r->width * (float)(r->light_w - 1),
          y = b / (float)r->height * (float)(r->light_h - 1);
    x = larger(0, smaller(x, (float)r->light_w - 1.001f));
    y = larger(0, smaller(y, (float)r->light_h - 1.001f));
    int i = (int)x, j = (int)y;
    const float *g = r->light + j * r->light_w + i;
    float fx = x - (float)i, fy = y - (float)j;
    float top = g[0] + (g[1] - g[0]) * fx,
          low = g[r->light_w] + (g[r->light_w + 1] - g[r->light_w]) * fx;
    return top + (low - top) * fy;
}

/* Exact values at the block ends of one span. */
struct ends {
    float u[MAX_BLOCKS + 1], v[MAX_BLOCKS + 1], light[MAX_BLOCKS + 1], texels[MAX_BLOCKS + 1];
};

static void compute_ends(struct ends *e, const struct plane *p, const struct st_rect *r, double y,
                         int xs, int xe, int blocks)
{
    double a_row = p->a0 + p->ay * y, b_row = p->b0 + p->by * y, w_row = p->w0 + p->wy * y;
    float su = (float)p->scale_u, sv = (float)p->scale_v;
    for (int i = 0; i <= blocks; i++) {
        int column = xs + i * ST_BLOCK < xe ? xs + i * ST_BLOCK : xe;
        double x = column + 0.5;
        float inv = (float)(1 / (w_row + p->wx * x));
        float a = (float)(a_row + p->ax * x) * inv, b = (float)(b_row + p->bx * x) * inv;
        float ux = ((float)p->ax - a * (float)p->wx) * inv * su,
              uy = ((float)p->ay - a * (float)p->wy) * inv * su;
        float vx = ((float)p->bx - b * (float)p->wx) * inv * sv,
              vy = ((float)p->by - b * (float)p->wy) * inv * sv;
        float along_x = fabsf(ux) + fabsf(vx), along_y = fabsf(uy) + fabsf(vy);
        e->u[i] = a * su + (float)r->u0;
        e->v[i] = b * sv + (float)r->v0;
        e->light[i] = light_at(r, a, b);
        /* between the two directions, leaning to the coarser: a little blur rather than flicker */
        e->texels[i] = larger(along_x, along_y) * 0.7f + smaller(along_x, along_y) * 0.3f;
    }
}

static int level_of(float texels_per_px)
{
    int level = 0;
    for (float t = texels_per_px; t > 1.25f && level < ST_LEVELS - 2; t *= 0.5f)
        level++;
    return level;
}

/* 16.16 fixed point that wraps instead of overflowing: textures repeat. */
static int32_t fixed(float x)
{
    return (int32_t)(uint32_t)(int64_t)(x * 65536);
}

static void compute_blocks(struct st_block *out, const struct ends *e, const struct st_texture *t,
                           int xs, int xe, int blocks)
{
    static const float shrink[ST_LEVELS] = {1,        1 / 2.f,  1 / 4.f,   1 / 8.f,  1 / 16.f,
                                            1 / 32.f, 1 / 64.f, 1 / 128.f, 1 / 256.f};
    for (int i = 0; i < blocks; i++) {
        int n = xs + (i + 1) * ST_BLOCK < xe ? ST_BLOCK : xe - xs - i * ST_BLOCK;
        n = n < 1 ? 1 : n;
        int level = level_of(0.5f * (e->texels[i] + e->texels[i + 1]));
        float k = shrink[level], share = n == ST_BLOCK ? 1.0f / ST_BLOCK : 1.0f / (float)n;
        const struct st_level *l = &t->level[level], *c = &t->level[level + 1];
        struct st_block *b = out + i;
        b->quad = l->quad;
        b->chroma = c->chroma;
        b->u = fixed(e->u[i] * k - 0.5f);
        b->v = fixed(e->v[i] * k - 0.5f);
        b->du = fixed((e->u[i + 1] - e->u[i]) * k * share);
        b->dv = fixed((e->v[i + 1] - e->v[i]) * k * share);
        b->light = (int32_t)(e->light[i] * 65536);
        b->dlight = (int32_t)((e->light[i + 1] - e->light[i]) * 65536 * share);
        b->u_mask = (1u << l->width_bits) - 1;
        b->v_mask = (1u << l->height_bits) - 1;
        b->row_bits = (uint32_t)l->width_bits;
        b->cu_mask = (1u << c->width_bits) - 1;
        b->cv_mask = (1u << c->height_bits) - 1;
        b->crow_bits = (uint32_t)c->width_bits;
    }
}

static uint8_t blend(uint8_t under, uint8_t over, float cover)
{
    return (uint8_t)((float)under + ((float)over - (float)under) * cover + 0.5f);
}

static void put_luma(uint8_t *row, const uint8_t *span, int xs, int xe, float cover_left,
                     float cover_right)
{
    uint8_t first = row[xs], last = row[xe - 1];
    memcpy(row + xs, span, (size_t)(xe - xs));
    if (cover_left < 1)
        row[xs] = blend(first, row[xs], cover_left);
    if (cover_right < 1)
        row[xe - 1] = blend(last, row[xe - 1], cover_right);
}

static void draw_row(const struct st_view *view, const struct st_rect *r, const struct plane *p,
                     int y, float left, float right)
{
    static const struct st_span_kernels *kernels;
    static _Thread_local struct ends ends;
    static _Thread_local struct st_block block[MAX_BLOCKS];
    static _Thread_local uint8_t span[MAX_BLOCKS * ST_BLOCK], cb[MAX_BLOCKS * 8],
        cr[MAX_BLOCKS * 8];
    struct st_picture *pic = view->picture;
    if (right <= 0 || left >= (float)pic->width || right <= left)
        return;
    if (!kernels)
        kernels = st_span_kernels();
    float l = larger(left, 0), rr = smaller(right, (float)pic->width);
    int xs = (int)floorf(l), xe = (int)ceilf(rr);
    if (xe <= xs)
        return;
    float cover_left = 1, cover_right = 1;
    if (r->smooth && xe - xs == 1) {
        cover_left = rr - l;
    } else if (r->smooth) {
        cover_left = (float)(xs + 1) - l;
        cover_right = rr - (float)(xe - 1);
    }
    int blocks = (xe - xs + ST_BLOCK - 1) / ST_BLOCK;
    compute_ends(&ends, p, r, y + 0.5, xs, xe, blocks);
    compute_blocks(block, &ends, r->texture, xs, xe, blocks);
    kernels->luma(span, block, blocks);
    put_luma(pic->plane[0] + (ptrdiff_t)y * pic->stride[0], span, xs, xe, cover_left, cover_right);
    if (y & 1)
        return;
    kernels->chroma(cb, cr, block, blocks);
    int cs = (xs + 1) / 2, ce = (xe + 1) / 2;
    if (ce > cs) {
        ptrdiff_t at = (ptrdiff_t)(y / 2) * pic->stride[1] + cs;
        memcpy(pic->plane[1] + at, cb, (size_t)(ce - cs));
        memcpy(pic->plane[2] + at, cr, (size_t)(ce - cs));
    }
}

void st_draw_rect(const struct st_view *view, const struct st_rect *rect)
{
    static _Thread_local struct outline outline;
    struct point corner[MAX_CORNERS];
    struct plane plane;
    if (!plane_init(&plane, view, rect))
        return;
    int n = project(view, rect, corner);
    if (!trace_outline(&outline, corner, n, view->picture->height))
        return;
    for (int y = outline.first; y < outline.last; y++)
        draw_row(view, rect, &plane, y, outline.left[y], outline.right[y]);
}
