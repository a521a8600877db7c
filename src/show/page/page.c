/* The page as a whole: its order, its policy for scripts, and what opens it. */
#include "show/page/page.h"

#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "base/mem.h"
#include "show/page/page_code.h"
#include "show/text/escape.h"
#include "study/compare/eye_check.h"

static void put_head(FILE *out, const struct fl_session *s)
{
    fputs("<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
          "<meta name=\"viewport\" content=\"width=device-width,initial-scale=1\">\n"
          "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; base-uri "
          "'none'; form-action 'none'; style-src "
          "'unsafe-inline'",
          out);
    /* Nothing is loaded from elsewhere and nothing else runs, whatever a name contains. */
    if (fl_page_code.script)
        fprintf(out, "; script-src %s; img-src 'self' file: data: blob:", fl_page_code.policy);
    fputs("\">\n<meta name=\"generator\" content=\"flinch " FLINCH_VERSION "\">\n<title>", out);
    fl_put_markup(out, s->name ? s->name : "Report");
    fputs("</title>\n", out);
    fl_page_style(out);
    if (fl_page_code.script)
        fprintf(out, "<style>\n%s</style>\n<script>%s</script>\n", fl_page_code.style,
                fl_page_code.early);
    fputs("</head>\n<body>\n", out);
}

static void put_opening(FILE *out, const struct fl_session *s)
{
    double minutes = 0;
    for (size_t i = 0; i < s->n_takes; i++)
        minutes += s->takes[i]->duration_s / 60;
    fputs("<header><h1>", out);
    fl_put_markup(out, s->name ? s->name : "Report");
    fprintf(out,
            "</h1>\n<p class=\"lead\">When fast motion switches frame synthesis off: %zu take%s, "
            "%.1f minutes of "
            "footage.</p>\n",
            s->n_takes, s->n_takes == 1 ? "" : "s", minutes);
    if (s->eye_check)
        fprintf(out, "<p class=\"lead\">Checked by eye: %s.</p>\n", s->eye_check->text);
    fputs(
        "<nav aria-label=\"Parts of this report\"><a href=\"#answers\">In short</a><a "
        "href=\"#ranking\">Ranking</a>"
        "<a href=\"#details\">Answers</a>"
        "<a href=\"#games\">Games</a><a href=\"#takes\">Takes</a><a href=\"#warnings\">Warnings</a>"
        "<a href=\"#method\">Method</a></nav></header>\n<main>\n",
        out);
}

static void put_ranking(FILE *out, const struct fl_session *s)
{
    fputs("<h2 id=\"ranking\" class=\"opening\">Ranking</h2>\n", out);
    if (s->n_results)
        fl_page_charts(out, FL_CHART_OF_SESSION, &(struct fl_chart_of){.s = s}, 0);
    else
        fputs("<p>No take could be ranked.</p>\n", out);
    fl_page_comparisons(out, s);
    fl_page_quantities(out, s);
}

static void put_games(FILE *out, const struct fl_session *s, const struct fl_groups *groups)
{
    fputs("<h2 id=\"games\">Games</h2>\n", out);
    for (size_t i = 0; i < groups->n; i++) {
        const struct fl_group *g = &groups->v[i];
        if (!g->n_curves && !g->pooled)
            continue;
        char *name = fl_group_name(g->game, g->condition);
        fputs("<h3>", out);
        fl_put_markup(out, name);
        fputs("</h3>\n", out);
        fl_page_charts(out, FL_CHART_OF_GROUP, &(struct fl_chart_of){s, g, NULL}, i);
        fl_page_curves(out, s, g);
        fl_page_rules(out, s, g);
        fl_page_repeats(out, s, g);
        free(name);
    }
}

void fl_page_write(FILE *out, const struct fl_session *s, const char *folder,
                   const struct fl_show_settings *settings)
{
    struct fl_groups groups;
    fl_groups_make(&groups, s);
    put_head(out, s);
    put_opening(out, s);
    fputs("<h2 id=\"answers\" class=\"opening\">In short</h2>\n", out);
    fl_page_brief(out, s, &groups);
    fl_page_caution(out, s);
    put_ranking(out, s);
    fputs("<p class=\"care\">Footage of this kind flickers and turns fast. It can trigger seizures "
          "in photosensitive "
          "viewers and nausea in others: warn before showing clips, and offer these charts "
          "instead. Recording many fast "
          "flicks strains hand and arm: take breaks, and stop when it hurts.</p>\n",
          out);
    fputs("<h2 id=\"details\">Answers in full</h2>\n", out);
    fl_page_answers(out, s, &groups);
    fl_page_top_warnings(out, s);
    put_games(out, s, &groups);
    fl_page_takes(out, s, folder, settings);
    fl_page_warnings(out, s);
    fl_page_method(out, s);
    fputs("</main>\n<footer><p>Made by flinch " FLINCH_VERSION
          ". The figures behind this page are beside it: "
          "<code>session.json</code>, <code>takes/</code>, <code>charts/</code> and "
          "<code>strips/</code>.</p></footer>\n",
          out);
    if (fl_page_code.script)
        fprintf(out, "<script>%s</script>\n", fl_page_code.script);
    fputs("</body>\n</html>\n", out);
    fl_groups_finish(&groups);
}

static enum flinch_code write_session(const char *folder, const struct fl_session *s,
                                      const struct fl_show_settings *settings, struct fl_error *err)
{
    char *path = fl_path_join(folder, "report.html");
    struct fl_file file;
    enum flinch_code code = fl_file_begin(&file, path, err);
    if (!code) {
        locale_t was = fl_point_begin();
        fl_page_write(file.stream, s, folder, settings);
        fl_point_end(was);
        code = fl_file_commit(&file, err);
    }
    free(path);
    return code;
}

const struct fl_writer fl_page_writer = {"page", false, NULL, write_session};
