/* What charts are to be written, and how; zeroed is the default. */
#ifndef FL_SHOW_STORE_PLATE_SETTINGS_H
#define FL_SHOW_STORE_PLATE_SETTINGS_H

#include "base/error.h"

enum fl_plate_kind {
    FL_PLATE_RANKING,
    FL_PLATE_CURVE,
    FL_PLATE_RESOLUTION,
    FL_PLATE_TIMELINE,
    FL_PLATE_RATE,
    FL_PLATE_DELAY,
    FL_PLATE_KINDS
};
enum fl_plate_format { FL_PLATE_SVG, FL_PLATE_PNG, FL_PLATE_PDF, FL_PLATE_FORMATS };
enum fl_plate_size { FL_PLATE_1080, FL_PLATE_2160, FL_PLATE_SIZES };

#define FL_PLATE_TEXT_PX 28 /* height of running text by default */
#define FL_PLATE_TEXT_LEAST 18
#define FL_PLATE_TEXT_MOST 44

/* Sets are bit masks, 1 << member. */
struct fl_plate_settings {
    unsigned kinds;    /* enum fl_plate_kind; 0: all */
    unsigned formats;  /* enum fl_plate_format; 0: SVG and PNG */
    unsigned themes;   /* enum fl_theme; 0: light */
    unsigned sizes;    /* enum fl_plate_size, of PNG; 0: 1080 */
    double text_px;    /* of running text where the picture is 1080 px high; 0: FL_PLATE_TEXT_PX */
    const char *title; /* in place of each chart's own; NULL: none */
};

/* The words of each set, in the order of its members; NULL ends it. */
extern const char *const fl_plate_kind_words[],
    *const fl_plate_format_words[], *const fl_plate_theme_words[], *const fl_plate_size_words[];
/* A list of words, "ranking,curve", to a mask; NULL: the mask stays. option is for the message:
 * "--charts". FLINCH_ERR_USAGE for an unknown, repeated or missing word. */
enum flinch_code fl_plate_kinds(unsigned *mask, const char *option, const char *words,
                                struct fl_error *err);
enum flinch_code fl_plate_formats(unsigned *mask, const char *option, const char *words,
                                  struct fl_error *err);
enum flinch_code fl_plate_themes(unsigned *mask, const char *option, const char *words,
                                 struct fl_error *err);
enum flinch_code fl_plate_sizes(unsigned *mask, const char *option, const char *words,
                                struct fl_error *err);
/* Single words of the lists, as in file names. */
const char *fl_plate_format_name(enum fl_plate_format f);
const char *fl_theme_name(int theme);

#endif
