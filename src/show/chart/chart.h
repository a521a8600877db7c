/* Charts for publication, 16:9, each a picture of its own: title, lead, body, note.
 *
 * One drawing becomes SVG and PDF, and PNG of 1920×1080 and 3840×2160. Lengths inside are px of
 * struct fl_surface, FL_PLAIN_PX high text; how many of them there are follows from the text size.
 */
#ifndef FL_SHOW_CHART_CHART_H
#define FL_SHOW_CHART_CHART_H

#include "show/draw/surface.h"
#include "show/store/chart_settings.h"
#include "show/text/game_groups.h"
#include "study/curve/curve.h"

struct fl_box {
    double x, y, w, h;
};

struct fl_chart {
    char *title; /* a question or a name; plain text, malloc'ed, as the next three */
    char *lead;  /* what is drawn, in which unit, with the answer where there is one; two lines at
                    most */
    char *note;  /* what marks and bands mean, how it was captured; two lines at most */
    char *desc;  /* the figures in words, for who does not see the picture */
    double least_w,
        least_h; /* of the body: text shrinks, down to FL_CHART_TEXT_FLOOR, until it has that */
    void (*draw)(struct fl_surface *c, struct fl_box body, const void *data);
    const void *data;
};
#define FL_CHART_TEXT_FLOOR 14 /* px where the picture is 1080 px high */
void fl_chart_finish(struct fl_chart *p);

/* folder/charts/NAME[.THEME][.2160].EXT in every theme, format and size of the settings; "light"
 * and 1080 are not said, and SVG and PDF have no size. Equal charts are equal files, byte for byte.
 */
enum flinch_code fl_chart_write(const struct fl_chart *p, const struct fl_chart_settings *set,
                                const char *folder, const char *name, struct fl_error *err);
/* The SVG text, malloc'ed. */
char *fl_chart_svg(const struct fl_chart *p, const struct fl_chart_settings *set,
                   enum fl_theme theme);

/* What one draws from must outlive it. */
struct fl_chart fl_ranking_chart(const struct fl_session *s);
/* Every row of it in sentences, malloc'ed. */
char *fl_ranking_words(const struct fl_session *s);
/* Trip curves of a game and condition, one a setting. */
struct fl_chart fl_curve_chart(const struct fl_session *s, const struct fl_group *g);
/* V50 against counts per inch in four quantities; draws a message when it has fewer than two. */
struct fl_resolutions {
    const struct fl_session *s;
    const struct fl_group *g;
};
bool fl_resolution_chart_due(
    const struct fl_resolutions *r); /* two settings of counts per inch or more */
struct fl_chart fl_resolution_chart(const struct fl_resolutions *r);
struct fl_chart fl_timeline_chart(const struct fl_take *t);
/* Unique rates while on and while off, over the takes of a game and condition. */
bool fl_rate_chart_due(const struct fl_group *g); /* some rate was seen */
struct fl_chart fl_rate_chart(const struct fl_session *s, const struct fl_group *g);
/* Waits for trip and return. */
struct fl_waits_of {
    const struct fl_session *s;
    const struct fl_group *g;
    const struct fl_delay *trip, *back;
};
bool fl_delay_chart_find(struct fl_waits_of *w, const struct fl_session *s,
                         const struct fl_group *g); /* some case */
struct fl_chart fl_delay_chart(const struct fl_waits_of *w);

/* Pieces (chart_parts.c). */
/* As fl_group_name, of at most FL_CHART_NAME characters, closed by a mark that keeps text after it
 * from being turned by a name that runs from right to left. malloc'ed. */
enum { FL_CHART_NAME = 44 };
char *fl_chart_name(const char *game, const char *condition);
/* How the takes were captured: "Capture card, 120 frames/s. Autumn survey, 2026-11-03." n takes;
 * session NULL: none. malloc'ed. */
char *fl_chart_source(const struct fl_take *const *takes, size_t n, const char *session);
/* "1 flick", "12 flicks". */
enum { FL_COUNT_SIZE = 64 };
const char *fl_chart_count(char buf[FL_COUNT_SIZE], long n, const char *one, const char *many);
/* An interval on a horizontal axis at y, from low to high, with caps of 2·cap; NaN or outside:
 * open, an arrow at the axis' end. */
void fl_chart_interval(struct fl_surface *c, const struct fl_axis *a, double y, double low,
                       double high, double cap, enum fl_colour colour);
/* The same on a vertical axis at x. */
void fl_chart_upright(struct fl_surface *c, const struct fl_axis *a, double x, double low,
                      double high, double cap, enum fl_colour colour);
/* Marks of flicks along an axis, stacked away from y (up: towards the top) within `room`; those of
 * one outcome. */
void fl_chart_flicks(struct fl_surface *c, const struct fl_axis *a, double y, double room, bool up,
                     const struct fl_curve *curve, bool tripped, int shape, enum fl_colour colour);
/* Hatch of many boxes on one grid, slanting the one way or the other; boxes: n. */
void fl_chart_hatch(struct fl_surface *c, const struct fl_box *boxes, size_t n, double step,
                    bool backward, enum fl_colour colour);

#endif
