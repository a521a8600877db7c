/* Fields taken out of a report bit by bit (HID 1.11, 5.6 to 5.8 and 8.4: least bit first). */
#include "trace/hid_report.h"

#include <string.h>

/* Bits of a report, counted from its first byte after the id. */
struct payload {
    const uint8_t *data;
    size_t bits;
};

static uint32_t raw_value(const struct payload *p, uint32_t at, unsigned bits)
{
    uint64_t v = 0;
    const size_t first = at / 8, last = (at + bits - 1) / 8;
    for (size_t i = first; i <= last; i++)
        v |= (uint64_t)p->data[i] << (8 * (i - first));
    return (uint32_t)(v >> at % 8 & (UINT64_MAX >> (64 - bits)));
}

/* Signed where the logical range begins below 0. */
static int32_t value_of(const struct fl_hid_field *f, uint32_t raw)
{
    const uint32_t sign = UINT32_C(1) << (f->bits - 1);
    return f->low < 0 ? (int32_t)((raw ^ sign) - sign) : (int32_t)raw;
}

static void press_listed(const struct payload *p, const struct fl_hid_field *f, uint64_t *down)
{
    for (uint32_t i = 0; i < f->count; i++) {
        const int64_t v = value_of(f, raw_value(p, f->at + i * f->bits, f->bits));
        const int64_t button = f->number + v - f->low;
        if (v >= f->low && v <= f->high && button >= 1 && button <= FL_REPORT_BUTTONS)
            *down |= UINT64_C(1) << (button - 1);
    }
}

static uint64_t listed_buttons(const struct fl_hid_field *f)
{
    uint64_t mask = 0;
    for (int64_t b = f->number; b <= f->number + (int64_t)f->high - f->low; b++)
        if (b >= 1 && b <= FL_REPORT_BUTTONS)
            mask |= UINT64_C(1) << (b - 1);
        else
            break;
    return mask;
}

/* An absolute pointer's step since its last report. */
static void step_to(struct fl_hid_state *s, int axis, int32_t v, struct fl_input_report *r)
{
    if (s->placed)
        *(axis ? &r->dy : &r->dx) += (double)v - s->place[axis];
    s->place[axis] = v;
}

/* Buttons that the report tells of, and those of them that are down. */
struct buttons {
    uint64_t told, down;
};

static void take_field(const struct payload *p, const struct fl_hid_field *f,
                       struct fl_hid_state *s, struct buttons *b, struct fl_input_report *r)
{
    if (f->what == FL_HID_BUTTONS) {
        b->told |= listed_buttons(f);
        press_listed(p, f, &b->down);
        return;
    }
    const uint32_t raw = raw_value(p, f->at, f->bits);
    const int32_t v = value_of(f, raw);
    if (f->null_state && (v < f->low || v > f->high))
        return;
    switch (f->what) {
    case FL_HID_DX: r->dx += v; break;
    case FL_HID_DY: r->dy += v; break;
    case FL_HID_WHEEL: r->wheel += v; break;
    case FL_HID_POSITION: step_to(s, f->number, v, r); break;
    case FL_HID_AXIS:
        r->axes |= 1u << f->number;
        r->axis[f->number] = v;
        break;
    default: /* a button */
        b->told |= UINT64_C(1) << (f->number - 1);
        b->down |= raw ? UINT64_C(1) << (f->number - 1) : 0;
        break;
    }
}

static void tell_changes(struct fl_hid_state *s, struct buttons b, struct fl_input_report *r)
{
    const uint64_t changed = (s->down ^ b.down) & b.told;
    for (int k = 0; k < FL_REPORT_BUTTONS; k++)
        if (changed >> k & 1)
            fl_report_button(r, k + 1, b.down >> k & 1);
    s->down = (s->down & ~b.told) | b.down;
}

static bool has_position(const struct fl_hid_descriptor *d, uint8_t id)
{
    for (int i = 0; i < d->n; i++)
        if (d->field[i].report == id && d->field[i].what == FL_HID_POSITION)
            return true;
    return false;
}

enum fl_hid_result fl_hid_decode(const struct fl_hid_descriptor *d, struct fl_hid_state *state,
                                 const uint8_t *data, size_t size, struct fl_input_report *report)
{
    struct buttons buttons = {0};
    memset(report, 0, sizeof *report);
    if (size < d->has_ids)
        return FL_HID_SHORT;
    const uint8_t id = d->has_ids ? data[0] : 0;
    const struct payload p = {d->has_ids ? data + 1 : data, 8 * (size - d->has_ids)};
    bool any = false;
    if (p.bits < d->bits[id])
        return FL_HID_SHORT;
    for (int i = 0; i < d->n; i++) {
        const struct fl_hid_field *f = &d->field[i];
        if (f->report != id || f->at + (uint64_t)f->bits * f->count > p.bits)
            continue;
        take_field(&p, f, state, &buttons, report);
        any = true;
    }
    if (any && has_position(d, id))
        state->placed = true;
    tell_changes(state, buttons, report);
    return any ? FL_HID_TOLD : FL_HID_OTHER;
}
