/* What was written and what viewers should be told of it. */
#include "show/screen/clip_screen.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

#include "show/screen/terminal_text.h"
#include "show/text/escape.h"

static void put_note(FILE *out, const char *text)
{
    fl_put_wrapped(out, text, fprintf(out, "note: "), 4);
}

static void put_clip(FILE *out, const struct fl_planned_clip *c, const struct fl_clip_report *r,
                     bool slowed)
{
    char *path = fl_clean_text(c->path);
    fprintf(out, "%s\n", path);
    free(path);
    fprintf(out, "    %.3f to %.3f s", c->from_s, c->from_s + c->length_s);
    if (c->lapse)
        fprintf(out, " (lapse %zu)", c->lapse);
    fprintf(out, "; %ld frames, %.6g/s, %.2f s, %dx%d, %s%s\n", r->frames, r->rate_hz,
            r->duration_s, r->width, r->height, r->codec,
            r->sound ? ", sound"
            : slowed ? ""
                     : ", no sound");
}

static bool slowed(const struct fl_planned_clip *c, const struct fl_clip_report *r)
{
    return r->duration_s > 1.5 * c->length_s;
}

void fl_print_clips(FILE *out, const struct fl_clip_plan *p, const struct fl_clip_report *reports,
                    size_t n)
{
    char text[160];
    long lost = 0;
    for (size_t i = 0; i < n; i++) {
        put_clip(out, &p->clip[i], &reports[i], slowed(&p->clip[i], &reports[i]));
        lost += reports[i].lost;
    }
    if (!n)
        return;
    const struct fl_clip_report *r = &reports[0];
    if (slowed(&p->clip[0], r))
        put_note(out, "sound is left out of slow motion");
    if (lost) {
        snprintf(text, sizeof text, "%ld frame%s that the recorder lost %s shown as the one before",
                 lost, lost == 1 ? "" : "s", lost == 1 ? "is" : "are");
        put_note(out, text);
    }
    if (r->light != FL_LIGHT_SDR)
        put_note(out, "high dynamic range: the colour tags are kept and drawings lie at reference "
                      "white");
    if (r->reduced)
        put_note(out,
                 "the footage has more than 8 bits a sample, the clip 8: smooth areas may show "
                 "steps");
    else if (r->bits > 8)
        put_note(out, "10 bits a sample, as the footage has more than 8; not every player shows "
                      "H.264 with 10: --bits 8 does without");
    fl_put_wrapped(out,
                   "Fast motion and flicker can trigger seizures in photosensitive people: warn "
                   "viewers, and follow your local "
                   "rules for publishing.",
                   0, 0);
}
