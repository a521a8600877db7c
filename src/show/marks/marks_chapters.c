/* Marks as text: WebVTT (W3C) and FFmpeg's metadata chapters. */
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "show/marks/marks.h"
#include "show/text/escape.h"

/* ---- times of these files: milliseconds of footage time ---- */

/* The first whole millisecond at which the frame that begins then is on screen. */
static long millisecond(double time_s)
{
    return (long)ceil(time_s * 1000 - 1e-4);
}

struct cue {
    const struct fl_mark *mark;
    long start_ms, end_ms;
};

static int in_order(const void *a, const void *b)
{
    const struct cue *x = a, *y = b;
    if (x->start_ms != y->start_ms)
        return x->start_ms < y->start_ms ? -1 : 1;
    return (x->end_ms < y->end_ms) - (x->end_ms > y->end_ms);
}

/* By start; of two that start together, the longer first. */
static struct cue *cues_of(const struct fl_marks *m)
{
    struct cue *cues = FL_NEW(struct cue, m->n + 1);
    for (size_t i = 0; i < m->n; i++) {
        cues[i] = (struct cue){&m->v[i], millisecond(m->v[i].start_s), millisecond(m->v[i].end_s)};
        if (cues[i].end_ms <= cues[i].start_ms)
            cues[i].end_ms = cues[i].start_ms + 1;
    }
    qsort(cues, m->n, sizeof *cues, in_order);
    return cues;
}

/* ---- WebVTT ---- */

/* Cues of chapters lie inside each other or apart. Lapses do not overlap, and flicks do not: only a
 * lapse and a flick can, and the flick gives way. */
static void nest(struct cue *cues, size_t n)
{
    struct cue *lapse = NULL, *flick = NULL;
    for (size_t i = 0; i < n; i++) {
        struct cue *c = &cues[i], *other = c->mark->lapse ? flick : lapse;
        if (other && other->end_ms > c->start_ms && other->end_ms < c->end_ms)
            *(c->mark->lapse ? &other->end_ms : &c->end_ms) =
                c->mark->lapse ? c->start_ms : other->end_ms;
        *(c->mark->lapse ? &lapse : &flick) = c;
    }
}

static void put_time(FILE *out, long ms)
{
    fprintf(out, "%02ld:%02ld:%02ld.%03ld", ms / 3600000, ms / 60000 % 60, ms / 1000 % 60,
            ms % 1000);
}

/* A line of a comment, in which an arrow would begin a cue. */
static void put_note(FILE *out, const char *what, const char *s)
{
    char *clean = fl_clean_text(s);
    fprintf(out, "%s ", what);
    for (const char *c = clean; *c; c++)
        fputs(strncmp(c, "-->", 3) ? (char[]){*c, 0} : "- ", out);
    fputc('\n', out);
    free(clean);
}

void fl_marks_vtt(FILE *out, const struct fl_marks *m)
{
    char text[FL_MARK_TEXT_SIZE];
    struct cue *cues = cues_of(m);
    nest(cues, m->n);
    fputs("WEBVTT\n\nNOTE\n", out);
    put_note(out, "Take", m->take->spec.id);
    put_note(out, "Game", m->take->spec.game);
    put_note(out, "Condition", m->take->spec.condition);
    fputs("Times are those of the footage, from its first frame.\n", out);
    for (size_t i = 0; i < m->n; i++) {
        const struct fl_mark *mark = cues[i].mark;
        fprintf(out, "\n%s-%zu\n", mark->lapse ? "lapse" : "flick", mark->number);
        put_time(out, cues[i].start_ms);
        fputs(" --> ", out);
        put_time(out, cues[i].end_ms);
        fputc('\n', out);
        fl_put_markup(out, fl_mark_text(text, mark));
        fputc('\n', out);
    }
    free(cues);
}

/* ---- FFmpeg chapter metadata ---- */

static void put_pair(FILE *out, const char *name, const char *value)
{
    char *clean = fl_clean_text(value); /* line ends are gone */
    fprintf(out, "%s=", name);
    for (const char *c = clean; *c; c++) {
        if (strchr("=;#\\", *c))
            fputc('\\', out);
        fputc(*c, out);
    }
    fputc('\n', out);
    free(clean);
}

static void put_chapter(FILE *out, long start_ms, long end_ms, const char *title)
{
    fprintf(out, "\n[CHAPTER]\nTIMEBASE=1/1000\nSTART=%ld\nEND=%ld\n", start_ms, end_ms);
    put_pair(out, "title", title);
}

/* Players show one chapter at a time, and some containers know no time without one: each ends where
 * the next begins, and what lies between marks is a chapter too. */
void fl_marks_ffmeta(FILE *out, const struct fl_marks *m)
{
    static const char between[] = "No mark";
    char text[FL_MARK_TEXT_SIZE];
    struct cue *cues = cues_of(m);
    long at = 0, last = millisecond(m->take->duration_s);
    fputs(";FFMETADATA1\n", out);
    put_pair(out, "title", m->take->spec.id);
    put_pair(out, "game", m->take->spec.game);
    put_pair(out, "condition", m->take->spec.condition);
    for (size_t i = 0; i < m->n; i++) {
        long end = i + 1 < m->n && cues[i + 1].start_ms < cues[i].end_ms ? cues[i + 1].start_ms
                                                                         : cues[i].end_ms;
        if (cues[i].start_ms > at)
            put_chapter(out, at, cues[i].start_ms, between);
        put_chapter(out, cues[i].start_ms, end, fl_mark_text(text, cues[i].mark));
        at = end;
    }
    if (last > at)
        put_chapter(out, at, last, between);
    free(cues);
}
