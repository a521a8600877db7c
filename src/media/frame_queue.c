/* A ring of picture references under one lock. */
#include "media/frame_queue.h"

#include <assert.h>
#include <string.h>

void fl_frame_queue_init(struct fl_frame_queue *q)
{
    memset(q, 0, sizeof *q);
    pthread_mutex_init(&q->lock, NULL);
    pthread_cond_init(&q->changed, NULL);
}

void fl_frame_queue_finish(struct fl_frame_queue *q)
{
    for (; q->count > 0; q->count--) {
        av_frame_free(&q->slot[q->head]);
        q->head = (q->head + 1) % FL_QUEUE_FRAMES;
    }
    pthread_cond_destroy(&q->changed);
    pthread_mutex_destroy(&q->lock);
}

bool fl_frame_queue_push(struct fl_frame_queue *q, AVFrame *picture)
{
    pthread_mutex_lock(&q->lock);
    while (q->count == FL_QUEUE_FRAMES && !q->stopped)
        pthread_cond_wait(&q->changed, &q->lock);
    const bool taken = !q->stopped;
    assert(!taken || q->count < FL_QUEUE_FRAMES);
    if (taken)
        q->slot[(q->head + q->count++) % FL_QUEUE_FRAMES] = picture;
    pthread_cond_broadcast(&q->changed);
    pthread_mutex_unlock(&q->lock);
    if (!taken)
        av_frame_free(&picture);
    return taken;
}

void fl_frame_queue_end(struct fl_frame_queue *q)
{
    pthread_mutex_lock(&q->lock);
    q->ended = true;
    pthread_cond_broadcast(&q->changed);
    pthread_mutex_unlock(&q->lock);
}

static bool wait_locked(struct fl_frame_queue *q)
{
    while (q->count == 0 && !q->ended)
        pthread_cond_wait(&q->changed, &q->lock);
    return q->count > 0;
}

AVFrame *fl_frame_queue_pop(struct fl_frame_queue *q)
{
    AVFrame *picture = NULL;
    pthread_mutex_lock(&q->lock);
    if (wait_locked(q)) {
        picture = q->slot[q->head];
        q->head = (q->head + 1) % FL_QUEUE_FRAMES;
        q->count--;
        pthread_cond_broadcast(&q->changed);
    }
    pthread_mutex_unlock(&q->lock);
    return picture;
}

bool fl_frame_queue_wait(struct fl_frame_queue *q)
{
    pthread_mutex_lock(&q->lock);
    const bool some = wait_locked(q);
    pthread_mutex_unlock(&q->lock);
    return some;
}

void fl_frame_queue_stop(struct fl_frame_queue *q)
{
    pthread_mutex_lock(&q->lock);
    q->stopped = true;
    pthread_cond_broadcast(&q->changed);
    pthread_mutex_unlock(&q->lock);
}

bool fl_frame_queue_stopped(struct fl_frame_queue *q)
{
    pthread_mutex_lock(&q->lock);
    const bool stopped = q->stopped;
    pthread_mutex_unlock(&q->lock);
    return stopped;
}
