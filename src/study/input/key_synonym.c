/* The words are the trade's own (common practice, no source). A turn is 360 degrees, so that
 * degrees per count are 360 · 2.54 / (counts per inch · cm per turn). */
#include "study/input/key_synonym.h"

#include <ctype.h>
#include <stdbool.h>
#include <stddef.h>

static const char resolution[] = "write counts_per_inch, as it is called here",
                  turn[] = "write degrees_per_count, which is 914.4 / (counts per inch × "
                           "centimetres per full turn)",
                  view[] = "write horizontal_fov_deg, the horizontal field of view in degrees",
                  video[] = "write footage, as it is called here",
                  input[] = "write trace, as it is called here",
                  polling[] = "write report_rate_hz, as it is called here",
                  cap[] = "write cap_hz, the frame cap in frames a second";

static const struct {
    const char *word, *instead;
} synonyms[] = {
    {"dpi", resolution},
    {"mouse_dpi", resolution},
    {"cpi", resolution},
    {"cm_per_turn", turn},
    {"cm_per_360", turn},
    {"sensitivity", turn},
    {"fov", view},
    {"hfov", view},
    {"horizontal_fov", view},
    {"video", video},
    {"recording", video},
    {"file", video},
    {"input", input},
    {"log", input},
    {"mouse", input},
    {"polling_rate", polling},
    {"polling_rate_hz", polling},
    {"frame_cap", cap},
    {"fps_cap", cap},
};

static bool same_word(const char *a, const char *b)
{
    for (; *a && *b; a++, b++)
        if (tolower((unsigned char)*a) != *b && !(*a == '-' && *b == '_'))
            return false;
    return !*a && !*b;
}

const char *fl_key_synonym(const char *word)
{
    for (size_t i = 0; i < sizeof synonyms / sizeof *synonyms; i++)
        if (same_word(word, synonyms[i].word))
            return synonyms[i].instead;
    return NULL;
}
