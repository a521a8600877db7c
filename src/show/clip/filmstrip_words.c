/* What stands above, between and below the pictures of a strip. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "base/mem.h"
#include "show/clip/filmstrip_sheet.h"
#include "show/text/escape.h"

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
               : l->start_range_s[0] > 0 ? "Off as it comes into sight"
                                         : "The take begins with synthesis off";
    if (ends)
        return l->has_return                          ? "End"
               : l->end_range_s[1] < h->t->duration_s ? "Off as it goes out of sight"
                                                      : "The take ends with synthesis off";
    if (l->end_range_s[0] >= from && l->end_range_s[0] < to)
        return "Last sure sight of off";
    if (l->start_range_s[1] >= from && l->start_range_s[1] < to)
        return "First sure sight of off";
    return from < l->start_s ? "Last sure sight before it" : "First sure sight after it";
}

static const char *seen_by(unsigned evidence, char out[64])
{
    static const struct {
        unsigned bit;
        const char *word;
    } words[] = {{FL_EVIDENCE_RATE, "rate"},
                 {FL_EVIDENCE_SHARPNESS, "sharpness"},
                 {FL_EVIDENCE_TRACE, "trace"}};
    size_t used = 0;
    *out = 0;
    for (size_t i = 0; i < sizeof words / sizeof *words; i++)
        if (evidence & words[i].bit)
            used +=
                (size_t)snprintf(out + used, 64 - used, "%s%s", used ? ", " : "", words[i].word);
    return out;
}

static void edge_text(char *out, size_t size, double edge_s, const double range_s[2], bool known,
                      const char *unknown)
{
    if (!known)
        snprintf(out, size, "%s", unknown);
    else if (range_s[1] - range_s[0] < 0.0005)
        snprintf(out, size, "%.3f s", edge_s);
    else
        snprintf(out, size, "%.3f s (between %.3f and %.3f)", edge_s, range_s[0], range_s[1]);
}

void fl_strip_head(struct fl_sheet *h)
{
    const struct fl_lapse *l = h->lapse;
    char start[96], end[96], rate[FL_FIGURE_SIZE], sure[FL_FIGURE_SIZE], by[64];
    edge_text(start, sizeof start, l->start_s, l->start_range_s, l->has_trip,
              l->start_range_s[0] > 0 ? "out of sight" : "before the first frame");
    edge_text(end, sizeof end, l->end_s, l->end_range_s, l->has_return,
              l->end_range_s[1] < h->t->duration_s ? "out of sight" : "past the last frame");
    char *title =
        fl_format("%s, take %s: stretch %zu seen off", h->t->spec.game, h->t->spec.id, l->run + 1);
    char *facts =
        fl_format("Synthesis off from %s to %s: %.0f ms. New pictures a second: %s. Confidence %s. "
                  "Seen by %s.",
                  start, end, 1000 * (l->end_s - l->start_s), fl_figure(rate, l->unique_rate_hz),
                  fl_figure(sure, l->confidence), seen_by(l->evidence, by));
    double limit = h->c.width - 2 * MARGIN;
    fl_draw_text(&h->c, MARGIN, 27, FL_LEFT, FL_BOLD, FL_INK, limit, title);
    fl_draw_text(&h->c, MARGIN, 48, FL_LEFT, FL_PLAIN, FL_INK, limit, facts);
    free(title);
    free(facts);
}

/* Text after a sample of `width` px; returns where the next sample begins. */
static double legend_text(struct fl_sheet *h, double x, double y, double width, const char *text)
{
    fl_draw_text(&h->c, x + width + 6, y + 4, FL_LEFT, FL_SMALL, FL_INK, 0, text);
    return x + width + 6 + fl_text_width(&h->c, FL_SMALL, text) + 18;
}

static double legend_bars(struct fl_sheet *h, double x, double y)
{
    static const char *const state[] = {
        [FL_STATE_UNSEEN] = "unseen", [FL_STATE_ON] = "on", [FL_STATE_OFF] = "off"};
    static const enum fl_state order[] = {FL_STATE_ON, FL_STATE_OFF, FL_STATE_UNSEEN};
    static const struct {
        int verdict;
        const char *text;
    } rows[] = {{-1, "changed"}, {1, "stood still"}, {0, "cannot be told"}};
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
    return x;
}

static void legend_marks(struct fl_sheet *h, double x, double y)
{
    static const struct {
        enum fl_kind kind;
        const char *text;
    } flips[] = {{FL_KIND_RENDERED, "R rendered"},
                 {FL_KIND_SYNTHESISED, "S synthesised"},
                 {FL_KIND_UNKNOWN, "? of unknown kind"}};
    x = legend_text(h, x + 12, y, -6, "From this row on a new picture:");
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
    char text[300], bright[40] = "";
    if (h->levels.gain > 1.05)
        snprintf(bright, sizeof bright, ", brightened %.1f times", h->levels.gain);
    snprintf(text, sizeof text,
             "Upper picture: the capture frame, in grey%s. Lower: its difference from the frame "
             "before; white: none, "
             "black: %.0f grey levels of 255 or more. Scan time runs down a frame, then on at the "
             "top of the next one.",
             bright, h->levels.black / 4);
    legend_marks(h, legend_bars(h, MARGIN, y), y);
    fl_draw_text(&h->c, MARGIN, y + 26, FL_LEFT, FL_SMALL, FL_INK, h->c.width - 2 * MARGIN, text);
}
