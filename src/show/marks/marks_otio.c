/* Marks as an OpenTimelineIO document: markers on one clip. */
#include <ctype.h>
#include <stdlib.h>
#include <string.h>

#include <jansson.h>

#include "base/text_stream.h"
#include "show/marks/marks.h"
#include "show/store/fields.h"
#include "show/store/json_value.h"
#include "show/text/escape.h"

static void set(json_t *object, const char *name, json_t *value)
{
    fl_json_set(object, name, value);
}

/* An object of the named schema, with what all of them have. */
static json_t *object_of(const char *schema, const char *name)
{
    char *clean = fl_clean_text(name);
    json_t *o = json_pack("{s: s, s: {}}", "OTIO_SCHEMA", schema, "metadata");
    set(o, "name", fl_json_text(clean));
    free(clean);
    return o;
}

static json_t *time_of(long frame, struct fl_rate rate)
{
    return json_pack("{s: s, s: f, s: f}", "OTIO_SCHEMA", "RationalTime.1", "rate",
                     fl_rate_hz(rate), "value", (double)frame);
}

static json_t *range_of(long in, long out, struct fl_rate rate)
{
    return json_pack("{s: s, s: o, s: o}", "OTIO_SCHEMA", "TimeRange.1", "start_time",
                     time_of(in, rate), "duration", time_of(out - in, rate));
}

/* Clip, track or stack: each can hold markers and effects. */
static json_t *item_of(const char *schema, const char *name)
{
    json_t *o = object_of(schema, name);
    set(o, "effects", json_array());
    set(o, "markers", json_array());
    set(o, "enabled", json_true());
    set(o, "source_range", json_null());
    return o;
}

/* A file name as a relative URL (RFC 3986): unreserved characters as they are. */
static json_t *url_of(const char *name)
{
    struct fl_text_stream stream;
    FILE *out = fl_text_begin(&stream);
    for (; name && *name; name++) {
        unsigned char c = (unsigned char)*name;
        fprintf(out, (c < 0x80 && isalnum(c)) || strchr("-._~", c) ? "%c" : "%%%02X", c);
    }
    char *text = fl_text_end(&stream);
    json_t *url = json_string(text);
    free(text);
    return url;
}

static json_int_t microseconds(double time_s)
{
    return (json_int_t)llround(time_s * 1e6);
}

static json_t *marker_of(const struct fl_mark *mark, struct fl_rate rate)
{
    char text[FL_MARK_TEXT_SIZE], name[32];
    const struct fl_flick *f = mark->flick;
    snprintf(name, sizeof name, "%s %zu", f ? "Flick" : "Lapse", mark->number);
    json_t *o = object_of("Marker.2", name);
    set(o, "color", json_string(fl_mark_colour(mark)));
    set(o, "comment", json_string(fl_mark_text(text, mark)));
    set(o, "marked_range", range_of(mark->in, mark->out, rate));
    /* Microseconds: a fraction would show all 17 digits that the rate needs. */
    set(o, "metadata",
        json_pack("{s: {s: s, s: I, s: I, s: I}}", "flinch", "kind", f ? "flick" : "lapse",
                  "number", (json_int_t)mark->number, "start_us",
                  microseconds(f ? f->start_s : mark->lapse->start_s), "end_us",
                  microseconds(f ? f->end_s : mark->lapse->end_s)));
    return o;
}

static json_t *clip_of(const struct fl_marks *m)
{
    const char *footage = fl_own_name(m->take->spec.footage);
    json_t *clip = item_of("Clip.2", footage), *media = object_of("ExternalReference.1", footage);
    set(media, "target_url", url_of(footage));
    set(media, "available_range", range_of(0, m->length, m->tc.rate));
    set(media, "available_image_bounds", json_null());
    set(clip, "source_range", range_of(0, m->length, m->tc.rate));
    set(clip, "media_references", json_pack("{s: o}", "DEFAULT_MEDIA", media));
    set(clip, "active_media_reference_key", json_string("DEFAULT_MEDIA"));
    for (size_t i = 0; i < m->n; i++)
        fl_json_append(json_object_get(clip, "markers"), marker_of(&m->v[i], m->tc.rate));
    return clip;
}

static json_t *timeline_of(const struct fl_marks *m)
{
    char rate[FL_RATE_SIZE];
    const struct fl_take_spec *s = &m->take->spec;
    json_t *timeline = object_of("Timeline.1", s->id), *stack = item_of("Stack.1", "tracks"),
           *track = item_of("Track.1", "V1");
    set(track, "kind", json_string("Video"));
    set(track, "children", json_pack("[o]", clip_of(m)));
    set(stack, "children", json_pack("[o]", track));
    set(timeline, "tracks", stack);
    set(timeline, "global_start_time", time_of(m->start, m->tc.rate));
    set(timeline, "metadata",
        json_pack("{s: {s: o, s: o, s: s, s: b}}", "flinch", "game", fl_json_text(s->game),
                  "condition", fl_json_text(s->condition), "frame_rate",
                  fl_rate_text(rate, m->tc.rate), "drop_frame", m->tc.drop));
    return timeline;
}

void fl_marks_otio(FILE *out, const struct fl_marks *m)
{
    fl_json_put(out, timeline_of(m), JSON_INDENT(1));
}
