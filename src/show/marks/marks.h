/* Marks for editing: lapses and chosen flicks of a take, in the files that editors read:
 * marks/ID.edl, .vtt, .ffmeta, .otio. */
#ifndef FL_SHOW_MARKS_MARKS_H
#define FL_SHOW_MARKS_MARKS_H

#include <stdio.h>

#include "show/store/mark_settings.h"
#include "show/store/writer.h"

extern const struct fl_writer fl_marks_writer;

struct fl_mark {
    const struct fl_lapse *lapse; /* or */
    const struct fl_flick *flick;
    size_t number; /* among the take's lapses, or flicks, from 1 */
    double start_s,
        end_s;    /* footage time at which its first capture frame begins, and the first after it */
    long in, out; /* the same in frames of the edit; out is exclusive and over in */
};

struct fl_marks {
    const struct fl_take *take;
    struct fl_timecode tc; /* of the edit */
    bool own_rate;         /* a frame of the edit is a capture frame */
    bool drop_refused;     /* drop-frame was asked for, and the rate has none */
    long start;            /* frame of the edit at which the footage begins */
    long length;           /* frames of the edit that the footage lasts; at least 1 */
    struct fl_mark *v;     /* n, malloc'ed, in order of in; a mark that holds another comes first */
    size_t n;
};

/* False, and nothing to finish, when the take has no frames or no rate to count in. */
bool fl_marks_make(struct fl_marks *out, const struct fl_take *t,
                   const struct fl_mark_settings *settings);
void fl_marks_finish(struct fl_marks *m);

/* What a mark says, in a line of ASCII: "Lapse 2: off for 0.412 s". */
#define FL_MARK_TEXT_SIZE 160
const char *fl_mark_text(char buf[FL_MARK_TEXT_SIZE], const struct fl_mark *m);

/* A word for the colour of a marker; the text says the same. */
const char *fl_mark_colour(const struct fl_mark *m);

/* The files as text to a stream. */
void fl_marks_edl(FILE *out, const struct fl_marks *m); /* marks_edl.c */
void fl_marks_vtt(FILE *out, const struct fl_marks *m); /* marks_chapters.c */
void fl_marks_ffmeta(FILE *out, const struct fl_marks *m);
void fl_marks_otio(FILE *out, const struct fl_marks *m); /* marks_otio.c */

#endif
