/* Edit distance (Levenshtein 1966) and time stamps (RFC 3339). */
#include "study/input/spelling.h"

#include <string.h>

int fl_edits(const char *a, const char *b)
{
    int row[40], n = (int)strlen(b);
    if (n >= 40 || strlen(a) >= 40)
        return 99;
    for (int j = 0; j <= n; j++)
        row[j] = j;
    for (int i = 1; a[i - 1]; i++) {
        int corner = row[0]++;
        for (int j = 1; j <= n; j++) {
            int best = corner + (a[i - 1] != b[j - 1]);
            corner = row[j];
            best = best < row[j] + 1 ? best : row[j] + 1;
            row[j] = best < row[j - 1] + 1 ? best : row[j - 1] + 1;
        }
    }
    return row[n];
}

/* Digits at s as a number, -1 if one of them is none. */
static int digits(const char *s, int n)
{
    int value = 0;
    for (int i = 0; i < n; i++) {
        if (s[i] < '0' || s[i] > '9')
            return -1;
        value = 10 * value + s[i] - '0';
    }
    return value;
}

static bool in(int value, int low, int high)
{
    return value >= low && value <= high;
}

bool fl_is_timestamp(const char *s)
{
    if (!(in(digits(s, 4), 1970, 9999) && s[4] == '-' && in(digits(s + 5, 2), 1, 12) &&
          s[7] == '-' && in(digits(s + 8, 2), 1, 31)))
        return false;
    s += 10;
    if (!*s)
        return true;
    if ((*s != 'T' && *s != ' ') || !in(digits(s + 1, 2), 0, 23) || s[3] != ':' ||
        !in(digits(s + 4, 2), 0, 59))
        return false;
    s += 6;
    if (*s == ':') {
        if (!in(digits(s + 1, 2), 0, 60))
            return false;
        s += 3;
        if (*s == '.')
            s += 1 + strspn(s + 1, "0123456789");
    }
    if (*s == 'Z')
        return !s[1];
    return (*s == '+' || *s == '-') && in(digits(s + 1, 2), 0, 23) && s[3] == ':' &&
           in(digits(s + 4, 2), 0, 59) && !s[6];
}
