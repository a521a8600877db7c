/* Rows as text, without printf: at 8,000 reports a second that alone would be a load. */
#include "record/row.h"

#include <math.h>

#include "trace/stick_survey.h"

static char *put_whole(char *at, long long v)
{
    char digits[24];
    int n = 0;
    unsigned long long rest = v < 0 ? 0 - (unsigned long long)v : (unsigned long long)v;
    if (v < 0)
        *at++ = '-';
    do
        digits[n++] = (char)('0' + rest % 10);
    while (rest /= 10);
    while (n > 0)
        *at++ = digits[--n];
    return at;
}

/* Up to five decimals, none where they are zeros. */
static char *put_number(char *at, double v)
{
    long long parts = llrint(fabs(v) * 1e5);
    int places = 5;
    if (v < 0 && parts > 0)
        *at++ = '-';
    at = put_whole(at, parts / 100000);
    parts %= 100000;
    if (parts == 0)
        return at;
    *at++ = '.';
    for (long long unit = 10000; parts > 0 && places-- > 0; unit /= 10) {
        *at++ = (char)('0' + parts / unit);
        parts %= unit;
    }
    return at;
}

bool fl_row_stick(const struct fl_input_device *d, const struct fl_input_report *r, int i,
                  double *value)
{
    if (!d->stick.known || !(r->axes & 1u << d->axis[i]))
        return false;
    *value = fl_stick_value(&d->stick, i, r->axis[d->axis[i]]);
    return true;
}

static char *put_row(char *at, const struct fl_input_device *d, const struct fl_input_report *r,
                     int button)
{
    const bool first = button == 0;
    double v;
    at = put_whole(at, llrint(r->time_s * 1e6));
    *at++ = ',';
    at = first ? put_number(at, r->dx) : at;
    *at++ = ',';
    at = first ? put_number(at, r->dy) : at;
    *at++ = ',';
    at = first && r->wheel != 0 ? put_number(at, r->wheel) : at;
    *at++ = ',';
    if (button < r->n_buttons)
        at = put_whole(at, r->button[button].button);
    *at++ = ',';
    if (button < r->n_buttons)
        at = put_whole(at, r->button[button].state);
    for (int i = 0; i < 2; i++) {
        *at++ = ',';
        at = first && fl_row_stick(d, r, i, &v) ? put_number(at, v) : at;
    }
    *at++ = '\n';
    return at;
}

size_t fl_rows_write(char *out, const struct fl_input_device *d, const struct fl_input_report *r)
{
    char *at = out;
    for (int i = 0; i == 0 || i < r->n_buttons; i++)
        at = put_row(at, d, r, i);
    return (size_t)(at - out);
}
