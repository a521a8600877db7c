/* What stands above, between and below the pictures of a strip. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "base/figure.h"
#include "base/mem.h"
#include "show/clip/filmstrip_sheet.h"
#include "show/text/lapse_words.h"

/* What the frames of a block are there for. */
const char *fl_strip_title(const struct fl_sheet *h, size_t i, size_t n)
{
    const struct fl_lapse *l = h->lapse;
    double from = fl_strip_start(h, &h->s->frame[i]), to = fl_strip_end(h, &h->s->frame[i + n - 1]);
    bool starts = l->start_s >= from && l->start_s < to, ends = l->end_s >= from && l->end_s <= to;
    if (starts && ends)
        return "Start and end";
    if (starts)
        return l->has_trip               ? "Start"
               : l->start_range_s[0] > 0 ? "Already off when first seen"
                                         : "The take begins with synthesis off";
    if (ends)
        return l->has_return                          ? "End"
               : l->end_range_s[1] < h->t->duration_s ? "Still off when last seen"
                                                      : "The take ends with synthesis off";
    if (l->end_range_s[0] >= from && l->end_range_s[0] < to)
        return "Off surely seen last";
    if (l->start_range_s[1] >= from && l->start_range_s[1] < to)
        return "Off surely seen first";
    return from < l->start_s ? "Surely seen last before it" : "Surely seen first after it";
}

static void edge_text(char *out, size_t size, double edge_s, const double range_s[2], bool known)
{
    if (range_s[1] - range_s[0] < 0.0005)
        snprintf(out, size, "%.3f s", edge_s);
    else if (known)
        snprintf(out, size, "%.3f s (between %.3f and %.3f)", edge_s, range_s[0], range_s[1]);
    else
        snprintf(out, size, "an unseen moment between %.3f and %.3f s", range_s[0], range_s[1]);
}

/* "Copper Harbour, take harbour-a: stretch 2 off, from 3.100 s to 3.512 s: 412 ms. Confidence …" */
static char *facts_of(const struct fl_sheet *h)
{
    const struct fl_lapse *l = h->lapse;
    char start[96], end[96], sure[FL_FIGURE_SIZE];
    edge_text(start, sizeof start, l->start_s, l->start_range_s, l->has_trip);
    edge_text(end, sizeof end, l->end_s, l->end_range_s, l->has_return);
    return fl_format("Synthesis off from %s to %s: %.0f ms. Confidence %s.",
                     l->has_trip || l->start_range_s[0] > 0 ? start : "before the first frame",
                     l->has_return || l->end_range_s[1] < h->t->duration_s ? end
                                                                           : "past the last frame",
                     1000 * (l->end_s - l->start_s), fl_sureness_text(sure, l->confidence));
}

/* How many frames in a row a block may stand still with synthesis on; -1: off does no more. */
static int still_while_on(const struct fl_sheet *h)
{
    const double slack = 0.05; /* of a frame: rates are not exact */
    const double on = h->t->capture_rate_hz / fl_states_on_output_hz(&h->t->states),
                 off = h->t->capture_rate_hz / h->t->states.base_rate_off_hz;
    if (!fl_known(on) || !fl_known(off))
        return -1;
    const double still = fmax(ceil(on - slack) - 1, 0);
    return off > still + 1 + slack ? (int)still : -1;
}

/* What the eye is to count. */
static char *how_to_read(const struct fl_sheet *h)
{
    static const char begin[] = "How to read: frames run from left to right, then on in the next "
                                "row; under each, dark is what changed since the frame before.";
    const int still = still_while_on(h);
    if (still < 0)
        return fl_format("%s Off: blocks of rows stand still (white below) for longer than they do "
                         "with synthesis on.",
                         begin);
    const double off = h->t->capture_rate_hz / h->t->states.base_rate_off_hz;
    if (!still)
        return fl_format("%s On: every block of rows changes in every frame. Off: only every %.1f "
                         "frames, so look for blocks that stand still (white below).",
                         begin, off);
    return fl_format("%s On: a block of rows stands still (white below) for at most %d frame%s in "
                     "a row. Off: it changes only every %.1f frames, so look for blocks that stand "
                     "still for more.",
                     begin, still, still == 1 ? "" : "s", off);
}

double fl_strip_head(struct fl_sheet *h, bool dry)
{
    enum { LINES = 4, BETWEEN = 5 };
    const double width = h->c.width - 2 * MARGIN;
    char *title = fl_format("%s, take %s: stretch %zu off", h->t->spec.game, h->t->spec.id,
                            h->lapse->run + 1);
    char *text[] = {facts_of(h), fl_lapse_why(&h->t->states, h->lapse), how_to_read(h)};
    double y = TOP + fl_draw_paragraph(&h->c, MARGIN, TOP, width, 1, FL_BOLD, FL_INK, dry, title);
    for (size_t i = 0; i < sizeof text / sizeof *text; i++) {
        y += BETWEEN;
        y += fl_draw_paragraph(&h->c, MARGIN, y, width, LINES, FL_PLAIN, FL_INK, dry, text[i]);
        free(text[i]);
    }
    free(title);
    return ceil(y + BETWEEN); /* pictures on whole pixels stay sharp */
}

static bool edge_in(const struct fl_sheet *h, const struct fl_strip_frame *c, double edge_s)
{
    return edge_s >= fl_strip_start(h, c) && edge_s < fl_strip_end(h, c);
}

