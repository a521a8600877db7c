/* One number where it is known, else all that may be. */
#include "show/text/frames_text.h"

#include <stdio.h>
#include <string.h>

const char *fl_frames_text(const struct fl_states *s, char buf[FL_FRAMES_TEXT])
{
    if (s->frames_per_rendered) {
        snprintf(buf, FL_FRAMES_TEXT, "%d%s", s->frames_per_rendered,
                 s->n_reductions ? ", at times fewer" : "");
        return buf;
    }
    *buf = '\0';
    for (int n = 0; n < 8; n++)
        if (s->frames_possible >> n & 1) {
            size_t used = strlen(buf);
            snprintf(buf + used, FL_FRAMES_TEXT - used, "%s%d", used ? " or " : "", n);
        }
    return buf;
}
