/* The item parser of HID 1.11, 6.2.2: main, global and local items, with a stack of globals. */
#include "trace/hid_descriptor.h"

#include <string.h>

#include "trace/trace.h"

enum {
    USAGES = 128,
    STACK = 8,
    DEEPEST = 32,
    MOST_BITS = 65535, /* of a report; the wire allows eight times that, no mouse comes near */
};
enum { DESKTOP = 0x01, BUTTON = 0x09 };
enum { POINTER = 0x01, MOUSE = 0x02, JOYSTICK = 0x04, GAMEPAD = 0x05, MULTI_AXIS = 0x08 };
enum { USAGE_X = 0x30, USAGE_Y = 0x31, USAGE_RZ = 0x35, USAGE_WHEEL = 0x38 };
/* Of an Input item (6.2.2.5). */
enum { CONSTANT = 1 << 0, VARIABLE = 1 << 1, RELATIVE = 1 << 2, NULL_STATE = 1 << 6 };

struct globals {
    uint32_t page, size, count;
    int32_t low, high;
    uint32_t raw_high; /* as if unsigned: what careless descriptors mean by 25 FF */
    uint8_t report;
};

struct parser {
    struct fl_hid_descriptor *out;
    struct globals now, stack[STACK];
    int stacked;
    uint32_t usage[USAGES]; /* page << 16 | usage */
    int usages;
    uint32_t least_usage, most_usage;
    bool has_least, has_most;
    bool alternatives, alternative_taken; /* within delimiters: the first goes */
    uint32_t application[DEEPEST];        /* of each open collection */
    int depth;
};

bool fl_hid_useful(const struct fl_hid_descriptor *d)
{
    for (int i = 0; i < d->n; i++)
        if (d->field[i].what == FL_HID_DX || d->field[i].what == FL_HID_DY ||
            d->field[i].what == FL_HID_AXIS)
            return true;
    return false;
}

/* ---- main items ---- */

static uint32_t application_of(const struct parser *p)
{
    return p->depth > 0 ? p->application[p->depth - 1] : 0;
}

static bool is_pointer(uint32_t application)
{
    return application == (DESKTOP << 16 | MOUSE) || application == (DESKTOP << 16 | POINTER);
}

static bool is_pad(uint32_t application)
{
    return application == (DESKTOP << 16 | JOYSTICK) || application == (DESKTOP << 16 | GAMEPAD) ||
           application == (DESKTOP << 16 | MULTI_AXIS);
}

/* Usage of value i of a field: the last one goes for all that follow (6.2.2.8). */
static uint32_t usage_of(const struct parser *p, uint32_t i)
{
    if (p->usages == 0)
        return 0;
    return p->usage[i < (uint32_t)p->usages ? i : (uint32_t)p->usages - 1];
}

/* What a usage is to us; false if nothing. */
static bool name_field(struct fl_hid_field *f, uint32_t usage, bool relative, uint32_t application)
{
    const uint32_t page = usage >> 16, id = usage & 0xFFFF;
    const bool pointer = is_pointer(application), pad = is_pad(application);
    const uint32_t first = pad ? FL_PAD_BUTTON : 1;
    if (page == BUTTON && (pointer || pad) && id >= 1 && first + id - 1 <= FL_REPORT_BUTTONS) {
        f->what = FL_HID_BUTTON;
        f->number = (uint8_t)(first + id - 1);
    } else if (page != DESKTOP) {
        return false;
    } else if (pointer && (id == USAGE_X || id == USAGE_Y)) {
        f->what = !relative ? FL_HID_POSITION : id == USAGE_X ? FL_HID_DX : FL_HID_DY;
        f->number = (uint8_t)(id - USAGE_X);
    } else if (pointer && id == USAGE_WHEEL && relative) {
        f->what = FL_HID_WHEEL;
    } else if (pad && id >= USAGE_X && id <= USAGE_RZ && !relative) {
        f->what = FL_HID_AXIS;
        f->number = (uint8_t)(id - USAGE_X);
    } else {
        return false;
    }
    return true;
}

static struct fl_hid_field field_at(const struct parser *p, uint32_t at, uint32_t flags)
{
    const struct globals *g = &p->now;
    const bool careless = g->low >= 0 && g->high < g->low;
    return (struct fl_hid_field){.report = g->report,
                                 .bits = (uint8_t)g->size,
                                 .count = 1,
                                 .at = at,
                                 .low = g->low,
                                 .high = careless ? (int32_t)(g->raw_high & INT32_MAX) : g->high,
                                 .null_state = flags & NULL_STATE};
}

static void keep_field(struct parser *p, struct fl_hid_field f)
{
    if (p->out->n < FL_HID_FIELDS)
        p->out->field[p->out->n++] = f;
}

/* An array of buttons: each of its values tells one that is down. */
static void keep_array(struct parser *p, uint32_t at, uint32_t flags)
{
    struct fl_hid_field f = field_at(p, at, flags);
    struct fl_hid_field first;
    const uint32_t usage = usage_of(p, 0);
    if (!name_field(&first, usage, false, application_of(p)) || first.what != FL_HID_BUTTON)
        return;
    f.what = FL_HID_BUTTONS;
    f.count = (uint16_t)p->now.count;
    f.number = first.number;
    keep_field(p, f);
}

