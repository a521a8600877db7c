/* One line on stderr that is drawn over itself (carriage return and ECMA-48 erase in line), only
 * where stderr is a terminal. A signal sets a flag, which whoever works asks at each frame; what
 * does not listen, as a reader that waits for a pipe, is ended by an alarm, its files dropped. The
 * handler is gone after the first, so that a second signal ends a command at once. */
#include "cli/terminal.h"

#include <assert.h>
#include <errno.h>
#include <pthread.h>
#include <signal.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <unistd.h>

#include "base/file.h"
#include "base/monotonic.h"
#include "cli/time_left.h"
#include "show/text/escape.h"

#define PATIENCE_S 2 /* for whoever works to hear of a signal */
#define GRACE_S 10   /* from then on, to put things away */

static atomic_bool stopped, heard;

static void on_signal(int number)
{
    (void)number;
    atomic_store(&stopped, true);
    alarm(PATIENCE_S);
}

static void on_alarm(int number)
{
    static const char text[] = "flinch: stopped\n";
    (void)number;
    fl_files_drop();
    if (write(STDERR_FILENO, text, sizeof text - 1) < 0) {
        /* nobody is left to be told */
    }
    _exit(fl_exit_status(FLINCH_ERR_INTERRUPTED));
}

void fl_terminal_catch_signals(void)
{
    struct sigaction action = {.sa_handler = on_signal, .sa_flags = (int)SA_RESETHAND | SA_RESTART};
    struct sigaction patience = {.sa_handler = on_alarm};
    struct sigaction hangup;
    sigaction(SIGALRM, &patience, NULL);
    sigaction(SIGINT, &action, NULL);
    sigaction(SIGTERM, &action, NULL);
    if (!sigaction(SIGHUP, NULL, &hangup) && hangup.sa_handler != SIG_IGN) /* not under nohup */
        sigaction(SIGHUP, &action, NULL);
}

bool fl_terminal_stopped(void *unused)
{
    (void)unused;
    if (!atomic_load(&stopped))
        return false;
    if (!atomic_exchange(&heard, true))
        alarm(GRACE_S);
    return true;
}

struct part {
    double done;     /* of what, 0..1; negative before it starts */
    double at, of_s; /* where what began, and when */
    bool finished, reused;
    char what[24];
};

struct fl_terminal {
    pthread_mutex_t lock;
    const char *const *names;
    struct part *parts;
    size_t n, n_finished;
    int reused;
    bool live; /* progress is shown */
    bool quiet;
    char noted[256]; /* last */
    double began_s, drawn_s;
};

struct fl_terminal *fl_terminal_new(const char *const *names, size_t n, bool quiet)
{
    struct fl_terminal *t = FL_NEW(struct fl_terminal, 1);
    pthread_mutex_init(&t->lock, NULL);
    t->names = names;
    t->n = n;
    t->parts = FL_NEW(struct part, n ? n : 1);
    for (size_t i = 0; i < n; i++)
        t->parts[i].done = -1;
    t->quiet = quiet;
    t->live = !quiet && isatty(STDERR_FILENO);
    t->began_s = fl_now_s();
    return t;
}

static void erase_line(struct fl_terminal *t)
{
    if (t->live)
        fputs("\r\x1b[K", stderr);
}

void fl_terminal_free(struct fl_terminal **t)
{
    if (!*t)
        return;
    erase_line(*t);
    pthread_mutex_destroy(&(*t)->lock);
    free((*t)->parts);
    free(*t);
    *t = NULL;
}

static size_t line_width(void)
{
    struct winsize size;
    if (ioctl(STDERR_FILENO, TIOCGWINSZ, &size) || size.ws_col < 20)
        return 79;
    return size.ws_col > 200 ? 199 : size.ws_col - 1u;
}

/* Of the takes that are measured here, all held for equally long; a second look at the footage, for
 * its filmstrips, is a fraction of the first. */
static double share_done(const struct fl_terminal *t)
{
    const double first_look = 0.8;
    double done = 0, all = 0;
    for (size_t i = 0; i < t->n; i++) {
        const struct part *p = &t->parts[i];
        const bool second = !strcmp(p->what, "filmstrips");
        all += !p->reused;
        if (p->finished || p->done < 0)
            done += p->finished && !p->reused;
        else
            done += second ? first_look + (1 - first_look) * p->done : first_look * p->done;
    }
    return all > 0 ? done / all : 1;
}

