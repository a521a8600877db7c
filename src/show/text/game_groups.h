/* A session's games and conditions, as charts and page go through them. */
#ifndef FL_SHOW_TEXT_GAME_GROUPS_H
#define FL_SHOW_TEXT_GAME_GROUPS_H

#include "study/curve/curve.h"
#include "study/take/session.h"

enum { FL_GROUP_CURVES = 8 };

struct fl_group {
    const char *game, *condition;
    enum fl_quantity quantity;                     /* the one that its curves are shown in */
    const struct fl_curve *pooled;                 /* NULL: none */
    const struct fl_curve *curve[FL_GROUP_CURVES]; /* one a resolution and sensitivity */
    size_t n_curves, left_out;                     /* left_out: further settings that did not fit */
    const struct fl_take **takes;
    size_t n_takes;    /* in the groups' array */
    bool control;      /* synthesis disabled in all takes */
    size_t lapses;     /* of its takes; of a group that is no control, those of controls aside */
    size_t n_settings; /* rows of the ranking */
    char *slug;        /* "GAME-CONDITION" for file names, unlike every other group's */
};

struct fl_groups {
    struct fl_group *v; /* n, in order of first appearance */
    size_t n;
};

void fl_groups_make(struct fl_groups *g, const struct fl_session *s);
void fl_groups_finish(struct fl_groups *g);
/* Game and condition are the group's. */
bool fl_group_has(const struct fl_group *g, const char *game, const char *condition);
/* The curve that speaks for the whole group: the pooled one, or that of its only setting; NULL
 * where no single one does. */
const struct fl_curve *fl_group_curve(const struct fl_group *g);

/* The quantity in which a take's motion is drawn in time: the first of camera speed, hand speed,
 * count rate, stick deflection and image step that was measured; FL_QUANTITIES: none. */
enum fl_quantity fl_course_quantity(const struct fl_take *t);
/* What a curve's takes were set to: "800 DPI, 26 cm per turn (0.044°/count)"; "all settings" when
 * pooled. DPI, as the trade says, are counts per inch; a turn is 360 degrees of the camera. */
enum { FL_SETTING_SIZE = 96 };
const char *fl_setting_text(char buf[FL_SETTING_SIZE], const struct fl_curve *c);
/* The same, shorter: "800 DPI · 26 cm per turn"; degrees per count where no resolution is given. */
const char *fl_desk_text(char buf[FL_SETTING_SIZE], double counts_per_inch,
                         double degrees_per_count);
/* V50 in words without the unit's name: "V50 128 deg/s (95 % interval 110 to 150)",
 * "V50 above 300 deg/s", … */
enum { FL_V50_SIZE = 320 };
const char *fl_v50_text(char buf[FL_V50_SIZE], const struct fl_curve *c);
/* Game and condition for people; the condition "default" goes without saying. malloc'ed. */
char *fl_group_name(const char *game, const char *condition);

#endif
