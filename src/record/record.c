/* The recorder: reports become rows, are counted, and a slate among them is told. Everything is
 * driven by the devices' reports; once a second it looks up and says how it goes. */
#include "record/record.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "record/log_file.h"
#include "record/row.h"
#include "trace/slate.h"

enum { RECENT = 1 << 16 }; /* events among which a slate is looked for: 8 s at 8,000/s */
static const double tell_every_s = 1, wait_s = 0.25;

struct recorder {
    const struct fl_record_settings *set;
    struct fl_record_counts *counts;
    struct fl_log_file *file;
    struct fl_event *recent; /* RECENT, or NULL where no slate is waited for */
    size_t n_recent;
    double began_s, told_s;
    unsigned long told_reports;
};

/* ---- what the devices tell ---- */

static void say(struct recorder *r, const char *what, const struct fl_input_device *d)
{
    char text[240];
    const char *kind = d->pad ? "pad" : "mouse";
    int n = snprintf(text, sizeof text, "# %s device %u: %s \"%s\" %s\n", what, (unsigned)d->number,
                     kind, d->name, d->place);
    fl_log_file_add(r->file, text, (size_t)n < sizeof text ? (size_t)n : sizeof text - 1);
    snprintf(text, sizeof text, "%s device %u: %s \"%s\"", what, (unsigned)d->number, kind,
             d->name);
    r->set->tell(r->set->ctx, r->counts, text);
}

static void came(void *ctx, const struct fl_input_device *d)
{
    struct recorder *r = ctx;
    r->counts->devices++;
    say(r, "records", d);
}

static void gone(void *ctx, const struct fl_input_device *d)
{
    struct recorder *r = ctx;
    r->counts->devices--;
    say(r, "lost", d);
}

static void lost(void *ctx, const struct fl_input_device *d)
{
    struct recorder *r = ctx;
    (void)d;
    r->counts->lost++;
}

static void ending(void *ctx)
{
    struct recorder *r = ctx;
    fl_log_file_sync(r->file);
}

/* The older half goes when there is no more room. */
static void remember(struct recorder *r, const struct fl_input_device *d,
                     const struct fl_input_report *report)
{
    struct fl_event e = {.time_s = report->time_s,
                         .dx = (float)report->dx,
                         .dy = (float)report->dy,
                         .stick_x = NAN,
                         .stick_y = NAN};
    double v;
    if (fl_row_stick(d, report, 0, &v))
        e.stick_x = (float)v;
    if (fl_row_stick(d, report, 1, &v))
        e.stick_y = (float)v;
    if (report->n_buttons > 0) {
        e.button = report->button[0].button;
        e.state = report->button[0].state;
    }
    if (r->n_recent == RECENT) {
        r->n_recent /= 2;
        memmove(r->recent, r->recent + r->n_recent, r->n_recent * sizeof *r->recent);
    }
    r->recent[r->n_recent++] = e;
}

static void report(void *ctx, const struct fl_input_device *d, const struct fl_input_report *report)
{
    struct recorder *r = ctx;
    struct fl_record_counts *c = r->counts;
    char rows[FL_ROWS_MOST];
    fl_log_file_add(r->file, rows, fl_rows_write(rows, d, report));
    c->reports++;
    c->moved += report->dx != 0 || report->dy != 0;
    c->wheel += report->wheel != 0;
    c->dx += report->dx;
    c->dy += report->dy;
    for (int i = 0; i < report->n_buttons; i++)
        c->presses += report->button[i].state;
    if (r->recent && !c->slate_seen)
        remember(r, d, report);
}

/* ---- once a second ---- */

static void look_for_slate(struct recorder *r)
{
    struct fl_trace t = {.events = r->recent, .n = r->n_recent};
    char text[160];
    for (size_t i = 0; i < t.n && !t.has_motion; i++)
        t.has_motion = t.events[i].dx != 0 || t.events[i].dy != 0;
    const struct fl_slate s = fl_slate_find(&t, r->set->slate_clicks);
    if (!s.found)
        return;
    r->counts->slate_seen = true;
    snprintf(text, sizeof text, "# slate: %d clicks from %.6f s, shaken %d times until %.6f s\n",
             s.clicks, s.first_click_s, s.turns, s.shake_end_s);
    fl_log_file_add(r->file, text, strlen(text));
    snprintf(text, sizeof text, "slate seen: %d clicks and a shake", s.clicks);
    r->set->tell(r->set->ctx, r->counts, text);
}