static void draw(struct fl_terminal *t)
{
    char line[512], left[FL_LEFT_SIZE];
    size_t used = (size_t)snprintf(line, sizeof line, "%zu of %zu done", t->n_finished, t->n);
    if (t->n > 1 && *fl_time_left(left, fl_now_s() - t->began_s, share_done(t)))
        used += (size_t)snprintf(line + used, sizeof line - used, ", about %s", left);
    for (size_t i = 0; i < t->n && used < sizeof line; i++) {
        const struct part *p = &t->parts[i];
        if (p->done < 0 || p->finished)
            continue;
        char *name = fl_clean_text(t->names[i]);
        used += (size_t)snprintf(line + used, sizeof line - used, "  %.40s: %s %.0f %%", name,
                                 p->what, 100 * p->done);
        const double since = fl_now_s() - p->of_s, done = (p->done - p->at) / (1 - p->at);
        if (used < sizeof line && *fl_time_left(left, since, done))
            used += (size_t)snprintf(line + used, sizeof line - used, ", %s", left);
        free(name);
    }
    erase_line(t);
    fprintf(stderr, "%.*s", (int)line_width(), line);
    fflush(stderr);
    t->drawn_s = fl_now_s();
}

static void moved(void *ctx, size_t take, const char *what, double done)
{
    struct fl_terminal *t = ctx;
    assert(take < t->n);
    pthread_mutex_lock(&t->lock);
    struct part *p = &t->parts[take];
    if (p->done < 0 || strcmp(p->what, what ? what : "")) {
        p->at = done < 1 ? done : 0;
        p->of_s = fl_now_s();
    }
    p->done = done;
    snprintf(p->what, sizeof p->what, "%s", what ? what : "");
    if (t->live && fl_now_s() - t->drawn_s > 0.1)
        draw(t);
    pthread_mutex_unlock(&t->lock);
}

static void finished(void *ctx, size_t take, enum fl_batch_outcome outcome, const char *text)
{
    struct fl_terminal *t = ctx;
    assert(take < t->n);
    pthread_mutex_lock(&t->lock);
    t->parts[take].finished = true;
    t->n_finished++;
    assert(t->n_finished <= t->n);
    t->parts[take].reused = outcome == FL_BATCH_REUSED;
    t->reused += outcome == FL_BATCH_REUSED;
    if (outcome == FL_BATCH_FAILED) {
        erase_line(t);
        fprintf(stderr, "flinch: take %s: %s\n", t->names[take], text);
    }
    if (t->live)
        draw(t);
    pthread_mutex_unlock(&t->lock);
}

/* Once, though it holds for take after take. */
static void noted(void *ctx, size_t take, const char *text)
{
    struct fl_terminal *t = ctx;
    (void)take;
    pthread_mutex_lock(&t->lock);
    if (!t->quiet && strncmp(text, t->noted, sizeof t->noted - 1)) {
        snprintf(t->noted, sizeof t->noted, "%s", text);
        erase_line(t);
        fl_complain(text);
    }
    pthread_mutex_unlock(&t->lock);
}

struct fl_batch_watch fl_terminal_watch(struct fl_terminal *t)
{
    return (struct fl_batch_watch){moved, finished, fl_terminal_stopped, t, noted};
}

void fl_terminal_erase(struct fl_terminal *t)
{
    pthread_mutex_lock(&t->lock);
    erase_line(t);
    fflush(stderr);
    pthread_mutex_unlock(&t->lock);
}

int fl_terminal_reused(const struct fl_terminal *t)
{
    return t->reused;
}

void fl_terminal_redraw(const char *line)
{
    if (isatty(STDERR_FILENO))
        fprintf(stderr, "\r\x1b[K%.*s", (int)line_width(), line);
    else if (*line)
        fprintf(stderr, "%s\n", line);
    fflush(stderr);
}

void fl_complain(const char *text)
{
    char *clean = fl_clean_text(text); /* names of files may hold anything */
    fprintf(stderr, "flinch: %s\n", clean);
    free(clean);
}

int fl_finish_output(int status)
{
    if (!fflush(stdout) && !ferror(stdout))
        return status;
    fprintf(stderr, "flinch: standard output: cannot write: %s; free space or write elsewhere\n",
            strerror(errno));
    return 1;
}

int fl_exit_status(enum flinch_code code)
{
    return code == FLINCH_OK ? 0 : code == FLINCH_ERR_USAGE || code == FLINCH_ERR_SESSION ? 2 : 1;
}
