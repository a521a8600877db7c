/* Events in order of time, by insertion from the end: what is out of order is so by little. */
#include "trace/event_list.h"

#include <math.h>
#include <string.h>

#include "base/mem.h"

/* False where both hold a button: then they stay two. */
static bool merge(struct fl_event *into, const struct fl_event *e)
{
    if (into->button && e->button)
        return false;
    into->dx += e->dx;
    into->dy += e->dy;
    into->wheel += e->wheel;
    if (e->button) {
        into->button = e->button;
        into->state = e->state;
    }
    if (!isnan(e->stick_x))
        into->stick_x = e->stick_x;
    if (!isnan(e->stick_y))
        into->stick_y = e->stick_y;
    return true;
}

static void insert(struct fl_event_list *list, size_t at, struct fl_event e)
{
    struct fl_trace *t = list->out;
    FL_PUSH(t->events, t->n, list->cap, e);
    memmove(t->events + at + 1, t->events + at, (t->n - 1 - at) * sizeof e);
    t->events[at] = e;
    if (t->n < FL_TRACE_MOST_EVENTS)
        return;
    list->full = true;
    fl_trace_say(t, "trace_long",
                 "The trace holds over %zu million reports; only the first are read, up to %.1f s.",
                 FL_TRACE_MOST_EVENTS / 1000000, list->last_s);
}

void fl_event_list_add(struct fl_event_list *list, struct fl_event e, double reach_s)
{
    struct fl_trace *t = list->out;
    if (list->full)
        return;
    if (t->n > 0 && e.time_s < list->last_s - reach_s) {
        t->backward++;
        return;
    }
    list->last_s = t->n > 0 ? fmax(list->last_s, e.time_s) : e.time_s;
    size_t at = t->n;
    while (at > 0 && t->events[at - 1].time_s >= e.time_s)
        at--;
    for (; at < t->n && t->events[at].time_s == e.time_s; at++) {
        t->merged++;
        if (merge(&t->events[at], &e))
            return;
        e.time_s = nextafter(e.time_s, INFINITY);
    }
    insert(list, at, e);
}
