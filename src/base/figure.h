/* Figures for people: rounded, and with an interval in no more digits than that supports. One rule
 * for sentences, tables, charts and screens; CSV and JSON keep what was computed. */
#ifndef FL_BASE_FIGURE_H
#define FL_BASE_FIGURE_H

/* x rounded to n significant digits, or to n decimals. NaN and infinity pass. */
double fl_round_digits(double x, int n);
double fl_round_decimals(double x, int n);

/* A number for people: three significant digits, plain notation, "–" if unknown. Returns buf. */
#define FL_FIGURE_SIZE 32
const char *fl_figure(char buf[FL_FIGURE_SIZE], double x);
/* The same with two: how long lapses are, whose ends rest hides, and how many come a minute. */
const char *fl_rough_figure(char buf[FL_FIGURE_SIZE], double x);

struct fl_interval_text {
    char at[FL_FIGURE_SIZE], low[FL_FIGURE_SIZE], high[FL_FIGURE_SIZE];
};

/* All three rounded alike: at most two significant digits of the interval's half-width (JCGM
 * 100:2008, 7.2.6), one where the two would be above 35 (Particle Data Group, Review of Particle
 * Physics, introduction, "Rounding"), if that leaves the figure two; and three of the figure. An
 * open end (NaN) is "–"; with both open, three digits. Returns t. */
const struct fl_interval_text *fl_interval_text(struct fl_interval_text *t, double x, double low,
                                                double high);
/* x and its standard error by the same rule, as "16.3" and "0.8". Returns x's. */
const char *fl_error_text(char at[FL_FIGURE_SIZE], char error[FL_FIGURE_SIZE], double x, double se);
/* The same of a ratio, in more digits where an end would read as 1 without being it: whether 1 lies
 * inside is what such an interval is read for. Returns t. */
const struct fl_interval_text *fl_ratio_text(struct fl_interval_text *t, double ratio, double low,
                                             double high);

#endif
