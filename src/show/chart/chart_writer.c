/* Draws the charts for publication, those of a take and those of a session, kind by kind. */
#include "show/chart/chart_writer.h"

#include <stdio.h>
#include <stdlib.h>

#include "base/mem.h"
#include "show/chart/chart_kind.h"
#include "show/text/escape.h"

static bool wanted(const struct fl_show_settings *settings, int kind)
{
    return !settings || !settings->charts.kinds || settings->charts.kinds & 1u << kind;
}

/* what: of the chart's name, "" for none. */
static enum flinch_code write_chart(int kind, const struct fl_chart_of *of,
                                    const struct fl_show_settings *settings, const char *folder,
                                    const char *what, struct fl_error *err)
{
    static const struct fl_chart_settings plain;
    struct fl_chart p = fl_chart_kinds[kind].make(of);
    char *name = fl_format("%s%s%s", fl_chart_kind_words[kind], *what ? "-" : "", what);
    enum flinch_code code =
        fl_chart_write(&p, settings ? &settings->charts : &plain, folder, name, err);
    free(name);
    fl_chart_finish(&p);
    return code;
}

/* Those of one scope that are wanted and have something to show. */
static enum flinch_code write_scope(enum fl_chart_scope scope, const struct fl_chart_of *of,
                                    const struct fl_show_settings *settings, const char *folder,
                                    const char *what, struct fl_error *err)
{
    enum flinch_code code = FLINCH_OK;
    for (int k = 0; k < FL_CHART_KINDS && !code; k++) {
        const struct fl_chart_kind *kind = &fl_chart_kinds[k];
        if (kind->scope == scope && wanted(settings, k) && (!kind->due || kind->due(of)))
            code = write_chart(k, of, settings, folder, what, err);
    }
    return code;
}

static enum flinch_code write_take(const char *folder, const struct fl_take *t,
                                   const struct fl_show_settings *settings, struct fl_error *err)
{
    locale_t was = fl_point_begin(); /* descriptions hold figures */
    enum flinch_code code = write_scope(FL_CHART_OF_TAKE, &(struct fl_chart_of){.t = t}, settings,
                                        folder, t->spec.id, err);
    fl_point_end(was);
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
        code = write_scope(FL_CHART_OF_GROUP, &(struct fl_chart_of){s, &groups.v[i], NULL},
                           settings, folder, groups.v[i].slug, err);
    if (!code)
        code = write_scope(FL_CHART_OF_SESSION, &(struct fl_chart_of){.s = s}, settings, folder, "",
                           err);
    fl_groups_finish(&groups);
    fl_point_end(was);
    return code;
}

const struct fl_writer fl_chart_writer = {"charts", false, write_take, write_session};
