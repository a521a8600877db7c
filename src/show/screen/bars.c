/* A column stands for a part of the take and shows the worst of it: off however short, the
 * fastest frame. So no lapse is lost between two columns. */
#include "show/screen/bars.h"

#include <assert.h>
#include <langinfo.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "show/screen/terminal_text.h"
#include "show/text/game_groups.h"

enum cell { CELL_UNSEEN, CELL_ON, CELL_OFF, CELL_BOTH, CELLS };

static const struct {
    const char *block, *plain, *colour, *word;
} look[CELLS] = {
    [CELL_ON] = {"▇", "=", "", "on"},
    [CELL_OFF] = {"▂", "_", "\x1b[33m", "off"},
    [CELL_BOTH] = {"▄", "~", "\x1b[33m", "both"},
    [CELL_UNSEEN] = {"·", ".", "\x1b[2m", "unseen"},
};

struct fl_paper fl_paper_of(FILE *out)
{
    const char *plain = getenv("NO_COLOR"), *term = getenv("TERM");
    return (struct fl_paper){
        .blocks = !strcmp(nl_langinfo(CODESET), "UTF-8"),
        .colour = isatty(fileno(out)) && !(plain && *plain) && term && strcmp(term, "dumb") != 0,
    };
}

static const char *sign(const struct fl_paper *p, enum cell c)
{
    return p->blocks ? look[c].block : look[c].plain;
}

/* Sets the colour of the next sign; colours are switched only where they change. */
static void paint(FILE *out, const struct fl_paper *p, const char **now, const char *next)
{
    if (!p->colour || *now == next)
        return;
    if (**now)
        fputs("\x1b[0m", out);
    fputs(next, out);
    *now = next;
}

static enum cell cell_of(const struct fl_states *s, size_t *span, double start_s, double end_s)
{
    bool on = false, off = false;
    while (*span < s->n_spans && s->span[*span].end_s <= start_s)
        ++*span;
    for (size_t i = *span; i < s->n_spans && s->span[i].start_s < end_s; i++) {
        on |= s->span[i].state == FL_STATE_ON;
        off |= s->span[i].state == FL_STATE_OFF;
    }
    return on && off ? CELL_BOTH : off ? CELL_OFF : on ? CELL_ON : CELL_UNSEEN;
}

void fl_put_state_bar(FILE *out, const struct fl_paper *p, const struct fl_take *t, int columns)
{
    const char *now = "";
    assert(columns > 0);
    double step = t->duration_s / columns;
    size_t span = 0;
    for (int i = 0; i < columns; i++) {
        enum cell c = cell_of(&t->states, &span, i * step, (i + 1) * step);
        paint(out, p, &now, look[c].colour);
        fputs(sign(p, c), out);
    }
    paint(out, p, &now, "");
}

/* The fastest frame of a part; NaN: none known. */
static double fastest(const struct fl_take *t, const float *speed, int part, int parts)
{
    long from = t->frames * part / parts, to = t->frames * (part + 1) / parts;
    double most = FL_UNKNOWN;
    for (long i = from; i < to; i++)
        most = fmax(most, (double)speed[i]);
    return most;
}

double fl_put_speed_bar(FILE *out, const struct fl_paper *p, const struct fl_take *t, int columns,
                        enum fl_quantity *q)
{
    static const char *const blocks[] = {"▁", "▂", "▃", "▄", "▅", "▆", "▇", "█"};
    *q = fl_course_quantity(t);
    const float *speed = *q < FL_QUANTITIES ? t->quantity[*q] : NULL;
    double most = speed ? fastest(t, speed, 0, 1) : FL_UNKNOWN;
    if (!(most > 0))
        return FL_UNKNOWN;
    for (int i = 0; i < columns; i++) {
        double v = fastest(t, speed, i, columns) / most;
        if (!fl_known(v))
            fputc(' ', out);
        else if (p->blocks)
            fputs(blocks[(int)fl_clamp(8 * v, 0, 7)], out);
        else
            fputc('0' + (int)fl_clamp(10 * v, 0, 9), out);
    }
    return most;
}

void fl_put_bar_legend(FILE *out, const struct fl_paper *p)
{
    static const enum cell order[] = {CELL_ON, CELL_OFF, CELL_BOTH, CELL_UNSEEN};
    for (size_t i = 0; i < sizeof order / sizeof *order; i++) {
        const char *now = "";
        fputs(i ? "  " : "", out);
        paint(out, p, &now, look[order[i]].colour);
        fputs(sign(p, order[i]), out);
        paint(out, p, &now, "");
        fprintf(out, " %s", look[order[i]].word);
    }
}

void fl_put_take_bars(FILE *out, const struct fl_take *t, int indent, int column)
{
    const struct fl_paper paper = fl_paper_of(out);
    enum fl_quantity q;
    int columns = FL_COLUMNS - column, label = column - indent;
    fprintf(out, "%*s%-*s", indent, "", label, "state");
    fl_put_state_bar(out, &paper, t, columns);
    fprintf(out, "\n%*s%-*s", indent, "", label, "speed");
    double most = fl_put_speed_bar(out, &paper, t, columns, &q);
    if (!fl_known(most))
        fputs("not measured", out);
    fprintf(out, "\n%*s0%*.1f s\n%*s", column, "", columns - 3, t->duration_s, column, "");
    fl_put_bar_legend(out, &paper);
    if (fl_known(most))
        fprintf(out, "; at most %.3g %s", most, fl_quantity_info(q)->unit_label);
    fputc('\n', out);
}
