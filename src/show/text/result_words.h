/* A setting's figures in words, one wording for terminal, page and descriptions of charts. Off
 * shares lead for play, the trip speed for drills; the order is otherwise the same everywhere. */
#ifndef FL_SHOW_TEXT_RESULT_WORDS_H
#define FL_SHOW_TEXT_RESULT_WORDS_H

#include <stdbool.h>
#include <stddef.h>

#include "study/compare/result.h"

/* Takes a piece of a sentence; strong: a figure to be set off. */
typedef void fl_say(void *to, const char *text, bool strong);

/* "off for 76 % of the time spent turning (73 to 77 %) and for 13 % of this recording (12 to 15 %;
 * 12 to 73 % if rest is left open); 39 lapses a minute, median length 0.12 s; V50 128 deg/s (110 to
 * 150). Not to be quoted: 1 take, 3 are needed." */
void fl_say_result(const struct fl_result *r, fl_say *say, void *to);
/* Its off shares alone, n takes: "off for … of this recording (…)". */
void fl_say_shares(const struct fl_off_shares *o, size_t n, fl_say *say, void *to);
/* What follows them: "; 39 lapses a minute, median length 0.12 s". */
void fl_say_lapses(const struct fl_lapse_figures *l, fl_say *say, void *to);
/* Its trip speed, and that in the quantity watched: "V50 128 deg/s (110 to 150), 4160 counts/s
 * (3910 to 4400) at both resolutions". */
void fl_say_trip(const struct fl_result *r, fl_say *say, void *to);
/* All of fl_say_result as plain text, malloc'ed. */
char *fl_result_sentence(const struct fl_result *r);
/* What sentences of shares assume, once beside them. */
extern const char fl_share_assumption[];

/* "Copper Harbour, low detail, 400 DPI, 26 cm per turn (0.088°/count)", malloc'ed. */
char *fl_result_name(const struct fl_result *r);
/* "1", "2–4" where trip speeds cannot be told apart, "–" where there is none. */
enum { FL_RANK_SIZE = 48 };
const char *fl_rank_text(char buf[FL_RANK_SIZE], const struct fl_result *r);
/* "7.4 %", "23 %". */
enum { FL_SHARE_SIZE = 40 };
const char *fl_share_text(char buf[FL_SHARE_SIZE], double share);
/* "12 to 15 %"; "12 %" where both ends read the same. */
const char *fl_share_range(char buf[FL_SHARE_SIZE], double low, double high);
/* "at both resolutions", "at all 3 settings"; "" where the V50 is the setting's own. */
enum { FL_POOLED_SIZE = 40 };
const char *fl_watched_over(char buf[FL_POOLED_SIZE], const struct fl_watched_v50 *w);

#endif
