/* Boxes of a clip, by its size and by where the timeline goes. */
#include "show/clip/clip_layout.h"

#include <math.h>

#define SAFE 0.05  /* of the frame, on each side */
#define INSET 0.75 /* of the frame, for the picture */
#define PANEL 0.34 /* of the picture's height, for a panel below it */
#define OVER 0.225 /* for one over it: no graph */
#define FULL_HEIGHT 1080
#define FULL_WIDTH 1920
#define NARROW_WIDTH 1440

static int even(double x)
{
    return 2 * (int)lrint(x / 2);
}

static int picture_height(const struct fl_clip_settings *s)
{
    const int h = s->height ? s->height : s->a.take->height;
    return h & ~1;
}

void fl_clip_frame_size(const struct fl_clip_settings *s, int *width, int *height)
{
    const struct fl_take *t = s->a.take;
    *height = picture_height(s);
    *width = s->height ? even((double)*height * t->width / t->height) : t->width & ~1;
    if (!s->b.take && s->place == FL_CLIP_EXTEND)
        *height += even(PANEL * *height);
}

static struct fl_clip_box box(double x, double y, double w, double h)
{
    return (struct fl_clip_box){even(x), even(y), even(x + w) - even(x),
                                even(y + h) - even(y)}; /* neighbours share an edge */
}

/* The picture in a corner, figures beside it, the course below. */
static void lay_inset(struct fl_clip_layout *l, int width, int height)
{
    const double u = l->unit, w = width, h = height;
    l->picture = box(0, 0, INSET * w, INSET * h);
    const double x = l->picture.w, y = l->picture.h, gap = 30 * u, right = (1 - SAFE) * w;
    l->ground[0] = (struct fl_clip_box){l->picture.w, 0, width - l->picture.w, l->picture.h};
    l->ground[1] = (struct fl_clip_box){0, l->picture.h, width, height - l->picture.h};
    l->course = box(SAFE * w, y + 14 * u, (1 - 2 * SAFE) * w, (1 - SAFE) * h - y - 14 * u);
    l->tall = true;
    const double at[] = {SAFE * h, 0.205 * h, 0.335 * h, 0.465 * h, 0.595 * h},
                 high[] = {0.145, 0.115, 0.115, 0.115, 0.15};
    for (int i = 0; i < FL_READOUTS; i++)
        l->readout[i] = box(x + gap, at[i], right - x - gap, high[i] * h);
}

/* Figures in a row above the course, all within the box; the caption has so many lines. */
static void lay_rows(struct fl_clip_layout *l, struct fl_clip_box in, int lines)
{
    static const double share[] = {0.25, 0.19, 0.27, 0.29};
    const double u = l->unit, row = 62 * u;
    double x = in.x;
    for (int i = 0; i < FL_READOUT_CAPTION; i++) {
        l->readout[i] = box(x, in.y, share[i] * in.w, row);
        x += share[i] * in.w;
    }
    const double caption = (2 + 32 * lines) * u, top = in.y + row + caption;
    l->readout[FL_READOUT_CAPTION] = box(in.x, in.y + row, in.w, caption);
    l->course = box(in.x, top, in.w, in.y + in.h - top);
}

static void lay_panel(struct fl_clip_layout *l, bool over, int width, int height, int rows)
{
    const int panel = even((over ? OVER : PANEL) * rows);
    l->picture = (struct fl_clip_box){0, 0, width, rows};
    l->ground[0] = (struct fl_clip_box){0, height - panel, width, panel};
    l->see_through = over;
    lay_rows(l,
             box(SAFE * width, height - panel + 8 * l->unit, (1 - 2 * SAFE) * width,
                 panel - 8 * l->unit - SAFE * height),
             1);
}

/* The larger rectangle of the take's shape within a box, in its middle. */
static struct fl_clip_box fit(const struct fl_take *t, struct fl_clip_box in)
{
    const double scale = fmin((double)in.w / t->width, (double)in.h / t->height);
    struct fl_clip_box b = {0, 0, even(scale * t->width), even(scale * t->height)};
    b.x = in.x + even((in.w - b.w) / 2.0);
    b.y = in.y + even((in.h - b.h) / 2.0);
    return b;
}

static void lay_half(struct fl_clip_layout *l, const struct fl_clip_settings *s, int width,
                     int height, int side)
{
    const double u = l->unit, gap = 24 * u, half = width / 2.0, most = 0.56 * height;
    const double shape = (double)s->a.take->height / s->a.take->width;
    const int high = even(fmin(half * shape, most));
    const int x = side ? even(half) : 0, w = side ? width - even(half) : even(half);
    l->picture =
        fit(side ? s->b.take : s->a.take, (struct fl_clip_box){x + (side ? 2 : 0), 0, w - 2, high});
    l->ground[0] = (struct fl_clip_box){x, high, w, height - high};
    const double left = x + (side ? gap : SAFE * width),
                 right = x + w - (side ? SAFE * width : gap);
    const double top = high + 20 * u, most_high = 440 * u, room = (1 - SAFE) * height - top;
    lay_rows(l, box(left, top, right - left, fmin(room, most_high)), 2);
}

void fl_clip_lay_out(struct fl_clip_layout *l, const struct fl_clip_settings *s, int width,
                     int height, int side)
{
    const int rows = picture_height(s);
    const double least_width =
        s->b.take ? FULL_WIDTH : NARROW_WIDTH; /* narrow frames get smaller text */
    *l = (struct fl_clip_layout){.unit = fmin(rows / (double)FULL_HEIGHT, width / least_width)};
    if (s->b.take)
        lay_half(l, s, width, height, side);
    else if (s->place == FL_CLIP_INSET)
        lay_inset(l, width, height);
    else
        lay_panel(l, s->place == FL_CLIP_OVER, width, height, rows);
}
