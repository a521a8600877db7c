/* Bitmap lettering of the stage: capitals, digits and a few signs, 5 × 7 dots. */
#ifndef STAGE_LETTER_H
#define STAGE_LETTER_H

#include <stdbool.h>

enum { ST_LETTER_WIDTH = 5, ST_LETTER_HEIGHT = 7, ST_LETTER_STEP = 6 };

/* Is dot (x, y) of the character inked? Unknown characters are blank. */
bool st_letter(char c, int x, int y);

#endif
