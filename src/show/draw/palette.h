/* The colours of charts and page, light and dark.
 *
 * No meaning hangs on colour alone: states differ by fill and hatch, series by mark and dash.
 * Series colours step in lightness, so they also stay apart in grey. */
#ifndef FL_SHOW_DRAW_PALETTE_H
#define FL_SHOW_DRAW_PALETTE_H

enum fl_colour {
    FL_PAPER,    /* ground */
    FL_INK,      /* text, main lines */
    FL_MUTED,    /* secondary text, axes */
    FL_RULE,     /* grid */
    FL_OFF,      /* synthesis off */
    FL_OFF_SOFT, /* ground of a lapse behind a line */
    FL_ON,       /* synthesis on */
    FL_UNSEEN,   /* hatch of stretches that tell nothing */
    FL_SERIES_1, /* four series, dark to light */
    FL_SERIES_2,
    FL_SERIES_3,
    FL_SERIES_4,
    FL_ON_STRONG, /* synthesis on as a mark of its own: stands off the ground, lighter than off */
    FL_COLOURS
};

struct fl_colour_info {
    const char *name;     /* CSS custom property without the dashes */
    unsigned light, dark; /* 0xRRGGBB */
};
extern const struct fl_colour_info fl_palette[FL_COLOURS];

/* What a picture stands on. Clear: on nothing; it goes over footage that nobody knows beforehand,
 * so its text and marks are light and wear a rim of FL_PAPER, which is dark there. */
enum fl_theme { FL_THEME_LIGHT, FL_THEME_DARK, FL_THEME_CLEAR, FL_THEMES };
unsigned fl_theme_rgb(enum fl_theme theme, enum fl_colour colour); /* 0xRRGGBB */

#endif
