/* Decimal text → double without the locale: digits into a 64-bit mantissa, scaled by a power of
 * ten.
 *
 * Powers up to 10^22 are exact in a double, so one rounding is all for up to 15 digits (Clinger
 * 1990, the fast case). */
#include "trace/parse_number.h"

#include <math.h>
#include <stdint.h>

struct cursor {
    const char *at, *end;
};

static bool digit_at(const struct cursor *c)
{
    return c->at < c->end && *c->at >= '0' && *c->at <= '9';
}

static bool sign(struct cursor *c)
{
    const bool negative = c->at < c->end && *c->at == '-';
    if (c->at < c->end && (*c->at == '-' || *c->at == '+'))
        c->at++;
    return negative;
}

/* Adds digits to the mantissa while it has room; returns how many did not fit. */
static int digits(struct cursor *c, uint64_t *mantissa, int *seen)
{
    int dropped = 0;
    for (; digit_at(c); c->at++, (*seen)++) {
        if (*mantissa < UINT64_C(1000000000000000000))
            *mantissa = *mantissa * 10 + (uint64_t)(*c->at - '0');
        else
            dropped++;
    }
    return dropped;
}

static bool exponent(struct cursor *c, int *power)
{
    if (c->at == c->end || (*c->at != 'e' && *c->at != 'E'))
        return true;
    c->at++;
    const bool negative = sign(c);
    int e = 0, seen = 0;
    for (; digit_at(c); c->at++, seen++)
        e = e < 10000 ? e * 10 + (*c->at - '0') : e;
    *power += negative ? -e : e;
    return seen > 0;
}

static double scaled(uint64_t mantissa, int power)
{
    static const double exact[] = {1e0,  1e1,  1e2,  1e3,  1e4,  1e5,  1e6,  1e7,
                                   1e8,  1e9,  1e10, 1e11, 1e12, 1e13, 1e14, 1e15,
                                   1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22};
    if (power < 0 && power >= -22)
        return (double)mantissa / exact[-power];
    if (power >= 0 && power <= 22)
        return (double)mantissa * exact[power];
    return (double)mantissa * pow(10, power);
}

bool fl_parse_number(const char *text, size_t size, double *value)
{
    struct cursor c = {text, text + size};
    const bool negative = sign(&c);
    uint64_t mantissa = 0;
    int seen = 0;
    int power = digits(&c, &mantissa, &seen);
    if (c.at < c.end && *c.at == '.') {
        c.at++;
        const int before = seen;
        const int dropped = digits(&c, &mantissa, &seen);
        power -= seen - before - dropped;
    }
    if (seen == 0 || !exponent(&c, &power) || c.at != c.end)
        return false;
    const double v = mantissa == 0 ? 0 : scaled(mantissa, power);
    *value = negative ? -v : v;
    return isfinite(v);
}
