/* Axes and buttons by HidP_*, as documented for hidpi.h. */
#include "record/raw_pad.h"

#include <stdio.h>
#include <string.h>

#include "base/mem.h"

enum { PAGE_DESKTOP = 1, PAGE_BUTTON = 9, USAGE_X = 0x30, VALUES = 64 };

static void note_axis(struct fl_raw_pad *p, const HIDP_VALUE_CAPS *v)
{
    const int first = v->IsRange ? v->Range.UsageMin : v->NotRange.Usage;
    const int last = v->IsRange ? v->Range.UsageMax : first;
    for (int usage = first; v->UsagePage == PAGE_DESKTOP && usage <= last; usage++) {
        const int k = usage - USAGE_X;
        if (k < 0 || k >= FL_AXES || !v->IsAbsolute || v->BitSize > 32)
            continue;
        const bool careless = v->LogicalMax <= v->LogicalMin; /* 0 to FF.. written as 0 to -1 */
        p->axis[k].there = true;
        p->axis[k].bits = v->BitSize;
        p->axis[k].is_signed = v->LogicalMin < 0;
        p->axis[k].low = v->LogicalMin;
        p->axis[k].high = careless ? (int32_t)((INT64_C(1) << v->BitSize) - 1) : v->LogicalMax;
    }
}

bool fl_raw_pad_init(struct fl_raw_pad *p, HANDLE device, bool left_stick)
{
    HIDP_VALUE_CAPS v[VALUES];
    USHORT n = VALUES;
    UINT size = 0;
    memset(p, 0, sizeof *p);
    p->left = left_stick;
    if (GetRawInputDeviceInfoW(device, RIDI_PREPARSEDDATA, NULL, &size) || size == 0)
        return false;
    p->parsed = fl_calloc(size, 1);
    if (GetRawInputDeviceInfoW(device, RIDI_PREPARSEDDATA, p->parsed, &size) == (UINT)-1 ||
        HidP_GetValueCaps(HidP_Input, v, &n, p->parsed) != HIDP_STATUS_SUCCESS) {
        fl_raw_pad_finish(p);
        return false;
    }
    for (int i = 0; i < n; i++)
        note_axis(p, &v[i]);
    return true;
}

void fl_raw_pad_finish(struct fl_raw_pad *p)
{
    free(p->parsed);
    memset(p, 0, sizeof *p);
}

static void read_axes(struct fl_raw_pad *p, BYTE *data, ULONG size, struct fl_input_report *out)
{
    for (int k = 0; k < FL_AXES; k++) {
        ULONG raw;
        if (!p->axis[k].there ||
            HidP_GetUsageValue(HidP_Input, PAGE_DESKTOP, 0, (USAGE)(USAGE_X + k), &raw, p->parsed,
                               (PCHAR)data, size) != HIDP_STATUS_SUCCESS)
            continue;
        const uint32_t sign = UINT32_C(1) << (p->axis[k].bits - 1);
        out->axes |= 1u << k;
        out->axis[k] =
            p->axis[k].is_signed ? (int32_t)(((uint32_t)raw ^ sign) - sign) : (int32_t)raw;
    }
}

static void read_buttons(struct fl_raw_pad *p, BYTE *data, ULONG size, struct fl_input_report *out)
{
    USAGE usage[64];
    ULONG n = 64;
    uint64_t down = 0;
    if (HidP_GetUsages(HidP_Input, PAGE_BUTTON, 0, usage, &n, p->parsed, (PCHAR)data, size) !=
        HIDP_STATUS_SUCCESS)
        return;
    for (ULONG i = 0; i < n; i++)
        if (usage[i] >= 1 && usage[i] <= 48)
            down |= UINT64_C(1) << (FL_PAD_BUTTON - 1 + usage[i] - 1);
    for (int b = 0; b < 64; b++)
        if ((down ^ p->down) >> b & 1)
            fl_report_button(out, b + 1, down >> b & 1);
    p->down = down;
}

/* A stick rests about the middle of its range as the pad first reports, a trigger at an end. */
static bool judge_axis(const struct fl_raw_pad *p, enum fl_pad_axis axis,
                       const struct fl_input_report *r, struct fl_stick *s, int i)
{
    const double low = p->axis[axis].low, high = p->axis[axis].high;
    const double at = (r->axis[axis] - low) / (high - low);
    s->low[i] = low;
    s->high[i] = high;
    s->centre[i] = at > 0.4 && at < 0.6 ? r->axis[axis] : (low + high) / 2;
    return r->axes & 1u << axis && at > 0.25 && at < 0.75;
}

static void judge(struct fl_raw_pad *p, const struct fl_input_report *r, struct fl_input_device *d)
{
    static const enum fl_pad_axis pairs[][2] = {
        {FL_AXIS_RX, FL_AXIS_RY}, {FL_AXIS_Z, FL_AXIS_RZ}, {FL_AXIS_X, FL_AXIS_Y}};
    static const char *const names[] = {"Rx, Ry", "Z, Rz", "X, Y"};
    struct fl_stick *s = &d->stick;
    p->judged = true;
    for (int k = p->left ? 2 : 0; k < 3 && !s->known; k++) {
        s->known = judge_axis(p, pairs[k][0], r, s, 0) && judge_axis(p, pairs[k][1], r, s, 1);
        memcpy(d->axis, pairs[k], sizeof pairs[k]);
        snprintf(s->name, sizeof s->name, "%s", names[k]);
    }
}

void fl_raw_pad_report(struct fl_raw_pad *p, struct fl_input_device *d, BYTE *data, ULONG size,
                       struct fl_input_report *out)
{
    memset(out, 0, sizeof *out);
    read_axes(p, data, size, out);
    read_buttons(p, data, size, out);
    if (!p->judged && out->axes)
        judge(p, out, d);
}
