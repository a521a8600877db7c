/* report.html: one self-contained page that opens offline. Its figures and still charts need no
 * script; where flinch was built with the page's script (page_code.h), timelines can be moved and
 * tables sorted. */
#ifndef FL_SHOW_PAGE_PAGE_H
#define FL_SHOW_PAGE_PAGE_H

#include <jansson.h>
#include <stdbool.h>
#include <stdio.h>

#include "base/figure.h"
#include "show/chart/chart_kind.h"
#include "show/store/writer.h"
#include "show/text/game_groups.h"

extern const struct fl_writer fl_page_writer;

/* Bytes. Filmstrips of more than this in all are linked and not held, and so much of charts and
 * tables of takes is held packed: a page that size opens at once and goes through a mail. */
#define FL_PAGE_HOLDS 8e6
/* The page as text to a stream. It shows those filmstrips that are in folder (NULL: none): their
 * pictures are in the page, or linked. Inside: the parts, in the order of the page. */
void fl_page_write(FILE *out, const struct fl_session *s, const char *folder,
                   const struct fl_show_settings *settings);
void fl_page_style(FILE *out); /* page_style.c */
void fl_page_brief(FILE *out, const struct fl_session *s,
                   const struct fl_groups *g); /* page_brief.c */
/* An fl_say (show/text/result_words.h) to a FILE. */
void fl_page_say(void *out, const char *text, bool strong);
void fl_page_answers(FILE *out, const struct fl_session *s,
                     const struct fl_groups *g); /* page_answers.c */
/* Of the game's comparisons of mouse resolutions: FL_YES if one shows a difference, FL_NO if none
 * does but one could have, else unknown. */
enum fl_answer fl_page_resolution(const struct fl_session *s, const struct fl_group *g);
void fl_page_caution(FILE *out, const struct fl_session *s); /* page_caution.c */
/* Some take has a warning, failed, or stands out (page_warnings.c). */
bool fl_page_warned(const struct fl_session *s);
void fl_page_top_warnings(FILE *out, const struct fl_session *s);
void fl_page_warnings(FILE *out, const struct fl_session *s);
void fl_page_curves(FILE *out, const struct fl_session *s,
                    const struct fl_group *g); /* page_tables.c */
void fl_page_comparisons(FILE *out, const struct fl_session *s);
void fl_page_quantities(FILE *out, const struct fl_session *s);
void fl_page_rule_answer(FILE *out, const struct fl_session *s,
                         const struct fl_group *g); /* page_rule.c */
void fl_page_rules(FILE *out, const struct fl_session *s, const struct fl_group *g);
/* All charts of a scope that have something to show (page_charts.c); number: unlike any other's. */
void fl_page_charts(FILE *out, enum fl_chart_scope scope, const struct fl_chart_of *of,
                    size_t number);
void fl_page_repeats(FILE *out, const struct fl_session *s,
                     const struct fl_group *g); /* page_repeat.c */
/* Items of a list, one a setting with a take that stands out; whether there are any. NULL writes
 * none. */
bool fl_page_repeat_warnings(FILE *out, const struct fl_session *s);
void fl_page_takes(FILE *out, const struct fl_session *s, const char *folder,
                   const struct fl_show_settings *settings);               /* page_takes.c */
void fl_page_take(FILE *out, const struct fl_take *t, const char *folder); /* page_take.c */
/* Data for the script; none for a take too short to have a course. linked: filmstrips stay files.
 */
void fl_page_course(FILE *out, const struct fl_take *t, const char *folder,
                    bool linked);                           /* page_course.c */
void fl_page_method(FILE *out, const struct fl_session *s); /* page_method.c */

/* Small pieces. A cell is escaped; a figure cell is right-aligned, empty if unknown. */
void fl_page_text_cell(FILE *out, const char *text);
void fl_page_figure_cell(FILE *out, double x);
/* How sure something is, 0 to 1: "0.87", "> 0.99", as nothing here is certain. */
void fl_page_sureness_cell(FILE *out, double p);
void fl_page_count_cell(FILE *out, long n);
/* "461 (310–547)"; an open end is left blank, and so is an interval that was not made. */
void fl_page_range_cell(FILE *out, double at, double low, double high);
/* The same in a cell each. */
void fl_page_interval_cells(FILE *out, double at, double low, double high);
/* The same of a ratio: no end reads as 1 that is not. */
void fl_page_ratio_cells(FILE *out, double ratio, double low, double high);
/* JSON inside a script element: nothing in it looks like markup. Releases value. */
void fl_page_json(FILE *out, json_t *value);
/* Opens and closes a table that may be wider than the page. names: of the columns, NULL-terminated;
 * one that starts with '#' heads figures, one with '!' what paper leaves out. */
void fl_page_table_begin(FILE *out, const char *label, const char *const *names);
void fl_page_table_end(FILE *out);
const char *fl_percent(char buf[FL_FIGURE_SIZE],
                       double share); /* "23 %" with a no-break space, "–" if unknown */

#endif
