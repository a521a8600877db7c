/* Sudden sounds: what might be clicks. */
#ifndef FL_CLOCK_CLICK_PEAKS_H
#define FL_CLOCK_CLICK_PEAKS_H

#include "clock/click_energy.h"

struct fl_click_peak {
    double time_s; /* sound time at which it begins, told to about half a millisecond */
    double weight; /* natural log of how much louder it is than the 10 ms before; above 0 */
};

#define FL_CLICK_APART_S 0.005         /* two sounds closer than this are one */
enum { FL_CLICK_PEAKS_A_SECOND = 20 }; /* the strongest are kept, over the whole sound */

/* In order of time; malloc'ed, *n of them. */
struct fl_click_peak *fl_click_peaks(const struct fl_click_energy *energy, size_t *n);

#endif
