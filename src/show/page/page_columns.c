/* Figures as small integers in base64: short, and exact to the decimals of the CSV files. */
#include "show/page/page_columns.h"

#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "show/store/fields.h"
#include "show/store/json_value.h"

/* A printed number: mantissa · 10^exponent, the mantissa without trailing zeros. */
struct decimal {
    int64_t mantissa;
    int exponent;
    bool known;
};

enum { PACKED_HALF = 1 << 24, PACKED_EXPONENTS = 128, SIZE = 64 };

char *fl_base64(const void *data, size_t size)
{
    static const char digit[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    const uint8_t *p = data;
    char *text = FL_NEW(char, (size + 2) / 3 * 4 + 1), *out = text;
    for (size_t i = 0; i < size; i += 3) {
        size_t left = size - i;
        uint32_t v = (uint32_t)p[i] << 16 | (left > 1 ? (uint32_t)p[i + 1] << 8 : 0) |
                     (left > 2 ? p[i + 2] : 0);
        *out++ = digit[v >> 18];
        *out++ = digit[v >> 12 & 63];
        *out++ = left > 1 ? digit[v >> 6 & 63] : '=';
        *out++ = left > 2 ? digit[v & 63] : '=';
    }
    return text;
}

/* Text as printf makes it: "-1.234567e-05", "140", "0.5". */
static struct decimal parse(const char *text)
{
    struct decimal d = {.known = true};
    bool minus = *text == '-', point = false;
    for (text += minus; *text && *text != 'e'; text++) {
        if (*text == '.') {
            point = true;
            continue;
        }
        d.mantissa = 10 * d.mantissa + (*text - '0');
        d.exponent -= point;
    }
    if (*text == 'e')
        d.exponent += (int)strtol(text + 1, NULL, 10);
    while (d.mantissa && d.mantissa % 10 == 0) {
        d.mantissa /= 10;
        d.exponent++;
    }
    if (!d.mantissa)
        d.exponent = 0;
    d.mantissa = minus ? -d.mantissa : d.mantissa;
    return d;
}

static struct decimal figure_of(double x)
{
    char text[SIZE];
    if (!isfinite(x))
        return (struct decimal){0};
    snprintf(text, sizeof text, "%.*g", FL_FIGURE_DIGITS, x);
    return parse(text);
}

/* What the narrowest signed integers that hold low to high take; their own least value is kept
 * free. */
static int bytes_for(int64_t low, int64_t high)
{
    return low > INT8_MIN && high <= INT8_MAX     ? 1
           : low > INT16_MIN && high <= INT16_MAX ? 2
           : low > INT32_MIN && high <= INT32_MAX ? 4
                                                  : 8;
}

static void put_integer(uint8_t *at, int bytes, int64_t v)
{
    for (int k = 0; k < bytes; k++)
        at[k] = (uint8_t)((uint64_t)v >> (8 * k));
}

/* The integers and their width; the caller adds what they mean. */
static json_t *column_of(const int64_t *v, size_t n, int bytes)
{
    uint8_t *data = FL_NEW(uint8_t, n * (size_t)bytes + 1);
    for (size_t i = 0; i < n; i++)
        put_integer(data + i * (size_t)bytes, bytes, v[i]);
    char *text = fl_base64(data, n * (size_t)bytes);
    json_t *column = json_pack("{s: i, s: s}", "bytes", bytes, "base64", text);
    free(text);
    free(data);
    return column;
}

/* Integers of one decimal step, which holds every figure; 0 if none of four bytes does. */
static int common_step(const struct decimal *d, size_t n, int decimals, int64_t *out)
{
    int64_t low = 0, high = 0;
    for (size_t i = 0; i < n; i++) {
        int shift = d[i].exponent + decimals;
        int64_t v = d[i].mantissa;
        for (; shift > 0 && llabs(v) <= INT32_MAX; shift--)
            v *= 10;
        out[i] = v;
        low = v < low ? v : low;
        high = v > high ? v : high;
    }
    int bytes = bytes_for(low, high);
    for (size_t i = 0; i < n && bytes <= 4; i++)
        out[i] = d[i].known ? out[i] : -((int64_t)1 << (8 * bytes - 1));
    return bytes <= 4 ? bytes : 0;
}

static json_t *packed(const struct decimal *d, size_t n, int64_t *word)
{
    for (size_t i = 0; i < n; i++)
        word[i] = d[i].known ? (d[i].mantissa + PACKED_HALF) * PACKED_EXPONENTS + d[i].exponent +
                                   PACKED_EXPONENTS / 2
                             : 0;
    json_t *column = column_of(word, n, 4);
    fl_json_set(column, "packed", json_true());
    return column;
}

json_t *fl_column_figures(const double *v, size_t n)
{
    struct decimal *d = FL_NEW(struct decimal, n + 1);
    int64_t *word = FL_NEW(int64_t, n + 1);
    int decimals = 0;
    for (size_t i = 0; i < n; i++) {
        d[i] = figure_of(v[i]);
        decimals = -d[i].exponent > decimals ? -d[i].exponent : decimals;
    }
    int bytes = common_step(d, n, decimals, word);
    json_t *column = bytes ? column_of(word, n, bytes) : packed(d, n, word);
    if (bytes)
        fl_json_set(column, "decimals", json_integer(decimals));
    free(word);
    free(d);
    return column;
}

static int64_t microseconds(double s)
{
    char text[512];
    snprintf(text, sizeof text, "%.*f", FL_TIME_DECIMALS, s);
    char *point = strchr(text, '.');
    memmove(point, point + 1, strlen(point));
    return strtoll(text, NULL, 10);
}

json_t *fl_column_times(const double *v, size_t n)
{
    int64_t *step = FL_NEW(int64_t, n + 1), at = 0, first = 0, low = 0, high = 0;
    bool known = true;
    for (size_t i = 0; i < n && known; i++) {
        known = isfinite(v[i]) && fabs(v[i]) < 1e12;
        int64_t now = known ? microseconds(v[i]) : 0;
        first = i ? first : now;
        step[i] = i ? now - at : 0;
        at = now;
        low = step[i] < low ? step[i] : low;
        high = step[i] > high ? step[i] : high;
    }
    int bytes = bytes_for(low, high);
    json_t *column = known && bytes <= 4 ? column_of(step, n, bytes) : json_null();
    if (json_is_object(column))
        fl_json_set(column, "first", json_integer(first));
    free(step);
    return column;
}
