/* Beside the capture: a stream of footage and a trace → what a person at the desk wants to know
 * now.
 *
 * A thread of its own reads, measures and calls (live.h); whoever shows it asks how things stand
 * whenever he likes. */
#ifndef FL_DESK_H
#define FL_DESK_H

#include <stdio.h>

#include "base/error.h"
#include "show/screen/watch_screen.h"
#include "study/input/take_spec.h"

struct fl_desk; /* opaque */

struct fl_desk_settings {
    const struct fl_take_spec *spec; /* footage, trace and what is known of them; borrowed */
    bool follow;                     /* the footage still grows */
    bool every; /* measure every picture, however late; else what cannot be kept up with is skipped
                 */
    const char *keep, *keep_trace; /* copies of both streams; NULL */
    double wanted;                 /* half of the interval over V50, 0.1 for ±10 % */
    int threads;                   /* decoder threads; 0: as many as cores */
    struct fl_standing *standing;  /* of the take's session, borrowed and added to; NULL: a take of
                                      its own */
    FILE *lines;                   /* events as they come, a line each; NULL: none */
    bool json;                     /* as objects */
};

/* Waits for the first picture. Errors: as fl_footage_open and fl_follow_trace_open; a copy that
 * cannot be made. stopped: asked often, from any thread; true: no more is wanted. */
enum flinch_code fl_desk_open(struct fl_desk **out, const struct fl_desk_settings *settings,
                              bool (*stopped)(void *ctx), void *ctx, struct fl_error *err);
/* True while the stream goes on. Texts of the view live until the next call. */
bool fl_desk_view(struct fl_desk *d, struct fl_watch_view *out);
/* Waits for the stream's end. Copies are whole then; *kept is false where one is not. */
void fl_desk_finish(struct fl_desk *d, bool *kept);
void fl_desk_free(struct fl_desk **d); /* NULL is fine; clears the pointer */

#endif
