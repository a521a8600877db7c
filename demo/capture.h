/* What a capture device, or a recorder on the same machine, makes of the output frames. */
#ifndef STAGE_CAPTURE_H
#define STAGE_CAPTURE_H

#include "base/error.h"
#include "base/progress.h"
#include "encode.h"
#include "film.h"

struct st_tear {
    long frame;
    int row;         /* first row that shows the new output frame */
    size_t from, to; /* outputs */
};

struct st_capture {
    long frames; /* in the file */
    double duration_s;
    struct st_tear *tears;
    size_t n_tears, cap_tears;
    /* Renumbered: the frame of the card that stands at each place of the file. Else empty. */
    long *place;
    size_t n_places, cap_places;
    double fps;
};

/* Films the whole take into the encoder. A card scans row y of H in frame n at
 * (n + (1 - blank) y/H) / fps; flips in the blank leave no tear. Rows of tears are those of the
 * rendered picture. */
enum flinch_code st_capture_run(struct st_capture *c, const struct st_scenario *s,
                                const struct st_game *game, struct st_film *film,
                                struct st_encoder *encoder, const struct fl_progress *progress,
                                struct fl_error *err);
/* Footage time of a moment of the card's own time: another where frames were lost or doubled and
 * the rest renumbered. */
double st_footage_of(const struct st_capture *c, double card_s);
void st_capture_finish(struct st_capture *c);

#endif
