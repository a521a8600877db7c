/* Which charts are drawn, and how: the words of each list are those of the charts' kinds and
 * settings. */
#include "cli/chart_options.h"

#include "show/chart/chart_kind.h"

#define AT(member) offsetof(struct fl_chart_options, member)
const struct fl_option fl_chart_option_rows[] = {
    {"charts", 0, FL_OPTION_LIST, AT(kinds), 0, 0, "LIST",
     "draw only these charts, parted by commas", "Charts drawn before stay.", fl_chart_kind_words},
    {"chart-formats", 0, FL_OPTION_LIST, AT(formats), 0, 0, "LIST",
     "files to draw them as, parted by commas; else svg,png", NULL, fl_chart_format_words},
    {"chart-themes", 0, FL_OPTION_LIST, AT(themes), 0, 0, "LIST",
     "grounds to draw them on; else light; transparent goes over footage",
     "Names of files say what is not the default: ranking.dark.png.", fl_chart_theme_words},
    {"chart-sizes", 0, FL_OPTION_LIST, AT(sizes), 0, 0, "LIST",
     "heights of png in pixels; else 1080", "The pictures are 16:9.", fl_chart_size_words},
    {"chart-text", 0, FL_OPTION_WHOLE, AT(text_px), FL_CHART_TEXT_LEAST, FL_CHART_TEXT_MOST, "N",
     "size of running text, in pixels of a picture 1080 high; else 28",
     "It shrinks where a chart would not fit otherwise."},
    {"chart-title", 0, FL_OPTION_TEXT, AT(title), 0, 0, "TEXT",
     "title of the charts drawn, in place of their own", "Best with --charts."},
    {NULL},
};

enum flinch_code fl_chart_options_read(struct fl_chart_settings *out,
                                       const struct fl_chart_options *o, struct fl_error *err)
{
    *out = (struct fl_chart_settings){.text_px = o->text_px, .title = o->title};
    enum flinch_code code =
        fl_word_mask(&out->kinds, fl_chart_kind_words, "--charts", o->kinds, err);
    if (!code)
        code =
            fl_word_mask(&out->formats, fl_chart_format_words, "--chart-formats", o->formats, err);
    if (!code)
        code = fl_word_mask(&out->themes, fl_chart_theme_words, "--chart-themes", o->themes, err);
    return code ? code
                : fl_word_mask(&out->sizes, fl_chart_size_words, "--chart-sizes", o->sizes, err);
}
