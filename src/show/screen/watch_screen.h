/* What `flinch watch` shows: a screen that is glanced at between two turns, a line an event, or
 * JSON, an object a line. */
#ifndef FL_SHOW_SCREEN_WATCH_SCREEN_H
#define FL_SHOW_SCREEN_WATCH_SCREEN_H

#include <stdbool.h>
#include <stdio.h>

#include "state/state.h"
#include "study/plan/next_speed.h"
#include "study/plan/standing.h"
#include "study/take/take.h"
#include "study/take/usable.h"

/* A stream has stalled that waits for so many times its longest pause. */
#define FL_WATCH_LONGER 1.5
enum { FL_WATCH_ROWS = 24, FL_WATCH_FLICKS = 5, FL_WATCH_NOTE = 240 };

/* Those faster than turning (DESIGN: 25 deg/s), and all that count. */
struct fl_watch_flick {
    double time_s, end_s, peak_deg_s; /* NaN: no speed in degrees */
    enum fl_answer at_risk, tripped;
    bool again; /* told before, and known now to have been at risk */
};

/* Of the session that the take belongs to, what is read at a glance. */
struct fl_watch_session {
    int settings, finished; /* 0 settings: there is no session */
    const char *next;       /* id of the one of which the next minute tells most; NULL: none */
    double next_width;      /* half of its interval, octaves; INFINITY: open */
    bool stay;              /* it is the one recorded now */
    bool take_done;         /* this take's own V50 is as narrow as wanted */
    int takes;              /* of the one recorded now, this one among them */
};

/* Everything that the screen says. Texts are borrowed; NULL: nothing to say. */
struct fl_watch_view {
    const char *input;
    int width, height;
    double rate_hz; /* of the pictures; 0: not known */
    double time_s;  /* of the newest */
    enum fl_state state;
    enum fl_state seen; /* last but for unseen, until seen_s */
    double seen_s;
    const char *why;      /* why on and off cannot be told apart yet */
    double on_hz, off_hz; /* NaN: not known yet */
    double on_s, off_s;
    long trips;
    struct fl_watch_flick flick[FL_WATCH_FLICKS]; /* newest first */
    int shown, flicks;                            /* of them; all so far */
    double last_deg_s;                            /* of the last flick that counts; NaN: none yet */
    struct fl_next_speed_answer answer; /* of the take; of the setting where there is a session */
    struct fl_watch_session session;
    int fitted, fitted_trips; /* flicks that count, and those of them that tripped; of the setting
                                 where there is a session */
    double wanted;            /* half of the interval over V50 */
    bool degrees;             /* speeds are known in degrees */
    const char *degrees_how;  /* what to give so that they are */
    const char *clock;        /* what is said of the trace */
    const char *note;         /* what happened last to the stream */
    const struct fl_usable *usable;
    double waiting_s;    /* since the stream brought something */
    double usual_wait_s; /* the longest after which it did */
    const char *keep;
    double kept_mb;
    const char *keep_why; /* why copying has stopped */
};

/* FL_WATCH_ROWS lines of at most FL_COLUMNS, each erased to its end, from the top left. utf8: block
 * elements may be used. */
void fl_watch_draw(FILE *out, const struct fl_watch_view *v, bool utf8);
/* Against the last flick: "a little faster", "much slower", "the same"; NULL without one. */
const char *fl_watch_against(double next, double before);

/* Events. Lines for people and, with json, objects; both flush. */
void fl_watch_tell_state(FILE *out, bool json, enum fl_state s, double time_s, double seen_at_s);
/* trip: a lapse begins; else it ends. */
void fl_watch_tell_edge(FILE *out, bool json, bool trip, double time_s, double seen_at_s);
void fl_watch_tell_flick(FILE *out, bool json, const struct fl_watch_flick *f, double seen_at_s);
void fl_watch_tell_rates(FILE *out, bool json, double on_hz, double off_hz, double seen_at_s);
void fl_watch_tell_next(FILE *out, bool json, const struct fl_watch_view *v);
/* How the settings of the session stand. */
void fl_watch_tell_session(FILE *out, bool json, const struct fl_standing *st,
                           const struct fl_watch_view *v);
/* What the screen and the lines say of it: "1 of 4 settings finished; …". */
const char *fl_watch_session_words(char buf[160], const struct fl_watch_session *s);
/* code: a fixed word. */
void fl_watch_tell_warning(FILE *out, bool json, const char *code, const char *text, double time_s);
/* Codes of the findings told that still hold; zero to begin with. */
struct fl_watch_told {
    const char *code[FL_FINDINGS_MAX];
    int n;
};
/* Those that are new, as warnings: once each, and again only if it was gone meanwhile. Notes are
 * left out. */
void fl_watch_tell_findings(FILE *out, bool json, struct fl_watch_told *told,
                            const struct fl_usable *u, double time_s);
void fl_watch_tell_end(FILE *out, bool json, const struct fl_watch_view *v);

#endif
