/* Progress and interruption, passed down as one small struct. */
#ifndef FL_BASE_PROGRESS_H
#define FL_BASE_PROGRESS_H

#include <stdbool.h>

struct fl_progress {
    /* done runs 0..1; any function may be NULL. Called from the thread that measures. */
    void (*report)(void *ctx, const char *what, double done);
    bool (*stop)(void *ctx); /* true: stop soon, with FLINCH_ERR_INTERRUPTED */
    void *ctx;
    void (*note)(void *ctx, const char *text); /* one line for people that is no figure's concern */
};

void fl_progress_report(const struct fl_progress *p, const char *what,
                        double done); /* p may be NULL */
void fl_progress_note(const struct fl_progress *p, const char *text);
bool fl_progress_stop(const struct fl_progress *p);

#endif
