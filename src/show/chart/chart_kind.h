/* The kinds of charts: to add one is a file that makes it, a word and a row here. It then stands in
 * charts/, in every theme, format and size, and on the page. */
#ifndef FL_SHOW_CHART_CHART_KIND_H
#define FL_SHOW_CHART_CHART_KIND_H

#include "show/chart/chart.h"

enum fl_chart_scope { FL_CHART_OF_SESSION, FL_CHART_OF_GROUP, FL_CHART_OF_TAKE };

struct fl_chart_kind {
    enum fl_chart_scope scope;                 /* what there is one of it for */
    bool (*due)(const struct fl_chart_of *of); /* there is something to show */
    struct fl_chart (*make)(const struct fl_chart_of *of);
};

enum { FL_CHART_KINDS = 8 };
/* In the page's order, those of one scope. */
extern const struct fl_chart_kind fl_chart_kinds[FL_CHART_KINDS];
/* Their names, in files and options; NULL ends them. */
extern const char *const fl_chart_kind_words[FL_CHART_KINDS + 1];

#endif
