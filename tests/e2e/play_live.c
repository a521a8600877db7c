/* Plays footage through the online model as fast as it goes and prints what it calls, a line an
 * event: kind, time, time of the newest picture, state; of a flick its peak in deg/s, whether it
 * was at risk and whether it tripped. play_live FOOTAGE [FOV [TRACE DEGREES_PER_COUNT [START]]];
 * START: trace time as the footage begins, else the trace begins with it. */
#include <stdio.h>
#include <stdlib.h>
#include <sys/resource.h>

#include "live.h"
#include "trace/read_trace.h"

static void print_events(struct fl_live *l)
{
    struct fl_live_event e;
    while (fl_live_poll(l, &e))
        if (e.kind == FL_LIVE_FLICK)
            printf("flick %.6f %.6f %.3f %d %d\n", e.time_s, e.seen_at_s,
                   e.flick.peak[FL_CAMERA_SPEED], e.flick.at_risk, e.flick.tripped);
        else
            printf("%s %.6f %.6f %s\n", fl_live_kind_name(e.kind), e.time_s, e.seen_at_s,
                   fl_state_name(e.state));
}

int main(int argc, char **argv)
{
    struct fl_footage *f;
    struct fl_error err;
    struct fl_frame frame;
    struct fl_take_spec spec;
    bool got;
    if (argc < 2 || fl_footage_open(&f, argv[1], &(struct fl_footage_settings){.threads = 1}, &err))
        return 1;
    fl_take_spec_init(&spec);
    struct fl_trace trace = {0};
    size_t heard = 0;
    if (argc > 2)
        spec.horizontal_fov_deg = strtod(argv[2], NULL);
    if (argc > 4 && fl_trace_read(&trace, argv[3], &err))
        return 1;
    if (argc > 4)
        spec.degrees_per_count = strtod(argv[4], NULL);
    const double start_s = argc > 5 ? strtod(argv[5], NULL) : trace.start_s;
    struct fl_live *l = fl_live_open(fl_footage_info(f), &spec);
    while (!fl_footage_next(f, &frame, &got, &err) && got) {
        struct fl_live_now now;
        fl_live_push(l, &frame);
        print_events(l);
        fl_live_now(l, &now);
        const size_t before = heard;
        while (heard < trace.n && trace.events[heard].time_s < start_s + now.time_s)
            heard++;
        if (heard > before)
            fl_live_trace(l, trace.events + before, heard - before);
    }
    fl_live_end(l);
    print_events(l);
    struct fl_live_now now;
    fl_live_now(l, &now);
    struct rusage use;
    getrusage(RUSAGE_SELF, &use);
    printf("clock %d %s\n", now.clock, now.no_clock);
    const struct fl_usable *u = fl_live_findings(l);
    for (int i = 0; u && i < u->n; i++)
        printf("finding %s %s\n", u->finding[i].code, u->finding[i].found);
    printf("end %.6f %.6f %ld\n", now.called_s, now.time_s, use.ru_maxrss);
    fl_live_free(&l);
    fl_trace_finish(&trace);
    fl_footage_close(&f);
    return 0;
}
