/* Flips: the instants at which an output frame replaces the one before it. */
#ifndef FL_STATE_FLIPS_H
#define FL_STATE_FLIPS_H

#include <stdbool.h>
#include <stddef.h>

enum fl_kind { FL_KIND_UNKNOWN, FL_KIND_RENDERED, FL_KIND_SYNTHESISED };

struct fl_flip {
    double time_s;
    long frame;       /* capture frame in which the new picture first shows */
    float row;        /* native rows from the top; 0 for a flip in the blank */
    float confidence; /* 0..1 */
    enum fl_kind kind;
    bool in_blank;
};

struct fl_flips {
    struct fl_flip *v; /* n, malloc'ed, times increasing */
    size_t n;
};

#endif
