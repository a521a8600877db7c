/* The colours themselves. */
#include "show/draw/palette.h"

const struct fl_colour_info fl_palette[FL_COLOURS] = {
    [FL_PAPER] = {"paper", 0xfcfcfa, 0x16191e},
    [FL_INK] = {"ink", 0x1c232d, 0xe8eaed},
    [FL_MUTED] = {"muted", 0x59626f, 0xa3abb6},
    [FL_RULE] = {"rule", 0xd9dce0, 0x363c46},
    [FL_OFF] = {"off", 0xa83a0a, 0xff9a5c},
    [FL_OFF_SOFT] = {"off-soft", 0xf6dfd0, 0x4a2c1b},
    [FL_ON] = {"on", 0xc9dbe6, 0x2b4252},
    [FL_UNSEEN] = {"unseen", 0x98a0aa, 0x6d7682},
    [FL_SERIES_1] = {"series-1", 0x123f73, 0xb3d9fd},
    [FL_SERIES_2] = {"series-2", 0xa34a06, 0xf0a14e},
    [FL_SERIES_3] = {"series-3", 0x298377, 0x3fae9c},
    [FL_SERIES_4] = {"series-4", 0xac7cc0, 0xa472c2},
    [FL_ON_STRONG] = {"on-strong", 0x5a93b8, 0x4b86ad},
};

unsigned fl_theme_rgb(enum fl_theme theme, enum fl_colour colour)
{
    if (theme == FL_THEME_LIGHT)
        return fl_palette[colour].light;
    if (theme == FL_THEME_DARK)
        return fl_palette[colour].dark;
    switch (colour) {
    case FL_PAPER: return 0x0c0f13;
    case FL_MUTED: return 0xc6ccd4;
    case FL_RULE: return 0x8a929d; /* a grid on paper may be faint, one over footage is lost then */
    default: return fl_palette[colour].dark;
    }
}
