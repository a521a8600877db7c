/* Pictures and input events pushed as they come; states, flips, trips and flicks called while they
 * do, and an ordinary take at the end.
 *
 *     flinch_live_open → (flinch_live_push | flinch_live_input, then flinch_live_poll until false)…
 *     → flinch_live_finish
 *
 * Each picture is measured once, as it is pushed; a few times a second a push also looks at the
 * last seconds anew, which takes some ten ms. A moment is called once a quarter of a second has
 * followed it, and never taken back. Until both states have been seen, a few seconds of turns with
 * trips among them, little is called.
 *
 * Threads: a flinch_live belongs to one thread at a time; different ones are independent. Memory
 * grows by some MB a minute of pictures, for the take at the end.
 */
#ifndef FLINCH_LIVE_H
#define FLINCH_LIVE_H

#include <stdint.h>

#include "flinch/error.h"
#include "flinch/flinch.h"

#ifdef __cplusplus
extern "C" {
#endif

/* What pictures will be pushed. */
struct flinch_live_format {
    int width, height; /* px, 16..16384 each */
    double rate_hz;    /* as the source declares it, 0..10000; 0: not known */
    double tick_s;     /* to which times are rounded, 0..1; 0: not at all */
    bool full_range;   /* luma 0..255; false: 16..235 */
    void *reserved[4]; /* NULL */
};

/* One report of the hand, on a clock of its own. */
struct flinch_input {
    double time_s;     /* rising */
    double dx, dy;     /* counts, to the right and down */
    int button, state; /* button 1 left, 2 right, 3 middle; state 1 down, 0 up; button 0: none */
};

/* More kinds may come: leave aside what you do not know. */
enum flinch_live_kind {
    FLINCH_LIVE_STATE,  /* `state` from time_s on, unseen included */
    FLINCH_LIVE_TRIP,   /* synthesis went off at time_s */
    FLINCH_LIVE_RETURN, /* on again */
    FLINCH_LIVE_FLIP,   /* a picture replaced the one before it, at `row` */
    FLINCH_LIVE_FLICK,  /* `flick` is over, its outcome as known as it gets; one whose at_risk was
                           unknown comes again, the same but for that, once it is known that it was
                         */
    FLINCH_LIVE_RATES,  /* on_hz and off_hz are known now, or known better */
    FLINCH_LIVE_JUMP    /* the pictures' times jump; jump_s are unseen */
};

struct flinch_live_event {
    enum flinch_live_kind kind;
    double time_s;             /* footage time: seconds since the first picture */
    double seen_at_s;          /* of the newest picture when it was called */
    enum flinch_state state;   /* STATE */
    double on_hz, off_hz;      /* RATES: new pictures a second in each state; NaN: not known */
    double row;                /* FLIP: native rows from the top */
    double jump_s;             /* JUMP */
    struct flinch_flick flick; /* FLICK */
    double reserved[8];        /* 0 */
};

typedef struct flinch_live flinch_live;

/* settings: as for flinch_take_measure; footage, trace, first_s are not used; NULL: defaults.
 * FLINCH_OK: *out is open. FLINCH_ERR_USAGE: a NULL, a size or a number out of range; *out is NULL.
 */
enum flinch_code flinch_live_open(flinch_live **out, const struct flinch_live_format *format,
                                  const struct flinch_take_settings *settings,
                                  struct flinch_message *why);
/* The next picture: height rows of width bytes, stride bytes apart; read before the call returns.
 * time_s: on any clock that rises with the pictures; NaN: one period after the last. key: coded as
 * a key frame. FLINCH_OK: taken. FLINCH_ERR_USAGE: a NULL, a stride below the width, an infinite
 * time: nothing was taken, go on with the next. */
enum flinch_code flinch_live_push(flinch_live *live, const uint8_t *luma, ptrdiff_t stride,
                                  double time_s, bool key, struct flinch_message *why);
/* n reports, in order. They may come before or after the pictures that show them, within some
 * minutes. FLINCH_OK: taken; those that do not rise in time are left out. FLINCH_ERR_USAGE: a NULL,
 * or a number that is not finite: none was taken. */
enum flinch_code flinch_live_input(flinch_live *live, const struct flinch_input *input, size_t n,
                                   struct flinch_message *why);
/* The next event, in order of being called; false: none waits. */
bool flinch_live_poll(flinch_live *live, struct flinch_live_event *out);
/* Ends the stream, measures it whole and frees *live, in any case. FLINCH_OK: *out is a take, for
 * flinch_take_free. FLINCH_ERR_EMPTY: under two pictures. FLINCH_ERR_FORMAT: times that no
 * recording has. FLINCH_ERR_USAGE: a NULL. */
enum flinch_code flinch_live_finish(flinch_live **live, flinch_take **out,
                                    struct flinch_message *why);
/* Gives up without a take; NULL is fine; clears the pointer. */
void flinch_live_free(flinch_live **live);

#ifdef __cplusplus
}
#endif
#endif
