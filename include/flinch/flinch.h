/* flinch: from game footage and input traces to the intervals without frame synthesis, and the
 * speeds at which it switches off.
 *
 *     struct flinch_take_settings settings = {.footage = "a.mkv", .trace = "a.csv"};
 *     struct flinch_message why;
 *     flinch_take *take;
 *     if (flinch_take_measure(&take, &settings, NULL, &why))
 *         puts(why.text);
 *     else
 *         printf("%zu lapses\n", flinch_take_lapse_count(take));
 *     flinch_take_free(&take);
 *
 * Settings: a struct whose fields are all zero asks for the defaults; units, ranges and defaults
 * stand beside each field. Values out of range are refused with FLINCH_ERR_USAGE.
 *
 * Errors: functions that can fail return a code, FLINCH_OK (0) when done; the message, where one
 * is taken, then holds one line: what, where, what to do. On failure every result is NULL. Passing
 * NULL for an object or a result pointer is FLINCH_ERR_USAGE; readers given NULL answer 0 or false.
 *
 * Threads: an object belongs to one thread at a time; different objects are independent. Out of
 * memory ends the process.
 */
#ifndef FLINCH_FLINCH_H
#define FLINCH_FLINCH_H

#include "flinch/error.h"
#include "flinch/types.h"

#ifdef __cplusplus
extern "C" {
#endif

/* Of these headers; the library's own may be newer. */
#define FLINCH_VERSION_MAJOR 0
#define FLINCH_VERSION_MINOR 1
#define FLINCH_VERSION_PATCH 0
/* The version of the library: "major.minor.patch". */
const char *flinch_version(void);

/* One line about a failure; empty when there was none. */
struct flinch_message {
    char text[512];
};

/* Progress and interruption; either function may be NULL. With jobs over 1 both are called from
 * several threads at a time. */
struct flinch_watch {
    /* part: number of the take, from 0; done: 0..1 */
    void (*progress)(void *context, size_t part, const char *what, double done);
    /* true: stop soon, with FLINCH_ERR_INTERRUPTED */
    bool (*stop)(void *context);
    void *context;
};

/* ---- one take ---- */

struct flinch_take_settings {
    const char *footage;       /* path of the video; required */
    const char *trace;         /* path of the input trace; NULL: none */
    const char *id;            /* letters, digits, '-' and '_', at most 64; NULL: "take" */
    const char *game;          /* name; NULL: "footage" */
    const char *condition;     /* label, compared within a game; NULL: "default" */
    double counts_per_inch;    /* of the mouse, 10..200000; 0: not known */
    double degrees_per_count;  /* camera, 1e-6..10; 0: not known */
    double horizontal_fov_deg; /* field of view, 5..175; 0: not known */
    double base_rate_hz;       /* rendered frames/s, 5..1000; 0: found from the footage */
    bool synthesis_disabled;   /* a control */
    bool capture_local;        /* recorded on the machine under test; false: by a capture card */
    bool output_variable;      /* variable refresh */
    double first_s;            /* measure only so many seconds, 0..1e6; 0: all */
    int threads;               /* decoder threads, 0..256; 0: as many as cores */
    void *reserved[4];         /* NULL */
};

typedef struct flinch_take flinch_take;

/* Decodes and measures one recording. Errors: FLINCH_ERR_OPEN, FLINCH_ERR_FORMAT,
 * FLINCH_ERR_EMPTY, FLINCH_ERR_UNSUPPORTED, FLINCH_ERR_INTERRUPTED. A trace that cannot be lined
 * up is a warning, not an error. watch and why may be NULL. */
enum flinch_code flinch_take_measure(flinch_take **out, const struct flinch_take_settings *settings,
                                     const struct flinch_watch *watch, struct flinch_message *why);
void flinch_take_free(flinch_take **take); /* NULL is fine; clears the pointer */

const char *flinch_take_id(const flinch_take *take);
bool flinch_take_figures(const flinch_take *take, struct flinch_take_figures *out);
bool flinch_take_exposure(const flinch_take *take, struct flinch_exposure *out);
/* Lists, in time order. Each reader returns false when index is not below the count. */
size_t flinch_take_stretch_count(const flinch_take *take);
bool flinch_take_stretch(const flinch_take *take, size_t index, struct flinch_stretch *out);
size_t flinch_take_lapse_count(const flinch_take *take);
bool flinch_take_lapse(const flinch_take *take, size_t index, struct flinch_lapse *out);
size_t flinch_take_flick_count(const flinch_take *take);
bool flinch_take_flick(const flinch_take *take, size_t index, struct flinch_flick *out);
/* Warnings: a fixed word and one line for people. NULL past the end. */
size_t flinch_take_warning_count(const flinch_take *take);
const char *flinch_take_warning_code(const flinch_take *take, size_t index);
const char *flinch_take_warning_text(const flinch_take *take, size_t index);
/* State at footage time t_s; unseen outside the footage. */
enum flinch_state flinch_take_state_at(const flinch_take *take, double t_s);
/* The columns of figures that each capture frame has, the same for every take. */
size_t flinch_column_count(void);
bool flinch_column(size_t index, struct flinch_column *out);
/* One column for n frames from `first` on, one value each: NaN where not known or not measured; a
 * state as its enum flinch_state. Returns for how many of them the take has a frame. */
size_t flinch_take_column(const flinch_take *take, size_t index, size_t first, size_t n,
                          double *out);

/* ---- a session ---- */

struct flinch_session_settings {
    const char *folder; /* output folder, created if missing; NULL: write nothing */
    int jobs;           /* takes measured side by side, 0..256; 0: as many as cores, at most 8 */
    int threads;        /* decoder threads a take, 0..256; 0: the cores shared out over the jobs */
    double first_s;     /* measure only so many seconds of each take, 0..1e6; 0: all */
    bool again;         /* measure takes again that the folder already holds */
    bool no_strips;     /* draw no filmstrips of lapses */
    bool link_pictures; /* the report links its filmstrips instead of holding them */
    void *reserved[4];  /* NULL */
};

typedef struct flinch_session flinch_session;

/* Measures every take of a session file, studies them together and writes measurements, charts
 * and report into the folder. Takes that fail do not stop the others (flinch_session_failed_count).
 * Errors: FLINCH_ERR_SESSION, FLINCH_ERR_OPEN, FLINCH_ERR_FORMAT (the session file),
 * FLINCH_ERR_WRITE, FLINCH_ERR_UNSUPPORTED (no font to draw with), FLINCH_ERR_INTERRUPTED (takes
 * finished until then are kept). settings, watch and why may be NULL. */
enum flinch_code flinch_session_run(flinch_session **out, const char *path,
                                    const struct flinch_session_settings *settings,
                                    const struct flinch_watch *watch, struct flinch_message *why);
void flinch_session_free(flinch_session **session); /* NULL is fine; clears the pointer */

/* A session built by hand: add measured takes, then study. */
flinch_session *flinch_session_new(const char *name);
/* The session takes *take over and clears the pointer. */
enum flinch_code flinch_session_add(flinch_session *session, flinch_take **take);
/* Fits curves from the takes added so far; call again after adding more. */
enum flinch_code flinch_session_study(flinch_session *session);
/* Writes every file of a session but filmstrips, takes and all, into folder. Errors:
 * FLINCH_ERR_WRITE, FLINCH_ERR_UNSUPPORTED (no font to draw with). */
enum flinch_code flinch_session_write(const flinch_session *session, const char *folder,
                                      struct flinch_message *why);

/* Measured takes in session order; they belong to the session. NULL past the end. */
size_t flinch_session_take_count(const flinch_session *session);
const flinch_take *flinch_session_take(const flinch_session *session, size_t index);
/* Takes that could not be measured. NULL past the end. */
size_t flinch_session_failed_count(const flinch_session *session);
const char *flinch_session_failed_id(const flinch_session *session, size_t index);
const char *flinch_session_failed_text(const flinch_session *session, size_t index);
size_t flinch_session_curve_count(const flinch_session *session);
bool flinch_session_curve(const flinch_session *session, size_t index, struct flinch_curve *out);
/* What the study found beside the curves; their texts live until the session is studied again. */
size_t flinch_session_rule_count(const flinch_session *session);
bool flinch_session_rule(const flinch_session *session, size_t index, struct flinch_rule *out);
size_t flinch_session_delay_count(const flinch_session *session);
bool flinch_session_delay(const flinch_session *session, size_t index, struct flinch_delay *out);
size_t flinch_session_comparison_count(const flinch_session *session);
bool flinch_session_comparison(const flinch_session *session, size_t index,
                               struct flinch_comparison *out);

/* "camera_speed", "deg_s" and so on; NULL outside the enumeration. */
const char *flinch_quantity_name(enum flinch_quantity quantity);
const char *flinch_quantity_unit(enum flinch_quantity quantity);

#ifdef __cplusplus
}
#endif
#endif
