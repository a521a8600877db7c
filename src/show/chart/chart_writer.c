/* Draws the charts for publication, those of a take and those of a session. */
#include "show/chart/chart_writer.h"

#include <stdio.h>
#include <stdlib.h>

#include "base/mem.h"
#include "show/chart/chart.h"
#include "show/text/escape.h"

/* Finishes the chart. what: "" for none. */
static enum flinch_code write_chart(struct fl_chart p, const struct fl_show_settings *settings,
                                    const char *folder, const char *kind, const char *what,
                                    struct fl_error *err)
{
    char *name = fl_format("%s%s%s", kind, *what ? "-" : "", what);
    static const struct fl_chart_settings plain;
    enum flinch_code code =
        fl_chart_write(&p, settings ? &settings->charts : &plain, folder, name, err);
    free(name);
    fl_chart_finish(&p);
    return code;
}

static bool wanted(const struct fl_show_settings *settings, enum fl_chart_kind kind)
{
    return !settings || !settings->charts.kinds || settings->charts.kinds & 1u << kind;
}

static enum flinch_code write_take(const char *folder, const struct fl_take *t,
                                   const struct fl_show_settings *settings, struct fl_error *err)
{
    if (!wanted(settings, FL_CHART_TIMELINE))
        return FLINCH_OK;
    locale_t was = fl_point_begin(); /* descriptions hold figures */
    enum flinch_code code =
        write_chart(fl_timeline_chart(t), settings, folder, "timeline", t->spec.id, err);
    fl_point_end(was);
    return code;
}

static enum flinch_code write_group(const char *folder, const struct fl_session *s,
                                    const struct fl_group *g,
                                    const struct fl_show_settings *settings, struct fl_error *err)
{
    enum flinch_code code = FLINCH_OK;
    const struct fl_resolutions resolutions = {s, g};
    struct fl_waits_of waits;
    if (wanted(settings, FL_CHART_CURVE) && (g->n_curves || g->pooled))
        code = write_chart(fl_curve_chart(s, g), settings, folder, "curve", g->slug, err);
    if (!code && wanted(settings, FL_CHART_RESOLUTION) && fl_resolution_chart_due(&resolutions))
        code = write_chart(fl_resolution_chart(&resolutions), settings, folder, "resolution",
                           g->slug, err);
    if (!code && wanted(settings, FL_CHART_RATE) && fl_rate_chart_due(g))
        code = write_chart(fl_rate_chart(s, g), settings, folder, "rate", g->slug, err);
    if (!code && wanted(settings, FL_CHART_DELAY) && fl_delay_chart_find(&waits, s, g))
        code = write_chart(fl_delay_chart(&waits), settings, folder, "delay", g->slug, err);
    return code;
}

static enum flinch_code write_session(const char *folder, const struct fl_session *s,
                                      const struct fl_show_settings *settings, struct fl_error *err)
{
    locale_t was = fl_point_begin();
    struct fl_groups groups;
    fl_groups_make(&groups, s);
    enum flinch_code code = FLINCH_OK;
    for (size_t i = 0; i < groups.n && !code; i++)
        code = write_group(folder, s, &groups.v[i], settings, err);
    if (!code && s->n_results && wanted(settings, FL_CHART_RANKING))
        code = write_chart(fl_ranking_chart(s), settings, folder, "ranking", "", err);
    fl_groups_finish(&groups);
    fl_point_end(was);
    return code;
}

const struct fl_writer fl_chart_writer = {"charts", false, write_take, write_session};
