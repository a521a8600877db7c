/* Text on its way into files: escaping, file-name slugs.
 *
 * Names come from the session file and may hold anything; everything that a writer
 * prints from there goes through one of these. */
#ifndef FL_SHOW_TEXT_ESCAPE_H
#define FL_SHOW_TEXT_ESCAPE_H

#include <locale.h>
#include <stddef.h>
#include <stdio.h>

/* Text for an HTML or SVG element or a double-quoted attribute: & < > " ' become entities;
 * bytes that are not UTF-8, control characters and those that change the direction of writing
 * become U+FFFD. NULL prints nothing. */
void fl_put_markup(FILE *out, const char *s);
/* s with everything that is not UTF-8, is a control character or changes the direction of writing
 * replaced by U+FFFD, malloc'ed. */
char *fl_clean_text(const char *s);

/* The character at s if it changes the direction of writing, three bytes long; else 0. */
unsigned fl_turning_character(const char *s);

/* One CSV cell (RFC 4180): quoted where needed, characters that change the direction of writing as
 * U+FFFD. A cell that a spreadsheet would take for a
 * formula (first character = + - @ or a tab) gets an apostrophe in front. NULL: empty cell. */
void fl_put_csv(FILE *out, const char *s);

/* File-name part: lower-case ASCII letters and digits, runs of anything else one '-'. When letters
 * outside ASCII were lost, an 8-digit hash of s is added, so that two names stay apart.
 * Never empty, at most 64 characters; malloc'ed. */
char *fl_slug(const char *s);
/* The name of a file without its folder, within path; NULL for NULL. */
const char *fl_own_name(const char *path);

/* Decimal points whatever the caller's locale: printf and strtod between the two. */
locale_t fl_point_begin(void);
void fl_point_end(locale_t was);

#endif
