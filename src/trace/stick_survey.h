/* Which of a pad's axes are the stick that turns the camera, their range and their centre.
 *
 * A pad's axes are sticks and triggers, and formats name them alike. A stick rests near the middle
 * of its range, a trigger at an end; sticks come in pairs. Of the pairs that rest in the middle and
 * move, the first of Rx-Ry, Z-Rz, X-Y is taken: the right stick turns the camera (common practice,
 * no source), and it is on one of the first two. With several pads, the one moved most. */
#ifndef FL_TRACE_STICK_SURVEY_H
#define FL_TRACE_STICK_SURVEY_H

#include "trace/input_report.h"
#include "trace/trace.h"

struct fl_stick_choice {
    struct fl_stick stick; /* known: false where no pair is a stick */
    uint32_t device;
    enum fl_pad_axis axis[2];
};

struct fl_stick_survey; /* at most 16 devices; memory bounded whatever the length */
struct fl_stick_survey *fl_stick_survey_new(void);
void fl_stick_survey_free(struct fl_stick_survey **s); /* NULL is fine; clears the pointer */
/* The range that a device states for an axis; without it, the range is guessed from the values:
 * the least of 8, 10, 12 and 16 bits, from 0 or about 0, that holds them. */
void fl_stick_survey_range(struct fl_stick_survey *s, uint32_t device, enum fl_pad_axis axis,
                           int32_t low, int32_t high);
/* In order of time. */
void fl_stick_survey_add(struct fl_stick_survey *s, const struct fl_input_report *report);
/* True if any report told an axis. */
bool fl_stick_survey_any(const struct fl_stick_survey *s);
void fl_stick_survey_choose(const struct fl_stick_survey *s, struct fl_stick_choice *out);

/* -1..1 on either side of the centre. */
double fl_stick_value(const struct fl_stick *stick, int across_or_down, int32_t value);

#endif
