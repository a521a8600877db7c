/* Bytes of a pipe or of a growing file for FFmpeg, which asks for them through a callback.
 *
 * FFmpeg's own protocols can read a pipe, and follow a file; what is added is that waiting can be
 * ended from outside and after a while, and that everything read can be copied as it is: a copy
 * that fails is told of and given up, since it is the reading that must go on. */
#include "media/byte_source.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#include <libavformat/avio.h>
#include <libavutil/error.h>
#include <libavutil/mem.h>

#include "base/mem.h"
#include "base/monotonic.h"

enum { BLOCK = 65536, WAIT_MS = 50 };

struct fl_byte_source {
    int fd, keep_fd; /* keep_fd -1: no copy, or no longer */
    char *keep;
    bool regular;
    struct fl_byte_source_settings set;
    AVIOContext *io;
    pthread_mutex_t lock; /* over state and last_s */
    struct fl_byte_source_state state;
    double last_s;
};

bool fl_byte_source_is_stream(const char *path)
{
    struct stat st;
    return !strcmp(path, "-") ||
           (!stat(path, &st) && (S_ISFIFO(st.st_mode) || S_ISSOCK(st.st_mode)));
}

static double waiting_s(struct fl_byte_source *s)
{
    pthread_mutex_lock(&s->lock);
    const double w = fl_now_s() - s->last_s;
    pthread_mutex_unlock(&s->lock);
    return w;
}

static bool give_up(struct fl_byte_source *s)
{
    return (s->set.stopped && s->set.stopped(s->set.ctx)) ||
           (s->regular &&
            (!s->set.follow || (s->set.patience_s > 0 && waiting_s(s) >= s->set.patience_s)));
}

static void stop_copy(struct fl_byte_source *s, int why)
{
    close(s->keep_fd);
    s->keep_fd = -1;
    pthread_mutex_lock(&s->lock);
    snprintf(s->state.keep_why, sizeof s->state.keep_why,
             "%.60s: the copy ends after %.1f MB: %.40s; make room and begin another", s->keep,
             1e-6 * (double)s->state.kept, strerror(why));
    pthread_mutex_unlock(&s->lock);
}

static void copy(struct fl_byte_source *s, const uint8_t *data, size_t n)
{
    while (s->keep_fd >= 0 && n > 0) {
        const ssize_t done = write(s->keep_fd, data, n);
        if (done < 0 && errno != EINTR) {
            stop_copy(s, errno);
        } else if (done > 0) {
            data += done;
            n -= (size_t)done;
            pthread_mutex_lock(&s->lock);
            s->state.kept += done;
            pthread_mutex_unlock(&s->lock);
        }
    }
}

static void note_read(struct fl_byte_source *s, const uint8_t *data, ssize_t n)
{
    pthread_mutex_lock(&s->lock);
    s->state.bytes += n;
    s->last_s = fl_now_s();
    pthread_mutex_unlock(&s->lock);
    copy(s, data, (size_t)n);
}

/* A pipe says when it has more; a file has to be asked. */
static void wait_for_more(struct fl_byte_source *s)
{
    pthread_mutex_lock(&s->lock);
    s->state.waits++;
    pthread_mutex_unlock(&s->lock);
    if (s->regular)
        nanosleep(&(struct timespec){0, WAIT_MS * 1000000L}, NULL);
    else
        poll(&(struct pollfd){.fd = s->fd, .events = POLLIN}, 1, WAIT_MS);
}

static bool ready(struct fl_byte_source *s)
{
    struct pollfd p = {.fd = s->fd, .events = POLLIN};
    return s->regular || poll(&p, 1, 0) != 0;
}

static int read_bytes(void *ctx, uint8_t *to, int n)
{
    struct fl_byte_source *s = ctx;
    for (;;) {
        const bool any = ready(s);
        const ssize_t got = any ? read(s->fd, to, (size_t)n) : -1;
        const int why = any && got < 0 ? errno : 0;
        if (got > 0) {
            note_read(s, to, got);
            return (int)got;
        }
        if (got == 0 && !s->regular)
            return AVERROR_EOF;
        if (why && why != EINTR && why != EAGAIN)
            return AVERROR(why);
        if (give_up(s))
            return AVERROR_EOF;
        wait_for_more(s);
    }
}

static enum flinch_code open_input(struct fl_byte_source *s, const char *path, struct fl_error *err)
{
    const bool standard = !strcmp(path, "-");
    struct stat st;
    s->fd = standard ? fcntl(STDIN_FILENO, F_DUPFD_CLOEXEC, 3) : open(path, O_RDONLY | O_CLOEXEC);
    if (s->fd < 0 || fstat(s->fd, &st))
        return fl_fail(err, FLINCH_ERR_OPEN, "%s: cannot be opened: %s; %s", path, strerror(errno),
                       standard ? "pipe a recording in" : "check the path");
    if (S_ISDIR(st.st_mode))
        return fl_fail(err, FLINCH_ERR_OPEN,
                       "%s: is a folder, not a video file; name the file in it", path);
    if (standard && isatty(s->fd))
        return fl_fail(err, FLINCH_ERR_OPEN,
                       "-: standard input is a terminal; pipe a recording in, or name a file");
    s->regular = S_ISREG(st.st_mode);
    return FLINCH_OK;
}

static enum flinch_code open_copy(struct fl_byte_source *s, struct fl_error *err)
{
    if (!s->set.keep)
        return FLINCH_OK;
    s->keep = fl_strdup(s->set.keep);
    s->keep_fd = open(s->keep, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
    if (s->keep_fd < 0)
        return fl_fail(
            err, FLINCH_ERR_WRITE, "%s: cannot be written: %s; %s", s->keep, strerror(errno),
            errno == EEXIST ? "name a file that is not there yet" : "check folder and permissions");
    return FLINCH_OK;
}

enum flinch_code fl_byte_source_open(struct fl_byte_source **out, const char *path,
                                     const struct fl_byte_source_settings *settings,
                                     struct fl_error *err)
{
    struct fl_byte_source *s = FL_NEW(struct fl_byte_source, 1);
    *s = (struct fl_byte_source){.fd = -1, .keep_fd = -1, .set = *settings, .last_s = fl_now_s()};
    pthread_mutex_init(&s->lock, NULL);
    enum flinch_code code = open_input(s, path, err);
    if (!code)
        code = open_copy(s, err);
    if (!code) {
        unsigned char *buffer = av_malloc(BLOCK);
        s->io = buffer ? avio_alloc_context(buffer, BLOCK, 0, s, read_bytes, NULL, NULL) : NULL;
        if (!s->io)
            fl_out_of_memory();
        s->io->seekable = 0;
    }
    if (code)
        fl_byte_source_close(&s);
    *out = s;
    return code;
}

struct AVIOContext *fl_byte_source_io(struct fl_byte_source *s)
{
    return s->io;
}

void fl_byte_source_state(struct fl_byte_source *s, struct fl_byte_source_state *out)
{
    pthread_mutex_lock(&s->lock);
    *out = s->state;
    out->waiting_s = fl_now_s() - s->last_s;
    pthread_mutex_unlock(&s->lock);
}

void fl_byte_source_close(struct fl_byte_source **source)
{
    struct fl_byte_source *s = *source;
    if (!s)
        return;
    if (s->io)
        av_freep(&s->io->buffer);
    avio_context_free(&s->io);
    if (s->fd >= 0)
        close(s->fd);
    if (s->keep_fd >= 0)
        close(s->keep_fd);
    free(s->keep);
    pthread_mutex_destroy(&s->lock);
    free(s);
    *source = NULL;
}
