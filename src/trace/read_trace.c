/* The registry of trace readers, and what is told of a trace whatever its format. */
#include "trace/read_trace.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "base/mem.h"
#include "base/units.h"
#include "maths/robust.h"
#include "trace/reader.h"

extern const struct fl_trace_reader fl_trace_usb_capture, fl_trace_evdev, fl_trace_csv;

/* Tried in turn. */
static const struct fl_trace_reader *const readers[] = {&fl_trace_usb_capture, &fl_trace_evdev,
                                                        &fl_trace_csv};

enum { RATE_SAMPLES = 100000 }; /* gaps that a rate is the median of, at most */
/* Rows that are missing in the middle of motion: choices. A hand in motion reports every few
 * milliseconds at any rate from 125/s up. */
static const double silence_s = 0.1;
enum { MOVING_COUNTS = 3 };

static double counts(const struct fl_event *e)
{
    return fabs((double)e->dx) + fabs((double)e->dy);
}

/* A hand that stops fades out through single counts; rows lost in the middle of a movement have
 * several on both sides. */
static size_t count_gaps(const struct fl_trace *t)
{
    size_t gaps = 0;
    for (size_t i = 1; i < t->n; i++)
        gaps += t->events[i].time_s - t->events[i - 1].time_s > silence_s &&
                counts(&t->events[i - 1]) >= MOVING_COUNTS &&
                counts(&t->events[i]) >= MOVING_COUNTS;
    return gaps;
}

static double report_rate(const struct fl_trace *t)
{
    double *gap = FL_NEW(double, RATE_SAMPLES);
    size_t n = 0;
    const size_t stride = t->n / RATE_SAMPLES + 1;
    for (size_t i = 1; i < t->n && n < RATE_SAMPLES; i += stride) {
        const double d = t->events[i].time_s - t->events[i - 1].time_s;
        if (d <= silence_s && counts(&t->events[i - 1]) > 0 && counts(&t->events[i]) > 0)
            gap[n++] = d;
    }
    const double rate = n > 0 ? 1 / fl_median(gap, n) : FL_UNKNOWN;
    free(gap);
    return rate;
}

/* NULL if no reader knows it. */
static const struct fl_trace_reader *choose(FILE *stream, const char *path, struct fl_error *err)
{
    char head[4096];
    const size_t size = fread(head, 1, sizeof head, stream);
    rewind(stream);
    for (size_t k = 0; k < sizeof readers / sizeof *readers; k++)
        if (readers[k]->recognise(head, size))
            return readers[k];
    const bool utf16 = size >= 2 && (!memcmp(head, "\xFF\xFE", 2) || !memcmp(head, "\xFE\xFF", 2));
    fl_fail(err, FLINCH_ERR_FORMAT, "%s: %s", path,
            utf16
                ? "text in UTF-16; save it as UTF-8"
                : "no trace that is known; give a CSV file, a Linux evdev stream or a USB capture "
                  "(pcap, pcapng)");
    return NULL;
}

static void say_what_is_amiss(struct fl_trace *t)
{
    if (t->backward)
        fl_trace_say(t, "trace_backward", "%zu trace rows ran backward in time and were left out.",
                     t->backward);
    if (t->cut)
        fl_trace_say(t, "trace_cut", "The end of the trace is unfinished and was left out.");
    if (t->gaps)
        fl_trace_say(t, "trace_gaps",
                     "The trace is silent %zu times for over 0.1 s in the middle of motion.",
                     t->gaps);
}

static void summarise(struct fl_trace *t, const char *format)
{
    snprintf(t->format, sizeof t->format, "%s", format);
    t->start_s = t->events[0].time_s;
    t->end_s = t->events[t->n - 1].time_s;
    t->gaps = t->has_motion ? count_gaps(t) : 0;
    t->report_rate_hz = t->has_motion ? report_rate(t) : FL_UNKNOWN;
    say_what_is_amiss(t);
}

void fl_trace_of_events(struct fl_trace *out, struct fl_event *events, size_t n)
{
    *out = (struct fl_trace){.events = events, .n = n};
    for (size_t i = 0; i < n; i++) {
        out->has_motion |= events[i].dx != 0 || events[i].dy != 0;
        out->has_buttons |= events[i].button != 0 && events[i].state;
    }
    summarise(out, "events");
}

static enum flinch_code read_stream(struct fl_trace *out, FILE *stream, const char *path,
                                    const struct fl_trace_columns *columns, struct fl_error *err)
{
    static const struct fl_trace_columns none;
    struct stat st;
    if (fstat(fileno(stream), &st) == 0 && S_ISDIR(st.st_mode))
        return fl_fail(err, FLINCH_ERR_OPEN, "%s: is a folder, not a trace; name the file in it",
                       path);
    const struct fl_trace_reader *reader = choose(stream, path, err);
    if (!reader)
        return FLINCH_ERR_FORMAT;
    enum flinch_code code = reader->read(out, stream, path, columns ? columns : &none, err);
    if (!code && ferror(stream))
        code = fl_fail(err, FLINCH_ERR_OPEN, "%s: reading failed; copy it again or check the disk",
                       path);
    if (!code)
        summarise(out, reader->name);
    return code;
}

/* Readers go back to the start: what comes through a pipe is laid down first. The stream, rewound;
 * NULL where that fails. */
static FILE *laid_down(FILE *pipe)
{
    char block[65536];
    size_t n;
    FILE *file = tmpfile();
    while (file && (n = fread(block, 1, sizeof block, pipe)) > 0)
        if (fwrite(block, 1, n, file) != n)
            break;
    if (file && (ferror(pipe) || ferror(file) || fflush(file) || fseek(file, 0, SEEK_SET))) {
        fclose(file);
        file = NULL;
    }
    return file;
}

static enum flinch_code read_pipe(struct fl_trace *out, FILE *pipe, const char *path,
                                  const struct fl_trace_columns *columns, struct fl_error *err)
{
    FILE *file = laid_down(pipe);
    if (!file)
        return fl_fail(err, FLINCH_ERR_OPEN, "%s: cannot be kept meanwhile: %s; check TMPDIR", path,
                       strerror(errno));
    const enum flinch_code code = read_stream(out, file, path, columns, err);
    fclose(file);
    return code;
}

static bool is_pipe(FILE *stream)
{
    struct stat st;
    return !fstat(fileno(stream), &st) && !S_ISREG(st.st_mode) && !S_ISDIR(st.st_mode);
}

enum flinch_code fl_trace_read_as(struct fl_trace *out, const char *path,
                                  const struct fl_trace_columns *columns, struct fl_error *err)
{
    memset(out, 0, sizeof *out);
    FILE *stream = strcmp(path, "-") ? fopen(path, "rb") : stdin;
    if (!stream)
        return fl_fail(err, FLINCH_ERR_OPEN, "%s: cannot be opened: %s; check the path", path,
                       strerror(errno));
    const enum flinch_code code = is_pipe(stream) ? read_pipe(out, stream, path, columns, err)
                                                  : read_stream(out, stream, path, columns, err);
    if (stream != stdin)
        fclose(stream);
    if (code != FLINCH_OK)
        fl_trace_finish(out);
    return code;
}

enum flinch_code fl_trace_read(struct fl_trace *out, const char *path, struct fl_error *err)
{
    return fl_trace_read_as(out, path, NULL, err);
}
