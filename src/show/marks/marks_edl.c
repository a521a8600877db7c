/* Marks as an edit decision list in the CMX 3600 form, one event a mark. */
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "show/marks/marks.h"
#include "show/text/escape.h"

/* Readers by the book know three digits of event number, reels of eight letters, and no comment
 * before the first event. */
#define MOST_EVENTS 999
#define NAME_LIMIT 200 /* characters of a name; long lines break readers */

struct event {
    const struct fl_mark *mark;
    long in, out;
};

/* Printable ASCII as it is, all else as % and two hexadecimal digits a byte (RFC 3986), at most
 * limit characters. */
static void put_ascii(FILE *out, const char *s, int limit)
{
    for (; s && *s && limit > 0; s++) {
        unsigned char c = (unsigned char)*s;
        bool plain = c >= 0x20 && c < 0x7f && c != '%';
        limit -= plain ? 1 : 3;
        fprintf(out, plain ? "%c" : "%%%02X", c);
    }
    if (s && *s)
        fputs("...", out);
}

/* Events must not lie on each other: a lapse cuts the flick before it short, and a flick inside a
 * lapse is no event of its own. Every mark keeps its locator. */
static size_t choose(struct event *events, const struct fl_marks *m)
{
    size_t n = 0;
    for (size_t i = 0; i < m->n; i++) {
        const struct fl_mark *mark = &m->v[i];
        struct event *last = n ? &events[n - 1] : NULL;
        if (last && mark->in < last->out) {
            bool inside = mark->flick && last->mark->lapse,
                 replaces = mark->lapse && last->mark->flick;
            if (inside || (mark->in == last->in && !replaces))
                continue;
            if (mark->in == last->in)
                n--;
            else
                last->out = mark->in;
        }
        events[n++] = (struct event){mark, mark->in, mark->out};
    }
    return n;
}

static void put_locator(FILE *out, const struct fl_marks *m, const struct fl_mark *mark)
{
    char label[FL_TIMECODE_SIZE], text[FL_MARK_TEXT_SIZE];
    fprintf(out, "* LOC: %s %-7s %s\n", fl_timecode_label(label, &m->tc, m->start + mark->in),
            fl_mark_colour(mark), fl_mark_text(text, mark));
}

static void put_event(FILE *out, const struct fl_marks *m, const struct event *e, size_t number)
{
    char label[4][FL_TIMECODE_SIZE], text[FL_MARK_TEXT_SIZE];
    const long frames[] = {e->in, e->out, m->start + e->in, m->start + e->out};
    for (int i = 0; i < 4; i++)
        fl_timecode_label(label[i], &m->tc, frames[i]);
    fprintf(out, "\n%03zu  AX       V     C        %s %s %s %s\n", number, label[0], label[1],
            label[2], label[3]);
    fputs("* FROM CLIP NAME: ", out);
    put_ascii(out, fl_own_name(m->take->spec.footage), NAME_LIMIT);
    fprintf(out, "\n* COMMENT: %s\n", fl_mark_text(text, e->mark));
}

static void put_facts(FILE *out, const struct fl_marks *m, size_t events)
{
    char rate[FL_RATE_SIZE];
    fputs("* COMMENT: Take ", out);
    put_ascii(out, m->take->spec.id, NAME_LIMIT);
    fputs("\n* COMMENT: Game ", out);
    put_ascii(out, m->take->spec.game, NAME_LIMIT);
    fputs("\n* COMMENT: Condition ", out);
    put_ascii(out, m->take->spec.condition, NAME_LIMIT);
    fprintf(out,
            "\n* COMMENT: This file carries no frame rate. Its timecode counts %s frames per "
            "second, %s.\n",
            fl_rate_text(rate, m->tc.rate), m->tc.drop ? "drop-frame" : "non-drop");
    fputs("* COMMENT: Source timecode counts from the first frame of the footage.\n", out);
    if (m->drop_refused)
        fputs("* COMMENT: Drop-frame was asked for; it is not defined at this rate.\n", out);
    if (events > MOST_EVENTS)
        fprintf(out, "* COMMENT: Of %zu events the first %d are here; the other files hold all.\n",
                events, MOST_EVENTS);
}

void fl_marks_edl(FILE *out, const struct fl_marks *m)
{
    struct event *events = FL_NEW(struct event, m->n + 1);
    size_t n = choose(events, m), next = 0;
    fputs("TITLE: ", out);
    put_ascii(out, m->take->spec.id, NAME_LIMIT);
    fprintf(out, "\nFCM: %s\n", m->tc.drop ? "DROP FRAME" : "NON-DROP FRAME");
    if (!n)
        fputs("\n* COMMENT: No lapse, and no flick that was asked for.\n", out);
    for (size_t i = 0; i < n && i < MOST_EVENTS; i++) {
        put_event(out, m, &events[i], i + 1);
        if (!i)
            put_facts(out, m, n);
        for (; next < m->n && (i + 1 == n || m->v[next].in < events[i + 1].in); next++)
            put_locator(out, m, &m->v[next]);
    }
    free(events);
}
