/* The charts for publication as files: charts/KIND-WHAT.svg and so on. */
#ifndef FL_SHOW_CHART_CHART_WRITER_H
#define FL_SHOW_CHART_CHART_WRITER_H

#include "show/store/writer.h"

/* A timeline for each take; for a session the ranking, and for each of its games and conditions the
 * trip curves, V50 by resolution, rates and delays, where there is something to show. Which kinds,
 * themes, sizes and formats: settings->charts. */
extern const struct fl_writer fl_chart_writer;

#endif
