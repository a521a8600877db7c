/* A stream over a buffer of our own (fopencookie, of GNU and musl). POSIX's open_memstream will not
 * do: where its buffer cannot grow, glibc 2.36 drops what is written, sets no error mark and lets
 * fclose succeed, so that nobody learns of the lost text. */
#include "base/text_stream.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"

static ssize_t take(void *cookie, const char *data, size_t n)
{
    struct fl_text_stream *s = cookie;
    if (n >= s->room - s->size) { /* one byte stays for the NUL */
        s->room = 2 * s->room + n;
        s->text = fl_realloc(s->text, s->room, 1);
    }
    memcpy(s->text + s->size, data, n);
    s->size += n;
    return (ssize_t)n;
}

FILE *fl_text_begin(struct fl_text_stream *s)
{
    *s = (struct fl_text_stream){.room = 256};
    s->text = fl_calloc(s->room, 1);
    s->out = fopencookie(s, "w", (cookie_io_functions_t){.write = take});
    if (!s->out || setvbuf(s->out, s->buffer, _IOFBF, sizeof s->buffer))
        fl_out_of_memory();
    return s->out;
}

char *fl_text_end(struct fl_text_stream *s)
{
    assert(s->out);
    if (fclose(s->out))
        fl_out_of_memory();
    s->out = NULL;
    s->text[s->size] = 0;
    return s->text;
}
