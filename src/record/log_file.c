/* Double buffering: one buffer is filled while a thread writes the other. */
#include "record/log_file.h"

#include <errno.h>
#include <fcntl.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "base/mem.h"

#ifdef _WIN32
#include <io.h>
#define sync_file(fd) _commit(fd)
enum { OPEN_FLAGS = O_WRONLY | O_CREAT | O_EXCL | O_BINARY };
#else
#define sync_file(fd) fdatasync(fd)
enum { OPEN_FLAGS = O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC };
#endif

static const long every_ns = 500000000;

struct fl_log_file {
    int fd;
    char *path;
    pthread_t thread;
    pthread_mutex_t lock;
    pthread_cond_t wake, written;
    char *filling, *writing; /* under lock: filling, n, cap, closing, failed, wanted, done */
    size_t n, cap, writing_cap;
    unsigned long wanted, done; /* syncs asked for, syncs made */
    bool closing;
    int failed; /* errno of the first write that failed */
};

static int write_all(int fd, const char *text, size_t n)
{
    while (n > 0) {
        const long got = (long)write(fd, text, n > 1 << 20 ? 1 << 20 : (unsigned)n);
        if (got < 0 && errno == EINTR)
            continue;
        if (got <= 0)
            return errno ? errno : EIO;
        text += got;
        n -= (size_t)got;
    }
    return 0;
}

/* Swaps the buffers and writes the full one; called with the lock, which is open meanwhile. */
static void write_filled(struct fl_log_file *f)
{
    char *text = f->filling;
    const size_t n = f->n, cap = f->cap;
    const unsigned long asked = f->wanted;
    f->filling = f->writing;
    f->cap = f->writing_cap;
    f->n = 0;
    pthread_mutex_unlock(&f->lock);
    int why = write_all(f->fd, text, n);
    if (!why && n > 0 && sync_file(f->fd) && errno != EINVAL && errno != EROFS)
        why = errno;
    pthread_mutex_lock(&f->lock);
    f->writing = text;
    f->writing_cap = cap;
    f->failed = f->failed ? f->failed : why;
    f->done = asked;
    pthread_cond_broadcast(&f->written);
}

static void *writer(void *arg)
{
    struct fl_log_file *f = arg;
    pthread_mutex_lock(&f->lock);
    while (!f->closing) {
        struct timespec until;
        clock_gettime(CLOCK_REALTIME, &until);
        until.tv_nsec += every_ns;
        until.tv_sec += until.tv_nsec / 1000000000;
        until.tv_nsec %= 1000000000;
        if (f->wanted == f->done)
            pthread_cond_timedwait(&f->wake, &f->lock, &until);
        write_filled(f);
    }
    write_filled(f);
    pthread_mutex_unlock(&f->lock);
    return NULL;
}

enum flinch_code fl_log_file_open(struct fl_log_file **out, const char *path, struct fl_error *err)
{
    *out = NULL;
    const int fd = open(path, OPEN_FLAGS, 0644);
    if (fd < 0 && errno == EEXIST)
        return fl_fail(err, FLINCH_ERR_WRITE, "%s: is there already; choose another name", path);
    if (fd < 0)
        return fl_fail(err, FLINCH_ERR_WRITE, "%s: cannot write: %s; choose another folder", path,
                       strerror(errno));
    struct fl_log_file *f = FL_NEW(struct fl_log_file, 1);
    f->fd = fd;
    f->path = fl_strdup(path);
    pthread_mutex_init(&f->lock, NULL);
    pthread_cond_init(&f->wake, NULL);
    pthread_cond_init(&f->written, NULL);
    if (pthread_create(&f->thread, NULL, writer, f)) {
        close(fd);
        free(f->path);
        free(f);
        return fl_fail(err, FLINCH_ERR_WRITE, "%s: no thread to write it; end other programs",
                       path);
    }
    *out = f;
    return FLINCH_OK;
}

void fl_log_file_add(struct fl_log_file *f, const char *text, size_t n)
{
    pthread_mutex_lock(&f->lock);
    if (f->n + n > f->cap) {
        f->cap = f->cap + n > 1 << 16 ? 2 * (f->cap + n) : 1 << 16;
        f->filling = fl_realloc(f->filling, f->cap, 1);
    }
    memcpy(f->filling + f->n, text, n);
    f->n += n;
    pthread_mutex_unlock(&f->lock);
}

void fl_log_file_sync(struct fl_log_file *f)
{
    pthread_mutex_lock(&f->lock);
    const unsigned long mine = ++f->wanted;
    pthread_cond_signal(&f->wake);
    while (f->done < mine)
        pthread_cond_wait(&f->written, &f->lock);
    pthread_mutex_unlock(&f->lock);
}

static enum flinch_code failure(const char *path, int why, struct fl_error *err)
{
    if (!why)
        return FLINCH_OK;
    return fl_fail(err, FLINCH_ERR_WRITE, "%s: cannot write: %s; free space and record again", path,
                   strerror(why));
}

enum flinch_code fl_log_file_check(struct fl_log_file *f, struct fl_error *err)
{
    pthread_mutex_lock(&f->lock);
    const int why = f->failed;
    pthread_mutex_unlock(&f->lock);
    return failure(f->path, why, err);
}

enum flinch_code fl_log_file_close(struct fl_log_file **file, struct fl_error *err)
{
    struct fl_log_file *f = *file;
    if (!f)
        return FLINCH_OK;
    pthread_mutex_lock(&f->lock);
    f->closing = true;
    pthread_cond_signal(&f->wake);
    pthread_mutex_unlock(&f->lock);
    pthread_join(f->thread, NULL);
    int why = f->failed;
    if (close(f->fd) && !why)
        why = errno;
    const enum flinch_code code = failure(f->path, why, err);
    free(f->filling);
    free(f->writing);
    free(f->path);
    free(f);
    *file = NULL;
    return code;
}
