/* Figures as ISO 80000-1 writes them. */
#include "show/text/grouped_number.h"

#include <stdbool.h>
#include <stdio.h>
#include <string.h>

#include "base/figure.h"
#include "base/units.h"

#define GAP "\xe2\x80\xaf"
#define MINUS "\xe2\x88\x92"

const char *fl_group_digits(char *buf, size_t size, const char *plain)
{
    const char *digits = plain + (*plain == '-');
    size_t n = strspn(digits, "0123456789"), used = 0, gaps = n > 4 ? (n - 1) / 3 : 0;
    if (strlen(plain) + 2 + gaps * strlen(GAP) + 1 > size) {
        snprintf(buf, size, "%s", plain);
        return buf;
    }
    if (*plain == '-') {
        memcpy(buf, MINUS, 3);
        used = 3;
    }
    for (size_t i = 0; i < n; i++) {
        if (gaps && i && (n - i) % 3 == 0) {
            memcpy(buf + used, GAP, 3);
            used += 3;
        }
        buf[used++] = digits[i];
    }
    memcpy(buf + used, digits + n, strlen(digits + n) + 1);
    return buf;
}

const char *fl_grouped_figure(char buf[FL_FIGURE_SIZE], double x)
{
    char plain[FL_FIGURE_SIZE];
    fl_figure(plain, x);
    bool nothing =
        fl_known(x) && !plain[strspn(plain, "-0.")]; /* too small for the decimals: "0.000" */
    return fl_group_digits(buf, FL_FIGURE_SIZE, nothing ? "0" : plain);
}

const char *fl_grouped_whole(char buf[FL_FIGURE_SIZE], double x)
{
    char plain[FL_FIGURE_SIZE];
    if (!fl_known(x))
        return fl_grouped_figure(buf, x);
    snprintf(plain, sizeof plain, "%.0f", x);
    return fl_group_digits(buf, FL_FIGURE_SIZE, strcmp(plain, "-0") ? plain : "0");
}

const char *fl_grouped_short(char buf[FL_FIGURE_SIZE], double x)
{
    char plain[FL_FIGURE_SIZE];
    fl_figure(plain, x);
    if (strchr(plain, '.')) {
        size_t n = strlen(plain);
        while (plain[n - 1] == '0')
            n--;
        plain[n - (plain[n - 1] == '.')] = 0;
    }
    return fl_group_digits(buf, FL_FIGURE_SIZE, plain);
}

/* a, b: as written, where low and high are known. */
static const char *put_range(char buf[FL_RANGE_SIZE], double low, const char *a, double high,
                             const char *b)
{
    if (fl_known(low) && fl_known(high))
        snprintf(buf, FL_RANGE_SIZE, "%s to %s", a, b);
    else if (fl_known(low) || fl_known(high))
        snprintf(buf, FL_RANGE_SIZE, "%s %s", fl_known(low) ? "at least" : "at most",
                 fl_known(low) ? a : b);
    else
        snprintf(buf, FL_RANGE_SIZE, "open at both ends");
    return buf;
}

const char *fl_grouped_range(char buf[FL_RANGE_SIZE], double low, double high)
{
    char a[FL_FIGURE_SIZE], b[FL_FIGURE_SIZE];
    fl_grouped_figure(a, low);
    fl_grouped_figure(b, high);
    return put_range(buf, low, a, high, b);
}

static const struct fl_grouped_interval *
grouped(struct fl_grouped_interval *g, const struct fl_interval_text *t, double low, double high)
{
    char a[FL_FIGURE_SIZE], b[FL_FIGURE_SIZE];
    fl_group_digits(g->at, sizeof g->at, t->at);
    fl_group_digits(a, sizeof a, t->low);
    fl_group_digits(b, sizeof b, t->high);
    put_range(g->range, low, a, high, b);
    return g;
}

const struct fl_grouped_interval *fl_grouped_interval(struct fl_grouped_interval *g, double x,
                                                      double low, double high)
{
    struct fl_interval_text t;
    return grouped(g, fl_interval_text(&t, x, low, high), low, high);
}

const struct fl_grouped_interval *fl_grouped_ratio(struct fl_grouped_interval *g, double ratio,
                                                   double low, double high)
{
    struct fl_interval_text t;
    return grouped(g, fl_ratio_text(&t, ratio, low, high), low, high);
}
