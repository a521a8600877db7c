/* Whole lines as they come are read by the CSV reader, each time behind the head of the file: what
 * the columns are is said once, at the start. */
#include "trace/follow_trace.h"

#include <ctype.h>
#include <errno.h>
#include <fcntl.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/mem.h"
#include "trace/reader.h"

extern const struct fl_trace_reader fl_trace_csv;

enum { BLOCK = 65536, MOST_HEAD = 16384, MOST_AT_ONCE = 64 };

struct fl_follow_trace {
    int fd, keep_fd;
    const char *path;
    struct fl_trace_columns columns;
    char *head; /* the lines before the first row of numbers; NULL: not whole yet */
    size_t head_size;
    char *text; /* n, not read yet */
    size_t n, room;
    struct fl_trace trace; /* of the last call */
    double last_s;
};

enum flinch_code fl_follow_trace_open(struct fl_follow_trace **out, const char *path,
                                      const struct fl_trace_columns *columns, const char *keep,
                                      struct fl_error *err)
{
    struct stat st;
    struct fl_follow_trace *f = FL_NEW(struct fl_follow_trace, 1);
    *f = (struct fl_follow_trace){.keep_fd = -1, .path = path, .last_s = -INFINITY};
    if (columns)
        f->columns = *columns;
    enum flinch_code code = FLINCH_OK;
    /* Without a writer yet a pipe is empty; opening it must not wait. */
    f->fd = strcmp(path, "-") ? open(path, O_RDONLY | O_NONBLOCK | O_CLOEXEC)
                              : fcntl(STDIN_FILENO, F_DUPFD_CLOEXEC, 3);
    if (f->fd < 0 || fstat(f->fd, &st))
        code = fl_fail(err, FLINCH_ERR_OPEN, "%s: cannot be opened: %s; check the path", path,
                       strerror(errno));
    else if (S_ISDIR(st.st_mode))
        code = fl_fail(err, FLINCH_ERR_OPEN, "%s: is a folder, not a trace; name the file in it",
                       path);
    if (!code && keep) {
        f->keep_fd = open(keep, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
        if (f->keep_fd < 0)
            code = fl_fail(err, FLINCH_ERR_WRITE,
                           "%s: cannot be written: %s; name a file that is "
                           "not there yet",
                           keep, strerror(errno));
    }
    if (!code)
        fcntl(f->fd, F_SETFL, fcntl(f->fd, F_GETFL) | O_NONBLOCK);
    else
        fl_follow_trace_close(&f);
    *out = f;
    return code;
}

/* A copy that cannot go on ends; the trace itself is with its logger. */
static void copy(struct fl_follow_trace *f, const char *data, size_t n)
{
    if (f->keep_fd >= 0 && write(f->keep_fd, data, n) != (ssize_t)n) {
        close(f->keep_fd);
        f->keep_fd = -1;
    }
}

static void read_more(struct fl_follow_trace *f)
{
    for (int i = 0; i < MOST_AT_ONCE; i++) {
        if (f->n + BLOCK > f->room) {
            f->room = 2 * f->room + BLOCK;
            f->text = fl_realloc(f->text, f->room, 1);
        }
        const ssize_t got = read(f->fd, f->text + f->n, BLOCK);
        if (got <= 0)
            return;
        copy(f, f->text + f->n, (size_t)got);
        f->n += (size_t)got;
    }
}

static bool starts_a_row(const char *line, const char *end)
{
    while (line < end && (*line == ' ' || *line == '"' || *line == '-'))
        line++;
    return line < end && isdigit((unsigned char)*line);
}

/* Lines up to the first that is a row of numbers. */
static void find_head(struct fl_follow_trace *f, size_t whole)
{
    size_t at = 0;
    while (at < whole && !starts_a_row(f->text + at, f->text + whole)) {
        const char *next = memchr(f->text + at, '\n', whole - at);
        at = (size_t)(next - f->text) + 1;
    }
    if (at == whole && at < MOST_HEAD)
        return;
    f->head = fl_strndup(f->text, at);
    f->head_size = at;
    f->n -= at;
    memmove(f->text, f->text + at, f->n);
}

/* Bytes of whole lines. */
static size_t whole_lines(const struct fl_follow_trace *f)
{
    size_t n = f->n;
    while (n > 0 && f->text[n - 1] != '\n')
        n--;
    return n;
}

static enum flinch_code read_rows(struct fl_follow_trace *f, size_t n, struct fl_error *err)
{
    FILE *stream = tmpfile();
    if (!stream)
        return fl_fail(err, FLINCH_ERR_OPEN, "%s: rows cannot be kept meanwhile: %s; check TMPDIR",
                       f->path, strerror(errno));
    const bool laid_down = fwrite(f->head, 1, f->head_size, stream) == f->head_size &&
                           fwrite(f->text, 1, n, stream) == n && !fflush(stream);
    if (!laid_down) {
        const int why = errno;
        fclose(stream);
        return fl_fail(err, FLINCH_ERR_OPEN, "%s: rows cannot be kept meanwhile: %s; check TMPDIR",
                       f->path, strerror(why));
    }
    rewind(stream);
    const enum flinch_code code = fl_trace_csv.read(&f->trace, stream, f->path, &f->columns, err);
    fclose(stream);
    f->n -= n;
    memmove(f->text, f->text + n, f->n);
    return code;
}

enum flinch_code fl_follow_trace_poll(struct fl_follow_trace *f, const struct fl_event **events,
                                      size_t *n, struct fl_error *err)
{
    *events = NULL;
    *n = 0;
    fl_trace_finish(&f->trace);
    f->trace = (struct fl_trace){0};
    read_more(f);
    size_t whole = whole_lines(f);
    if (!f->head && whole) {
        find_head(f, whole);
        whole = whole_lines(f);
    }
    if (!f->head || !whole)
        return FLINCH_OK;
    const enum flinch_code code = read_rows(f, whole, err);
    if (code)
        return code == FLINCH_ERR_EMPTY ? FLINCH_OK : code;
    size_t old = 0;
    while (old < f->trace.n && f->trace.events[old].time_s <= f->last_s)
        old++;
    if (old == f->trace.n)
        return FLINCH_OK;
    *events = f->trace.events + old;
    *n = f->trace.n - old;
    f->last_s = f->trace.events[f->trace.n - 1].time_s;
    return FLINCH_OK;
}

void fl_follow_trace_close(struct fl_follow_trace **follow)
{
    struct fl_follow_trace *f = *follow;
    if (!f)
        return;
    if (f->fd >= 0)
        close(f->fd);
    if (f->keep_fd >= 0)
        close(f->keep_fd);
    fl_trace_finish(&f->trace);
    free(f->head);
    free(f->text);
    free(f);
    *follow = NULL;
}
