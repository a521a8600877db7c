/* On is said as plainly as off: a lapse is believed for what stands on either side of its edges. */
#include "show/text/lapse_words.h"

#include <stdio.h>
#include <stdlib.h>

#include "base/figure.h"
#include "base/mem.h"
#include "base/text_stream.h"
#include "base/units.h"

const char *fl_sureness_text(char buf[FL_FIGURE_SIZE], double p)
{
    if (!fl_known(p))
        *buf = 0;
    else
        snprintf(buf, FL_FIGURE_SIZE, p > 0.99 ? "> 0.99" : "%.2f", p);
    return buf;
}

/* Of spans on, the last that begins before t, or the first that ends after it; NULL: none. */
static const struct fl_state_span *on_beside(const struct fl_states *s, double t, bool before)
{
    const struct fl_state_span *found = NULL;
    for (size_t i = 0; i < s->n_spans; i++) {
        const struct fl_state_span *v = &s->span[i];
        if (v->state != FL_STATE_ON)
            continue;
        if (before && v->start_s < t)
            found = v;
        else if (!before && !found && v->end_s > t)
            found = v;
    }
    return found;
}

static void put_off(FILE *out, const struct fl_states *s, const struct fl_lapse *l)
{
    const double on_hz = fl_states_on_output_hz(s);
    char off[FL_FIGURE_SIZE], on[FL_FIGURE_SIZE];
    if (fl_known(l->unique_rate_hz))
        fprintf(out, "Off: %s new pictures a second", fl_figure(off, l->unique_rate_hz));
    else
        fputs("Off: pictures stand longer than with synthesis on", out);
    if (fl_known(on_hz))
        fprintf(out, ", where on shows %s", fl_figure(on, on_hz));
    fputs(l->evidence & FL_EVIDENCE_RATE ? " (rate)" : "", out);
    if (l->evidence & FL_EVIDENCE_SHARPNESS)
        fputs("; their sharpness and steps show none between two rendered ones (sharpness)", out);
    if (l->evidence & FL_EVIDENCE_TRACE)
        fputs("; the input trace shows that the scene moved (trace)", out);
    fputs(".", out);
}

static void put_on(FILE *out, const struct fl_state_span *v)
{
    char rate[FL_FIGURE_SIZE], sure[FL_FIGURE_SIZE];
    if (fl_known(v->unique_rate_hz))
        fprintf(out, "%s new pictures a second", fl_figure(rate, v->unique_rate_hz));
    else
        fputs("more new pictures a second than can be counted", out);
    if (*fl_sureness_text(sure, v->confidence))
        fprintf(out, ", confidence %s", sure);
}

char *fl_lapse_why(const struct fl_states *s, const struct fl_lapse *l)
{
    struct fl_text_stream stream;
    FILE *out = fl_text_begin(&stream);
    const struct fl_state_span *before = l->has_trip ? on_beside(s, l->start_s, true) : NULL,
                               *after = l->has_return ? on_beside(s, l->end_s, false) : NULL;
    put_off(out, s, l);
    fputs(before ? " On before it: " : " On is not seen before it", out);
    if (before)
        put_on(out, before);
    fputs(after ? "; on after it: " : before ? "; it is not seen after it" : ", nor after it", out);
    if (after)
        put_on(out, after);
    fputs(".", out);
    return fl_text_end(&stream);
}