/* False if the report would be longer than any is. */
static bool input(struct parser *p, uint32_t flags)
{
    const struct globals *g = &p->now;
    uint32_t *bits = &p->out->bits[g->report];
    const uint32_t at = *bits;
    if ((uint64_t)g->size * g->count + at > MOST_BITS)
        return false;
    *bits += g->size * g->count;
    if (flags & CONSTANT || g->size == 0 || g->size > 32)
        return true;
    if (!(flags & VARIABLE)) {
        keep_array(p, at, flags);
        return true;
    }
    for (uint32_t i = 0; i < g->count; i++) {
        struct fl_hid_field f = field_at(p, at + i * g->size, flags);
        if (name_field(&f, usage_of(p, i), flags & RELATIVE, application_of(p)))
            keep_field(p, f);
    }
    return true;
}

/* An application collection says what the device is; those within it go on meaning it. */
static bool open_collection(struct parser *p, uint32_t type)
{
    if (p->depth == DEEPEST)
        return false;
    p->application[p->depth] = type == 1 ? usage_of(p, 0) : application_of(p);
    p->depth++;
    return true;
}

static bool main_item(struct parser *p, uint32_t tag, uint32_t value)
{
    bool good = true;
    if (tag == 0x8)
        good = input(p, value);
    else if (tag == 0xA)
        good = open_collection(p, value);
    else if (tag == 0xC)
        good = p->depth-- > 0;
    p->usages = 0; /* local items go for one main item */
    p->has_least = p->has_most = p->alternatives = false;
    return good;
}

/* ---- global and local items ---- */

static int32_t as_signed(uint32_t value, size_t size)
{
    if (size == 1)
        return (int8_t)value;
    return size == 2 ? (int16_t)value : (int32_t)value;
}

static bool set_report(struct parser *p, uint32_t value)
{
    p->now.report = (uint8_t)value;
    p->out->has_ids = true;
    return value >= 1 && value <= 255;
}

static bool global_item(struct parser *p, uint32_t tag, uint32_t value, size_t size)
{
    struct globals *g = &p->now;
    switch (tag) {
    case 0x0: g->page = value & 0xFFFF; break;
    case 0x1: g->low = as_signed(value, size); break;
    case 0x2:
        g->high = as_signed(value, size);
        g->raw_high = value;
        break;
    case 0x7: g->size = value; break;
    case 0x8: return set_report(p, value);
    case 0x9: g->count = value; break;
    case 0xA:
        if (p->stacked == STACK)
            return false;
        p->stack[p->stacked++] = *g;
        break;
    case 0xB:
        if (p->stacked == 0)
            return false;
        *g = p->stack[--p->stacked];
        break;
    default: break;
    }
    return true;
}

static void add_usage(struct parser *p, uint32_t usage)
{
    if (p->usages < USAGES && !(p->alternatives && p->alternative_taken))
        p->usage[p->usages++] = usage;
    p->alternative_taken = true;
}

/* A range is complete once both its ends are told. */
static void add_range(struct parser *p)
{
    if (!p->has_least || !p->has_most)
        return;
    for (uint64_t i = 0; i < USAGES && p->least_usage + i <= p->most_usage; i++)
        add_usage(p, (uint32_t)(p->least_usage + i));
    p->has_least = p->has_most = false;
}

static void local_item(struct parser *p, uint32_t tag, uint32_t value, size_t size)
{
    const uint32_t usage = size == 4 ? value : p->now.page << 16 | value;
    if (tag == 0x0) {
        add_usage(p, usage);
    } else if (tag == 0x1) {
        p->least_usage = usage;
        p->has_least = true;
    } else if (tag == 0x2) {
        p->most_usage = usage;
        p->has_most = true;
    } else if (tag == 0xA) {
        p->alternatives = value == 1;
        p->alternative_taken = false;
    }
    add_range(p);
}

/* ---- items ---- */

static bool take_item(struct parser *p, uint8_t prefix, uint32_t value, size_t size)
{
    const uint32_t tag = prefix >> 4;
    switch (prefix >> 2 & 3) {
    case 0: return main_item(p, tag, value);
    case 1: return global_item(p, tag, value, size);
    case 2: local_item(p, tag, value, size); return true;
    default: return true; /* reserved */
    }
}

bool fl_hid_parse(struct fl_hid_descriptor *out, const uint8_t *item, size_t size)
{
    struct parser p = {.out = out};
    memset(out, 0, sizeof *out);
    for (size_t at = 0; at < size;) {
        const uint8_t prefix = item[at++];
        if (prefix == 0xFE) { /* a long item: size, tag, data */
            at += at < size ? (size_t)item[at] + 2 : 1;
            continue;
        }
        const size_t n = (prefix & 3) == 3 ? 4 : prefix & 3;
        uint32_t value = 0;
        if (at + n > size)
            return false;
        for (size_t i = 0; i < n; i++)
            value |= (uint32_t)item[at + i] << (8 * i);
        at += n;
        if (!take_item(&p, prefix, value, n))
            return false;
    }
    return p.depth == 0;
}

const struct fl_hid_descriptor *fl_hid_boot_mouse(void)
{
    static const struct fl_hid_descriptor mouse = {
        .field =
            {
                {.what = FL_HID_BUTTON, .number = 1, .bits = 1, .count = 1, .at = 0, .high = 1},
                {.what = FL_HID_BUTTON, .number = 2, .bits = 1, .count = 1, .at = 1, .high = 1},
                {.what = FL_HID_BUTTON, .number = 3, .bits = 1, .count = 1, .at = 2, .high = 1},
                {.what = FL_HID_DX, .bits = 8, .count = 1, .at = 8, .low = -127, .high = 127},
                {.what = FL_HID_DY, .bits = 8, .count = 1, .at = 16, .low = -127, .high = 127},
                {.what = FL_HID_WHEEL, .bits = 8, .count = 1, .at = 24, .low = -127, .high = 127},
            },
        .n = 6,
        .bits = {24},
    };
    return &mouse;
}
