/* What charts are to be written, and how; zeroed is the default. */
#ifndef FL_SHOW_STORE_CHART_SETTINGS_H
#define FL_SHOW_STORE_CHART_SETTINGS_H

#include "base/error.h"

enum fl_chart_format { FL_CHART_SVG, FL_CHART_PNG, FL_CHART_PDF, FL_CHART_FORMATS };
enum fl_chart_size { FL_CHART_1080, FL_CHART_2160, FL_CHART_SIZES };

#define FL_CHART_TEXT_PX 28 /* height of running text by default */
#define FL_CHART_TEXT_LEAST 18
#define FL_CHART_TEXT_MOST 32 /* that every chart of a few settings has room for */

/* Sets are bit masks, 1 << member. */
struct fl_chart_settings {
    unsigned kinds;    /* of charts, in the order of their words; 0: all */
    unsigned formats;  /* enum fl_chart_format; 0: SVG and PNG */
    unsigned themes;   /* enum fl_theme; 0: light */
    unsigned sizes;    /* enum fl_chart_size, of PNG; 0: 1080 */
    double text_px;    /* of running text where the picture is 1080 px high; 0: FL_CHART_TEXT_PX */
    const char *title; /* in place of each chart's own; NULL: none */
};

/* The words of each set, in the order of its members; NULL ends it. */
extern const char *const fl_chart_format_words[], *const fl_chart_theme_words[],
                                                      *const fl_chart_size_words[];
/* A list of words of a set, "light,dark", to a mask; NULL: the mask stays. option is for the
 * message: "--chart-themes". FLINCH_ERR_USAGE for an unknown, repeated or missing word. */
enum flinch_code fl_word_mask(unsigned *mask, const char *const *names, const char *option,
                              const char *words, struct fl_error *err);
/* Single words of the lists, as in file names. */
const char *fl_chart_format_name(enum fl_chart_format f);
const char *fl_theme_name(int theme);

#endif
