/* The trace itself: its events, and what its reader said of them. */
#include "trace/trace.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

void fl_trace_say(struct fl_trace *t, const char *code, const char *fmt, ...)
{
    for (int i = 0; i < t->n_notes; i++)
        if (!strcmp(t->note[i].code, code))
            return;
    if (t->n_notes == FL_TRACE_NOTES)
        return;
    struct fl_trace_note *note = &t->note[t->n_notes++];
    va_list args;
    va_start(args, fmt);
    snprintf(note->code, sizeof note->code, "%s", code);
    vsnprintf(note->text, sizeof note->text, fmt, args);
    va_end(args);
    for (char *c = note->text; *c; c++) /* one line, whatever the file holds */
        if ((unsigned char)*c < 0x20 || *c == 0x7f)
            *c = ' ';
}

void fl_trace_finish(struct fl_trace *t)
{
    free(t->events);
    memset(t, 0, sizeof *t);
}
