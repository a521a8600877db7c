/* Bounded queue of refcounted pictures between the decoder and one reader.
 *
 * Thread safety: one thread pushes and ends, another pops; either may stop. */
#ifndef FL_MEDIA_FRAME_QUEUE_H
#define FL_MEDIA_FRAME_QUEUE_H

#include <pthread.h>
#include <stdbool.h>

#include <libavutil/frame.h>

enum { FL_QUEUE_FRAMES = 8 };

struct fl_frame_queue {
    AVFrame *slot[FL_QUEUE_FRAMES];
    int head, count;
    bool ended, stopped;
    pthread_mutex_t lock;
    pthread_cond_t changed;
};

void fl_frame_queue_init(struct fl_frame_queue *q);
void fl_frame_queue_finish(struct fl_frame_queue *q); /* frees what is still inside */
/* Waits for room; takes the picture over. False once the reader has stopped. */
bool fl_frame_queue_push(struct fl_frame_queue *q, AVFrame *picture);
/* No more will come: what was written before this call is seen by the reader. */
void fl_frame_queue_end(struct fl_frame_queue *q);
/* Waits for a picture; NULL at the end. */
AVFrame *fl_frame_queue_pop(struct fl_frame_queue *q);
/* Waits until there is a picture or the end; true if a picture. */
bool fl_frame_queue_wait(struct fl_frame_queue *q);
void fl_frame_queue_stop(struct fl_frame_queue *q);
bool fl_frame_queue_stopped(struct fl_frame_queue *q);

#endif