/* "on", "on → off". */
static void state_words(const struct fl_sheet *h, const struct fl_strip_frame *c, char *out,
                        size_t size)
{
    const struct fl_states *s = &h->t->states;
    size_t used = 0;
    *out = 0;
    for (size_t i = 0; i < s->n_spans && used < size; i++)
        if (s->span[i].end_s > fl_strip_start(h, c) && s->span[i].start_s < fl_strip_end(h, c))
            used += (size_t)snprintf(out + used, size - used, "%s%s", used ? " → " : "",
                                     fl_state_name(s->span[i].state));
}

/* "all rows new", "5 of 8 blocks of rows stand still". */
static void rows_words(const struct fl_sheet *h, const struct fl_strip_frame *c, char *out,
                       size_t size)
{
    int still = 0, unknown = 0, n = h->t->bands;
    for (int b = 0; b < n; b++) {
        still += c->bands[b] > 0;
        unknown += c->bands[b] == 0;
    }
    if (unknown == n)
        snprintf(out, size, "too little moves to tell");
    else if (!still)
        snprintf(out, size, "%s", unknown ? "no rows stand still" : "all rows new");
    else if (still == n)
        snprintf(out, size, "all rows stand still");
    else
        snprintf(out, size, "%d of %d blocks of rows stand still", still, n);
}

void fl_strip_frame_words(struct fl_sheet *h, const struct fl_strip_frame *c, double x, double y)
{
    enum { LINE = 15 };
    char states[64], rows[64], text[128];
    bool starts = h->lapse->has_trip && edge_in(h, c, h->lapse->start_s),
         ends = h->lapse->has_return && edge_in(h, c, h->lapse->end_s);
    state_words(h, c, states, sizeof states);
    rows_words(h, c, rows, sizeof rows);
    snprintf(text, sizeof text, "%s%s%s", states, starts ? " · lapse starts" : "",
             ends ? " · lapse ends" : "");
    fl_draw_text(&h->c, x, y, FL_LEFT, FL_SMALL_BOLD, FL_INK, h->s->width + BAR, text);
    fl_draw_text(&h->c, x, y + LINE, FL_LEFT, FL_SMALL, FL_INK, h->s->width + BAR, rows);
}

/* Text after a sample of `width` px; returns where the next sample begins. */
static double legend_text(struct fl_sheet *h, double x, double y, double width, const char *text)
{
    fl_draw_text(&h->c, x + width + 6, y + 4, FL_LEFT, FL_SMALL, FL_INK, 0, text);
    return x + width + 6 + fl_text_width(&h->c, FL_SMALL, text) + 18;
}

static void legend_bars(struct fl_sheet *h, double x, double y)
{
    static const char *const state[] = {
        [FL_STATE_UNSEEN] = "unseen", [FL_STATE_ON] = "on", [FL_STATE_OFF] = "off"};
    static const enum fl_state order[] = {FL_STATE_ON, FL_STATE_OFF, FL_STATE_UNSEEN};
    static const struct {
        int verdict;
        const char *text;
    } rows[] = {{-1, "new"}, {1, "stand still"}, {0, "too little moves to tell"}};
    x = legend_text(h, x, y, -6, "Left bar, state:");
    for (int i = 0; i < 3; i++) {
        fl_strip_state(h, x, y - 6, 12, order[i]);
        x = legend_text(h, x, y, BAR, state[order[i]]);
    }
    x = legend_text(h, x + 12, y, -6, "Right bar, rows since the frame before:");
    for (int i = 0; i < 3; i++) {
        fl_strip_rows(h, x, y - 6, 12, rows[i].verdict);
        fl_set_colour(&h->c, FL_MUTED);
        cairo_set_line_width(h->c.cr, 1);
        cairo_rectangle(h->c.cr, x - 0.5, y - 6.5, BAR + 1, 13);
        cairo_stroke(h->c.cr);
        x = legend_text(h, x, y, BAR, rows[i].text);
    }
}

static void legend_marks(struct fl_sheet *h, double x, double y)
{
    static const struct {
        enum fl_kind kind;
        const char *text;
    } flips[] = {{FL_KIND_RENDERED, "R rendered"},
                 {FL_KIND_SYNTHESISED, "S synthesised"},
                 {FL_KIND_UNKNOWN, "? of unknown kind"}};
    x = legend_text(h, x, y, -6, "From this row on a new picture:");
    for (int i = 0; i < 3; i++) {
        fl_strip_flip(h, x, x + 26, y, flips[i].kind);
        x = legend_text(h, x, y, 26, flips[i].text);
    }
    fl_draw_arrow(&h->c, x + 20, y, true, FL_OFF);
    x = legend_text(h, x + 12, y, 8, "edge of the lapse");
    fl_draw_line(&h->c, x, y - 6, x, y + 6, 1.6, FL_INK, 0);
    fl_draw_line(&h->c, x, y - 6, x + 7, y - 6, 1.6, FL_INK, 0);
    fl_draw_line(&h->c, x, y + 6, x + 7, y + 6, 1.6, FL_INK, 0);
    legend_text(h, x, y, 7, "where it may lie");
}

void fl_strip_legend(struct fl_sheet *h, double y)
{
    enum { LINE = 22 };
    char text[300], bright[40] = "";
    if (h->levels.gain > 1.05)
        snprintf(bright, sizeof bright, ", brightened %.1f times", h->levels.gain);
    snprintf(text, sizeof text,
             "Upper picture: the capture frame%s. Lower: its difference from the frame before; "
             "white: none, black: %.0f grey levels of 255 or more. Scan time runs down a frame, "
             "then on at the top of the next one.",
             bright, h->levels.black / 4);
    legend_bars(h, MARGIN, y + 10);
    legend_marks(h, MARGIN, y + 10 + LINE);
    fl_draw_paragraph(&h->c, MARGIN, y + 22 + LINE, h->c.width - 2 * MARGIN, 2, FL_SMALL, FL_INK,
                      false, text);
}
