/* docs/clip.schema.json: the clips that were written. */
#include "show/screen/clip_screen.h"
#include "show/store/json_value.h"

/* One clip. */
struct written {
    const struct fl_planned_clip *clip;
    const struct fl_clip_report *report;
    const struct fl_take *take, *beside;       /* beside: NULL without a second take */
    const struct fl_planned_clip *clip_beside; /* the clip, where there is one */
};

static const char *flash_word(int red)
{
    static const char *const words[] = {"general", "red", NULL};
    return words[red];
}

static const char *light_word(int i)
{
    static const char *const words[] = {
        [FL_LIGHT_SDR] = "standard", [FL_LIGHT_PQ] = "pq", [FL_LIGHT_HLG] = "hlg", NULL};
    return words[i];
}

#define AT(member, kind) FL_AT(fl_flash_span, member, kind)
static const struct fl_field flash_span_fields[] = {
    {"kind", AT(red, WORD), .word = flash_word,
     .meaning = "Changes of luminance, or to and from saturated red."},
    {"start_s", AT(start_s, TIME), .meaning = "First change."},
    {"end_s", AT(end_s, TIME), .meaning = "Last change."},
    {"most_in_a_second", AT(most, WHOLE), .meaning = "Flashes within one second, at most."},
    {0},
};
#undef AT

static json_t *exceeds(const void *flash)
{
    return json_boolean(((const struct fl_flash_report *)flash)->n > 0);
}

#define AT(member, kind) FL_AT(fl_flash_report, member, kind)
static const struct fl_field flash_fields[] = {
    {"exceeds", FL_FIELD_BOOL, .make = exceeds,
     .meaning = "More than three within a second, over more than a quarter of the frame."},
    {"most_in_a_second", AT(most, WHOLE), FL_FROM_ZERO,
     .meaning = "General flashes within any one second, at most."},
    {"most_red_in_a_second", AT(most_red, WHOLE), FL_FROM_ZERO,
     .meaning = "Red flashes within any one second, at most."},
    {"spans", FL_LIST_AT(fl_flash_report, span, n), .fields = flash_span_fields,
     .item_meaning = "One stretch of flashes.",
     .meaning = "Where the rule is exceeded, in time of the clip."},
    {0},
};
#undef AT

static json_t *number_or_null(size_t n)
{
    return n ? json_integer((json_int_t)n) : json_null();
}

static json_t *lapse(const void *written)
{
    return number_or_null(((const struct written *)written)->clip->lapse);
}

static json_t *lapse_beside(const void *written)
{
    return number_or_null(((const struct written *)written)->clip->lapse_beside);
}

static json_t *end_s(const void *written)
{
    const struct fl_planned_clip *c = ((const struct written *)written)->clip;
    return fl_json_time(c->from_s + c->length_s);
}

#define CLIP(member, kind) FL_AT(fl_planned_clip, member, kind), FL_THROUGH(written, clip)
#define REPORT(member, kind) FL_AT(fl_clip_report, member, kind), FL_THROUGH(written, report)
static const struct fl_field written_fields[] = {
    {"file", CLIP(path, TEXT), .meaning = "Path of the clip."},
    {"take", FL_AT(fl_take, spec.id, TEXT), FL_THROUGH(written, take),
     .meaning = "Id of the take."},
    {"lapse", FL_FIELD_WHOLE, .make = lapse, FL_FROM_ONE, FL_OR_NULL,
     .meaning = "Number of the lapse in the take's lapses, from 1; null for a span."},
    {"from_s", CLIP(from_s, TIME), FL_FROM_ZERO,
     .meaning = "Footage time at which the clip begins."},
    {"to_s", FL_FIELD_TIME, .make = end_s, .meaning = "Footage time at which it ends."},
    {"beside", FL_AT(fl_take, spec.id, TEXT), FL_THROUGH(written, beside), FL_OR_NULL,
     .meaning = "Id of the take on the right."},
    {"lapse_beside", FL_FIELD_WHOLE, .make = lapse_beside, FL_FROM_ONE, FL_OR_NULL,
     .meaning = "Number of its lapse, where both are lined up on the trip."},
    {"from_beside_s", FL_AT(fl_planned_clip, from_beside_s, TIME), FL_THROUGH(written, clip_beside),
     FL_OR_NULL, .meaning = "Its footage time as the clip begins; below 0: it begins later."},
    {"frames", REPORT(frames, WHOLE), FL_FROM_ONE, .meaning = "Frames of the clip."},
    {"lost_frames", REPORT(lost, WHOLE), FL_FROM_ZERO,
     .meaning = "Captured frames that the recorder lost; the one before is shown in their "
                "place."},
    {"rate_hz", REPORT(rate_hz, FIGURE), .meaning = "Frames a second of the clip."},
    {"duration_s", REPORT(duration_s, TIME), .meaning = "Length of the clip."},
    {"width", REPORT(width, WHOLE), .meaning = "Pixels of the frame."},
    {"height", REPORT(height, WHOLE), .meaning = "Pixels of the frame."},
    {"bits", REPORT(bits, WHOLE), .meaning = "Bits a sample of the clip: 8 or 10."},
    {"codec", REPORT(codec, TEXT), .meaning = "Video encoder, as FFmpeg names it."},
    {"sound", REPORT(sound, BOOL), .meaning = "The footage's sound is in the clip."},
    {"dynamic_range", REPORT(light, WORD), .word = light_word, .meaning = "Of footage and clip."},
    {"flashes", REPORT(flash, OBJECT), .fields = flash_fields,
     .meaning = "Flashes by the rule of WCAG 2.3.1 and ITU-R BT.1702, in the finished pictures."},
    {0},
};

/* What is printed. */
struct clips {
    struct written *v;
    size_t n;
    json_t *settings;
};

static json_t *settings_of(const void *clips)
{
    return json_incref(((const struct clips *)clips)->settings);
}

static const struct fl_field clip_fields[] = {
    {"clips", FL_LIST_AT(clips, v, n), .fields = written_fields, .item_meaning = "One clip.",
     .meaning = "In the order in which they were written."},
    {"settings", FL_FIELD_OBJECT, .make = settings_of,
     .meaning = "Every option of the command with its value; null, 0 or false where it was not "
                "given."},
    {0},
};

const struct fl_document fl_clip_document = {
    .name = "clip",
    .title = "Clips that were written (flinch clip --json)",
    .meaning = "What flinch clip has written. Everything named *_s is seconds; unknown or absent "
               "values are null.",
    .format = "flinch-clips",
    .version = 1,
    .fields = clip_fields,
};

json_t *fl_clips_json(const struct fl_clip_plan *p, const struct fl_clip_report *reports, size_t n,
                      json_t *settings)
{
    struct clips clips = {FL_NEW(struct written, n + 1), n, settings};
    for (size_t i = 0; i < n; i++)
        clips.v[i] =
            (struct written){&p->clip[i], &reports[i], p->a, p->b, p->b ? &p->clip[i] : NULL};
    json_t *value = fl_document_json(&fl_clip_document, &clips);
    json_decref(settings);
    free(clips.v);
    return value;
}
