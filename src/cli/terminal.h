/* What a person sees while a command works: progress on a terminal, one line an error, and the
 * wish to stop (SIGINT, SIGTERM). */
#ifndef FL_CLI_TERMINAL_H
#define FL_CLI_TERMINAL_H

#include <stdbool.h>
#include <stddef.h>

#include "batch.h"

/* From now on the first SIGINT, SIGTERM or SIGHUP asks to stop; a second one ends the process, and
 * so do two seconds in which nobody has asked fl_terminal_stopped, or ten after, what was being
 * written dropped.
 * Commands that ask fl_terminal_stopped call it before they read anything. */
void fl_terminal_catch_signals(void);
bool fl_terminal_stopped(void *unused);

struct fl_terminal; /* thread safe */
/* names: what each of the n parts is called; must outlive the terminal. Progress appears only
 * when stderr is a terminal and quiet is false. */
struct fl_terminal *fl_terminal_new(const char *const *names, size_t n, bool quiet);
void fl_terminal_free(struct fl_terminal **t);
/* A watch whose ctx is t: shows progress, prints failures, stops on a signal. */
struct fl_batch_watch fl_terminal_watch(struct fl_terminal *t);
void fl_terminal_erase(struct fl_terminal *t); /* clears the progress line before other output */
int fl_terminal_reused(const struct fl_terminal *t); /* takes read back so far */

/* Draws line on stderr over the one drawn before, "" erases it; where stderr is no terminal, every
 * line that is not empty is printed. */
void fl_terminal_redraw(const char *line);

/* "flinch: text" on stderr. */
void fl_complain(const char *text);
/* Flushes stdout; an output that could not be written is complained about and returns 1, else
 * status. */
int fl_finish_output(int status);
/* Exit status for a command that failed as a whole. */
int fl_exit_status(enum flinch_code code);

#endif
