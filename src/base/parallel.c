/* A counter that all threads share hands out the parts: whoever is free takes the next, so that
 * parts of unequal length keep every thread busy. */
#include "base/parallel.h"

#include <assert.h>
#include <pthread.h>
#include <stdatomic.h>
#include <unistd.h>

enum { MOST = 64 };

struct parts {
    atomic_size_t next;
    size_t n;
    void (*job)(void *ctx, size_t i);
    void *ctx;
};

static void *work(void *arg)
{
    struct parts *p = arg;
    for (size_t i; (i = atomic_fetch_add(&p->next, 1)) < p->n;)
        p->job(p->ctx, i);
    return NULL;
}

static size_t workers(size_t n, int threads)
{
    long most = threads > 0 ? threads : sysconf(_SC_NPROCESSORS_ONLN);
    most = most < 1 ? 1 : most > MOST ? MOST : most;
    return n < (size_t)most ? n : (size_t)most;
}

void fl_parallel(size_t n, int threads, void (*job)(void *ctx, size_t i), void *ctx)
{
    struct parts parts = {.n = n, .job = job, .ctx = ctx};
    pthread_t thread[MOST];
    size_t wanted = workers(n, threads), started = 0;
    assert(wanted <= MOST);
    while (started + 1 < wanted && !pthread_create(&thread[started], NULL, work, &parts))
        started++;
    work(&parts);
    for (size_t i = 0; i < started; i++)
        pthread_join(thread[i], NULL);
}
