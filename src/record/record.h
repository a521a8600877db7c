/* Records the hand: motion, wheel, buttons and sticks of pointing devices and pads, as a CSV trace.
 *
 * Never what is typed: keyboards are not opened. The file is plain text, a row a report, comments
 * in lines that begin with #. */
#ifndef FL_RECORD_RECORD_H
#define FL_RECORD_RECORD_H

#include "base/error.h"
#include "record/inputs.h"

struct fl_record_counts {
    double lasted_s;
    unsigned long reports, moved, presses, wheel, lost; /* lost: overruns of a system's buffer */
    double per_s;                                       /* reports in the last second */
    double dx, dy;                                      /* counts in all */
    int devices;                                        /* at hand now */
    bool slate_seen;                                    /* the slate asked for was made */
};

struct fl_record_settings {
    const char *out; /* path of the CSV file; must not be there */
    struct fl_inputs_choice choice;
    double until_s;   /* 0: until stopped */
    int slate_clicks; /* a slate of so many clicks is waited for and told; 0: none */
    /* About once a second, and when something happened (text: one line, else NULL). */
    void (*tell)(void *ctx, const struct fl_record_counts *counts, const char *text);
    bool (*stop)(void *ctx); /* true: end cleanly */
    void *ctx;
};

/* Records until stopped, the time is up or nothing can come any more. *counts is filled in any
 * case. */
enum flinch_code fl_record(const struct fl_record_settings *settings,
                           struct fl_record_counts *counts, struct fl_error *err);
enum { FL_RECORD_LINE = 120 };
/* "12 s  96012 reports  8001/s  moved 120 right 30 down  3 presses"; size FL_RECORD_LINE holds
 * all of it. */
void fl_record_line(char *out, size_t size, const struct fl_record_counts *counts);

#endif
