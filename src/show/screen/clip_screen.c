/* What was written and what viewers should be told of it. */
#include "show/screen/clip_screen.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

#include "show/screen/terminal_text.h"
#include "show/store/fields.h"
#include "show/store/json_value.h"
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
                      "white, but samples have 8 bits, "
                      "so smooth areas may show steps");
    else if (r->reduced)
        put_note(out, "the footage has more than 8 bits a sample, the clip 8");
    fl_put_wrapped(out,
                   "Fast motion and flicker can trigger seizures in photosensitive people: warn "
                   "viewers, and follow your local "
                   "rules for publishing.",
                   0, 0);
}

static json_t *flash_json(const struct fl_flash_report *f)
{
    json_t *spans = json_array();
    for (size_t i = 0; i < f->n; i++)
        fl_json_append(
            spans, json_pack("{s: s, s: o, s: o, s: i}", "kind", f->span[i].red ? "red" : "general",
                             "start_s", fl_json_time(f->span[i].start_s), "end_s",
                             fl_json_time(f->span[i].end_s), "most_in_a_second", f->span[i].most));
    return json_pack("{s: b, s: i, s: i, s: o}", "exceeds", f->n > 0, "most_in_a_second", f->most,
                     "most_red_in_a_second", f->most_red, "spans", spans);
}

static json_t *number_or_null(size_t n)
{
    return n ? json_integer((json_int_t)n) : json_null();
}

static json_t *clip_json(const struct fl_clip_plan *p, size_t i, const struct fl_clip_report *r)
{
    static const char *const ranges[] = {
        [FL_LIGHT_SDR] = "standard", [FL_LIGHT_PQ] = "pq", [FL_LIGHT_HLG] = "hlg"};
    const struct fl_planned_clip *c = &p->clip[i];
    assert(i < p->n && (size_t)r->light < sizeof ranges / sizeof *ranges);
    json_t *o = json_object();
    fl_json_set(o, "file", fl_json_text(c->path));
    fl_json_set(o, "take", fl_json_text(p->a->spec.id));
    fl_json_set(o, "lapse", number_or_null(c->lapse));
    fl_json_set(o, "from_s", fl_json_time(c->from_s));
    fl_json_set(o, "to_s", fl_json_time(c->from_s + c->length_s));
    fl_json_set(o, "beside", p->b ? fl_json_text(p->b->spec.id) : json_null());
    fl_json_set(o, "lapse_beside", number_or_null(c->lapse_beside));
    fl_json_set(o, "from_beside_s", p->b ? fl_json_time(c->from_beside_s) : json_null());
    fl_json_set(o, "frames", json_integer(r->frames));
    fl_json_set(o, "lost_frames", json_integer(r->lost));
    fl_json_set(o, "rate_hz", fl_json_figure(r->rate_hz));
    fl_json_set(o, "duration_s", fl_json_time(r->duration_s));
    fl_json_set(o, "width", json_integer(r->width));
    fl_json_set(o, "height", json_integer(r->height));
    fl_json_set(o, "codec", json_string(r->codec));
    fl_json_set(o, "sound", json_boolean(r->sound));
    fl_json_set(o, "dynamic_range", json_string(ranges[r->light]));
    fl_json_set(o, "flashes", flash_json(&r->flash));
    return o;
}

json_t *fl_clips_json(const struct fl_clip_plan *p, const struct fl_clip_report *reports, size_t n)
{
    json_t *value = json_pack("{s: s, s: i}", "format", "flinch-clips", "version", 1),
           *list = json_array();
    for (size_t i = 0; i < n; i++)
        fl_json_append(list, clip_json(p, i, &reports[i]));
    fl_json_set(value, "clips", list);
    return value;
}
