/* Charts: title, lead, body, note. For publication each is a picture of its own, 16:9; on the page
 * the body is drawn in the width that there is and in the page's colours, the words are text.
 *
 * One drawing becomes SVG and PDF, PNG of 1920×1080 and 3840×2160, and the page's SVG. Lengths
 * inside are px of struct fl_surface, FL_PLAIN_PX high text; how many of them there are follows
 * from the text size. */
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
    /* Of the body on a page so wide, px; what has one can also be drawn on a narrow surface, down
     * to FL_PAGE_PHONE. NULL: it keeps least_w, and a narrow page rolls it. */
    double (*height)(const void *data, double width);
    void (*draw)(struct fl_surface *c, struct fl_box body, const void *data);
    const void *data;
};
#define FL_CHART_TEXT_FLOOR 14 /* px where the picture is 1080 px high */
void fl_chart_finish(struct fl_chart *p);
/* Draws it on c, whose cr spans 1920×1080 and whose theme and on_text hold; sets the rest of c. */
void fl_chart_draw(struct fl_surface *c, const struct fl_chart *p,
                   const struct fl_chart_settings *set);

/* folder/charts/NAME[.THEME][.2160].EXT in every theme, format and size of the settings; "light"
 * and 1080 are not said, and SVG and PDF have no size. Equal charts are equal files, byte for byte.
 */
enum flinch_code fl_chart_write(const struct fl_chart *p, const struct fl_chart_settings *set,
                                const char *folder, const char *name, struct fl_error *err);
/* The SVG text, malloc'ed. */
char *fl_chart_svg(const struct fl_chart *p, const struct fl_chart_settings *set,
                   enum fl_theme theme);
/* The body alone, for inlining in a page: see fl_drawing_svg. Wider than asked for where the chart
 * needs it. malloc'ed. */
char *fl_chart_body_svg(const struct fl_chart *p, double width, const char *prefix);

/* What a chart is of; members that its kind has no use for are NULL. It must outlive the chart. */
struct fl_chart_of {
    const struct fl_session *s;
    const struct fl_group *g; /* a game and condition */
    const struct fl_take *t;
};

/* Settings by trip speed. Every row of it in sentences, malloc'ed. */
bool fl_ranking_chart_due(const struct fl_chart_of *of);
struct fl_chart fl_ranking_chart(const struct fl_chart_of *of);
char *fl_ranking_words(const struct fl_session *s);
/* Trip curves of a group, one a setting. */
bool fl_curve_chart_due(const struct fl_chart_of *of);
struct fl_chart fl_curve_chart(const struct fl_chart_of *of);
/* V50 against counts per inch in four quantities; due with two resolutions or more. */
bool fl_resolution_chart_due(const struct fl_chart_of *of);
struct fl_chart fl_resolution_chart(const struct fl_chart_of *of);
/* V50 at each setting in each quantity that a game may watch; one a game, with its first
 * condition. */
bool fl_watched_chart_due(const struct fl_chart_of *of);
struct fl_chart fl_watched_chart(const struct fl_chart_of *of);
/* Unique rates while on and while off, over the takes of a group. */
bool fl_rate_chart_due(const struct fl_chart_of *of);
struct fl_chart fl_rate_chart(const struct fl_chart_of *of);
/* Waits for trip and return in a group. */
bool fl_delay_chart_due(const struct fl_chart_of *of);
struct fl_chart fl_delay_chart(const struct fl_chart_of *of);
/* Turn rate against deflection of a stick, a curve a take of a group. */
bool fl_stick_chart_due(const struct fl_chart_of *of);
struct fl_chart fl_stick_chart(const struct fl_chart_of *of);
/* A take's states, unique rate and speed on one time axis. */
struct fl_chart fl_timeline_chart(const struct fl_chart_of *of);

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
/* The longer text where it fits into limit, else the shorter one; as fl_draw_text. */
void fl_chart_text(struct fl_surface *c, double x, double y, enum fl_anchor anchor,
                   enum fl_face face, enum fl_colour colour, double limit, const char *longer,
                   const char *shorter);
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
