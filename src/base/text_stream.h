/* Text written in memory through a FILE, as long as it gets.
 *
 *     struct fl_text_stream s;
 *     FILE *out = fl_text_begin(&s);
 *     fprintf(out, …);
 *     char *text = fl_text_end(&s);
 *
 * Out of memory ends the process with one line (base/mem.h): no text comes out cut short. */
#ifndef FL_BASE_TEXT_STREAM_H
#define FL_BASE_TEXT_STREAM_H

#include <stddef.h>
#include <stdio.h>

struct fl_text_stream { /* must stay where it is until fl_text_end */
    FILE *out;
    char *text;
    size_t size; /* bytes of the text without its NUL, once it has ended */
    size_t room; /* allocated */
    char buffer[1024];
};

/* Never NULL. */
FILE *fl_text_begin(struct fl_text_stream *s);
/* Closes the stream. The text, NUL-terminated, malloc'ed, never NULL. */
char *fl_text_end(struct fl_text_stream *s);

#endif
