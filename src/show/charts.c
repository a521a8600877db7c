#include "show/charts.h"

#include <stdio.h>
#include <stdlib.h>

#include "show/escape.h"

static enum flinch_code write_drawing(struct fl_drawing d, const char *folder, const char *kind, const char *what,
                                      struct fl_error *err)
{
    char *name = NULL;
    if (asprintf(&name, "%s%s%s", kind, *what ? "-" : "", what) < 0)
        abort();
    enum flinch_code code = fl_drawing_write(&d, folder, name, err);
    free(name);
    fl_drawing_finish(&d);
    return code;
}

static enum flinch_code write_take(const char *folder, const struct fl_take *t, const struct fl_show_settings *settings,
                                   struct fl_error *err)
{
    (void)settings;
    locale_t was = fl_point_begin(); /* descriptions hold figures */
    enum flinch_code code = write_drawing(fl_timeline_drawing(t), folder, "timeline", t->spec.id, err);
    fl_point_end(was);
    return code;
}

static enum flinch_code write_session(const char *folder, const struct fl_session *s,
                                      const struct fl_show_settings *settings, struct fl_error *err)
{
    (void)settings;
    locale_t was = fl_point_begin();
    struct fl_groups groups;
    fl_groups_make(&groups, s);
    enum flinch_code code = FLINCH_OK;
    for (size_t i = 0; i < groups.n && !code; i++)
        if (groups.v[i].n_curves || groups.v[i].pooled)
            code = write_drawing(fl_curve_drawing(&groups.v[i]), folder, "curve", groups.v[i].slug, err);
    if (!code && s->n_ranks)
        code = write_drawing(fl_ranking_drawing(s), folder, "ranking", "", err);
    fl_groups_finish(&groups);
    fl_point_end(was);
    return code;
}

const struct fl_writer fl_chart_writer = {"charts", write_take, write_session};
