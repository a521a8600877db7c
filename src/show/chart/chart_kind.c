/* Of a session the ranking, of each game and condition its curves, resolutions, rates, delays and
 * stick, of each game what it watches, of a take its course. */
#include "show/chart/chart_kind.h"

const struct fl_chart_kind fl_chart_kinds[FL_CHART_KINDS] = {
    {FL_CHART_OF_SESSION, fl_ranking_chart_due, fl_ranking_chart},
    {FL_CHART_OF_GROUP, fl_curve_chart_due, fl_curve_chart},
    {FL_CHART_OF_GROUP, fl_resolution_chart_due, fl_resolution_chart},
    {FL_CHART_OF_GROUP, fl_watched_chart_due, fl_watched_chart},
    {FL_CHART_OF_GROUP, fl_rate_chart_due, fl_rate_chart},
    {FL_CHART_OF_GROUP, fl_delay_chart_due, fl_delay_chart},
    {FL_CHART_OF_GROUP, fl_stick_chart_due, fl_stick_chart},
    {FL_CHART_OF_TAKE, NULL, fl_timeline_chart},
};

const char *const fl_chart_kind_words[FL_CHART_KINDS + 1] = {
    "ranking", "curve", "resolution", "watched", "rate", "delay", "stick", "timeline"};