static void tell(struct recorder *r, double now_s)
{
    struct fl_record_counts *c = r->counts;
    c->lasted_s = now_s - r->began_s;
    if (now_s - r->told_s < tell_every_s)
        return;
    c->per_s = (double)(c->reports - r->told_reports) / (now_s - r->told_s);
    r->told_s = now_s;
    r->told_reports = c->reports;
    if (r->recent && !c->slate_seen)
        look_for_slate(r);
    r->set->tell(r->set->ctx, c, NULL);
}

void fl_record_line(char *out, size_t size, const struct fl_record_counts *c)
{
    int n = snprintf(out, size, "%.0f s  %lu reports  %.0f/s  moved %.0f %s %.0f %s  %lu presses",
                     c->lasted_s, c->reports, c->per_s, fabs(c->dx), c->dx < 0 ? "left" : "right",
                     fabs(c->dy), c->dy < 0 ? "up" : "down", c->presses);
    if (c->lost > 0 && n > 0 && (size_t)n < size)
        n += snprintf(out + n, size - (size_t)n, "  %lu overruns", c->lost);
    if (c->devices == 0 && n > 0 && (size_t)n < size)
        snprintf(out + n, size - (size_t)n, "  no device");
}

/* ---- the recording ---- */

static void begin(struct recorder *r)
{
    char text[512];
    const int n = snprintf(text, sizeof text,
                           "# flinch %s: input of pointing devices and pads, no keyboard\n"
                           "# times: %s\n%s",
                           FLINCH_VERSION, fl_inputs_clock(), FL_ROW_HEADER);
    fl_log_file_add(r->file, text, (size_t)n);
    r->began_s = r->told_s = fl_inputs_now_s();
    if (r->set->slate_clicks > 0) {
        snprintf(text, sizeof text, "slate: click %d times, then shake the mouse quickly",
                 r->set->slate_clicks);
        r->set->tell(r->set->ctx, r->counts, text);
    }
}

static enum flinch_code go_on(struct recorder *r, struct fl_inputs *in, struct fl_error *err)
{
    const struct fl_record_settings *set = r->set;
    enum flinch_code code = FLINCH_OK;
    bool more = true;
    while (!code && more && !set->stop(set->ctx)) {
        const double left_s =
            set->until_s > 0 ? set->until_s - (fl_inputs_now_s() - r->began_s) : wait_s;
        if (left_s <= 0)
            break;
        more = fl_inputs_next(in, fmin(left_s, wait_s));
        tell(r, fl_inputs_now_s());
        code = fl_log_file_check(r->file, err);
    }
    r->counts->lasted_s = fl_inputs_now_s() - r->began_s;
    if (r->recent && !r->counts->slate_seen)
        look_for_slate(r);
    return code;
}

enum flinch_code fl_record(const struct fl_record_settings *set, struct fl_record_counts *counts,
                           struct fl_error *err)
{
    struct recorder r = {.set = set, .counts = counts};
    const struct fl_inputs_sink sink = {came, gone, report, lost, ending, &r};
    struct fl_inputs *in = NULL;
    struct fl_error closing;
    memset(counts, 0, sizeof *counts);
    enum flinch_code code = fl_log_file_open(&r.file, set->out, err);
    if (code)
        return code;
    r.recent = set->slate_clicks > 0 ? FL_NEW(struct fl_event, RECENT) : NULL;
    begin(&r);
    code = fl_inputs_open(&in, &set->choice, &sink, err);
    if (!code)
        code = go_on(&r, in, err);
    fl_inputs_close(&in);
    const enum flinch_code closed = fl_log_file_close(&r.file, &closing);
    if (!code && closed)
        code = fl_fail(err, closed, "%s", closing.text);
    if (code && counts->reports == 0)
        remove(set->out);
    free(r.recent);
    return code;
}
