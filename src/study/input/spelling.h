/* Small questions about words in a session file. */
#ifndef FL_STUDY_INPUT_SPELLING_H
#define FL_STUDY_INPUT_SPELLING_H

#include <stdbool.h>

/* Number of single-letter edits between two words; 99 if one has 40 letters or more. */
int fl_edits(const char *a, const char *b);
/* A date, or a date and time with zone, as in RFC 3339; a blank may stand for the T, and seconds
 * may be left out. */
bool fl_is_timestamp(const char *s);

#endif
