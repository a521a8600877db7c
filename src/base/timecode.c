/* Rates are fractions: 29.97 in decimals is a frame off after nine hours. Drop-frame labels by
 * SMPTE ST 12-1: counted within ten minutes, the period after which they repeat. */
#include "base/timecode.h"

#include <assert.h>
#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define FASTEST 1000
#define NEAR 2e-4 /* common rates lie 1 in 1,000 apart */

static long common_divisor(long a, long b)
{
    while (b) {
        long rest = a % b;
        a = b;
        b = rest;
    }
    return a;
}

static struct fl_rate lowest_terms(long num, long den)
{
    long d = common_divisor(num, den);
    assert(num > 0 && den > 0 && d > 0);
    return (struct fl_rate){num / d, den / d};
}

double fl_rate_hz(struct fl_rate rate)
{
    return rate.den ? (double)rate.num / (double)rate.den : NAN;
}

long fl_rate_labels(struct fl_rate rate)
{
    return rate.den ? (rate.num + rate.den / 2) / rate.den : 0;
}

bool fl_rate_can_drop(struct fl_rate rate)
{
    return rate.den == 1001 && rate.num % 30000 == 0;
}

/* The common rate nearest to hz, and how far off it is as a share. */
static struct fl_rate nearest_common(double hz, double *off)
{
    long whole = lround(hz), slowed = lround(hz * 1.001);
    struct fl_rate rate = {whole > 0 ? whole : 1, 1};
    *off = fabs(hz / (double)rate.num - 1);
    double other = fabs(hz * 1.001 / (double)slowed - 1);
    if (slowed > 0 && (slowed % 24 == 0 || slowed % 30 == 0) && other < *off) {
        rate = lowest_terms(slowed * 1000, 1001);
        *off = other;
    }
    return rate;
}

struct fl_rate fl_rate_near(double hz, double frames, bool *common)
{
    double off;
    bool ignored, *is = common ? common : &ignored;
    *is = false;
    if (!(hz >= 1 && hz <= FASTEST))
        return (struct fl_rate){0, 0};
    struct fl_rate rate = nearest_common(hz, &off);
    *is = off < NEAR && off * frames < 0.5;
    return *is ? rate : lowest_terms(lround(hz * 1000), 1000);
}

/* Digits with at most one '.' among them, as num/den; false if it is anything else or too long. */
static bool parse_decimal(const char **text, long *num, long *den)
{
    const char *c = *text;
    bool point = false;
    *num = 0;
    *den = 1;
    for (; isdigit((unsigned char)*c) || (*c == '.' && !point); c++) {
        point |= *c == '.';
        if (*c == '.')
            continue;
        *num = *num * 10 + (*c - '0');
        *den *= point ? 10 : 1;
        if (*num > 1000000000L || *den > 1000000L)
            return false;
    }
    bool some = c > *text + point;
    *text = c;
    return some;
}

enum flinch_code fl_rate_parse(struct fl_rate *out, const char *text, struct fl_error *err)
{
    long num, den, under = 1, places = 1;
    const char *c = text;
    bool good = parse_decimal(&c, &num, &den), fraction = good && *c == '/' && den == 1;
    if (fraction) {
        c++;
        good = parse_decimal(&c, &under, &places) && under > 0 && places == 1;
    }
    good = good && !*c && num > 0;
    double hz = good ? (double)num / (double)den / (double)under : 0, off;
    if (!good || hz < 1 || hz > FASTEST)
        return fl_fail(err, FLINCH_ERR_USAGE,
                       "'%.40s' is not a frame rate from 1 to %d; write 25, 29.97 or 30000/1001",
                       text, FASTEST);
    struct fl_rate common = nearest_common(hz, &off);
    *out = !fraction && den > 1 && off < NEAR ? common : lowest_terms(num, den * under);
    return FLINCH_OK;
}

const char *fl_rate_text(char buf[FL_RATE_SIZE], struct fl_rate rate)
{
    /* By hand: whatever the locale, a decimal point. */
    long thousandths = rate.den ? lround(fl_rate_hz(rate) * 1000) : 0;
    int n = snprintf(buf, FL_RATE_SIZE, "%ld.%03ld", thousandths / 1000, thousandths % 1000);
    while (buf[n - 1] == '0')
        buf[--n] = 0;
    if (buf[n - 1] == '.')
        buf[--n] = 0;
    return buf;
}

long fl_rate_convert(long frame, struct fl_rate from, struct fl_rate to)
{
    assert(from.den > 0 && to.den > 0);
    /* frame × up would overflow on long footage: whole multiples of down first. */
    struct fl_rate step = lowest_terms(to.num * from.den, to.den * from.num);
    return frame / step.den * step.num + (frame % step.den * step.num + step.den - 1) / step.den;
}

/* Labels left out at the start of a minute. */
static long dropped(const struct fl_timecode *tc)
{
    return tc->drop ? fl_rate_labels(tc->rate) / 15 : 0;
}

const char *fl_timecode_label(char buf[FL_TIMECODE_SIZE], const struct fl_timecode *tc, long frame)
{
    long fps = fl_rate_labels(tc->rate), out = dropped(tc);
    assert(fps > 0 && frame >= 0);
    long minute = 60 * fps - out, ten = 600 * fps - 9 * out;
    frame %= 144 * ten;
    long in_ten = frame % ten;
    long count = frame + 9 * out * (frame / ten);
    if (out && in_ten >= 60 * fps)
        count += out * ((in_ten - 60 * fps) / minute + 1);
    long s = count / fps;
    snprintf(buf, FL_TIMECODE_SIZE, "%02d:%02d:%02d%c%0*d", (int)(s / 3600), (int)(s / 60 % 60),
             (int)(s % 60), tc->drop ? ';' : ':', fps > 100 ? 3 : 2, (int)(count % fps));
    return buf;
}

/* Two or three digits; -1 if there are none. */
static long parse_field(const char **text, int most)
{
    long v = 0;
    int n = 0;
    for (; n < most && isdigit((unsigned char)**text); n++)
        v = v * 10 + (*(*text)++ - '0');
    return n >= 2 ? v : -1;
}

enum flinch_code fl_timecode_parse(long *frame, const struct fl_timecode *tc, const char *text,
                                   struct fl_error *err)
{
    long fps = fl_rate_labels(tc->rate), out = dropped(tc), v[4];
    const char *c = text;
    for (int i = 0; i < 4; i++) {
        bool separated = i == 0 || *c == ':' || (i == 3 && *c == ';');
        c += i > 0 && separated;
        v[i] = separated ? parse_field(&c, i == 3 ? 3 : 2) : -1;
        if (v[i] < 0)
            return fl_fail(err, FLINCH_ERR_USAGE,
                           "'%.40s' is not a timecode; write it as 01:00:00:00", text);
    }
    if (*c || v[0] > 23 || v[1] > 59 || v[2] > 59 || v[3] >= fps)
        return fl_fail(
            err, FLINCH_ERR_USAGE,
            "'%.40s' is not a timecode; hours go to 23, minutes and seconds to 59, frames to %ld",
            text, fps - 1);
    if (v[3] < out && v[2] == 0 && v[1] % 10)
        return fl_fail(
            err, FLINCH_ERR_USAGE,
            "drop-frame timecode has no label '%.40s'; the minute begins with frame %02ld", text,
            out);
    long minutes = v[0] * 60 + v[1];
    *frame = (minutes * 60 + v[2]) * fps + v[3] - out * (minutes - minutes / 10);
    return FLINCH_OK;
}
