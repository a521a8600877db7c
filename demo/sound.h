/* A microphone beside the mouse: room noise and the clicks of the buttons. */
#ifndef STAGE_SOUND_H
#define STAGE_SOUND_H

#include "base/error.h"
#include "hand.h"

enum { ST_SOUND_RATE = 48000 };

/* Writes a 16-bit mono FLAC file as long as the footage; a click at footage time t sounds at
 * t + mic_ms. */
enum flinch_code st_sound_write(const char *path, const struct st_scenario *s,
                                const struct st_hand *h, uint64_t seed, struct fl_error *err);

#endif
