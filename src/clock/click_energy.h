/* Sound → how suddenly loud it is, 8000 times a second: what clicks stand out in.
 *
 * A click of a switch is a burst of some milliseconds with energy in every octave above a
 * kilohertz. Each channel is parted into up to four octaves from 1 to 16 kHz; in each, energy is
 * measured against its own running background, so that a hum, hiss or voice in one octave does not
 * hide a click in the others. The result is the mean of these ratios, about 1 while nothing
 * happens. */
#ifndef FL_CLOCK_CLICK_ENERGY_H
#define FL_CLOCK_CLICK_ENERGY_H

#include <stddef.h>
#include <stdint.h>

enum { FL_CLICK_HZ = 8000, FL_CLICK_LONGEST_S = 5400 };

/* n steps of 1 / FL_CLICK_HZ from sound time 0; fl_click_ratio gives the ratio. 29 MB an hour. */
struct fl_click_energy {
    uint8_t *step; /* malloc'ed */
    size_t n;
};

struct fl_click_meter;
/* rate 8000 to 768000 Hz, channels 1 to 8. */
struct fl_click_meter *fl_click_meter_new(int rate, int channels);
void fl_click_meter_add(struct fl_click_meter *m, const float *frames, size_t n);
/* Frees the meter and hands out what it found, of the first FL_CLICK_LONGEST_S. */
void fl_click_meter_finish(struct fl_click_meter **m, struct fl_click_energy *out);
void fl_click_energy_free(struct fl_click_energy *e);

/* Ratio to the background that a stored step stands for, 0 to about 4000, told to 3 %. */
double fl_click_ratio(uint8_t step);

#endif
