/* Memory: allocation that cannot return NULL, an arena, growable arrays, formatted text.
 *
 * Out of memory ends the process with one line; no caller checks for NULL.
 * Results of one take live in one arena and go with it.
 */
#ifndef FL_BASE_MEM_H
#define FL_BASE_MEM_H

#include <stdarg.h>
#include <stddef.h>

/* Says so in one line on stderr and ends the process. For what a library could not allocate. */
void fl_out_of_memory(void) __attribute__((noreturn));

/* What fl_out_of_memory calls after its line, from any thread: it may drop what is half written and
 * end the process in another way than by abort(). It must not allocate. NULL: nothing. */
typedef void (*fl_last_words)(void);
void fl_on_out_of_memory(fl_last_words last);
/* Ends as that does unless a little memory is to be had. For when a library calls its input bad:
 * that may be how it says that it had no memory. */
void fl_need_memory(void);

/* Zeroed memory for n objects of size bytes; never NULL. Free with free(). */
void *fl_calloc(size_t n, size_t size);
/* Like reallocarray, but never NULL. */
void *fl_realloc(void *p, size_t n, size_t size);
char *fl_strdup(const char *s); /* NULL in, NULL out */
/* The first n bytes of s, or all of it when it is shorter. */
char *fl_strndup(const char *s, size_t n);
/* Formatted text of its own, never NULL. Free with free(). */
char *fl_format(const char *fmt, ...) __attribute__((format(printf, 1, 2)));
char *fl_vformat(const char *fmt, va_list args) __attribute__((format(printf, 1, 0)));

#define FL_NEW(type, n) ((type *)fl_calloc((n), sizeof(type)))

/* Appends v to the malloc'ed array a with length n and capacity cap. */
#define FL_PUSH(a, n, cap, v)                          \
    do {                                               \
        if ((n) == (cap)) {                            \
            (cap) = (cap) ? 2 * (cap) : 16;            \
            (a) = fl_realloc((a), (cap), sizeof *(a)); \
        }                                              \
        (a)[(n)++] = (v);                              \
    } while (0)

struct fl_arena; /* not thread safe */
struct fl_arena *fl_arena_new(void);
void fl_arena_free(struct fl_arena **arena); /* NULL is fine; clears the pointer */
void *fl_arena_alloc(struct fl_arena *arena, size_t n,
                     size_t size);                   /* zeroed, aligned for any type */
size_t fl_arena_bytes(const struct fl_arena *arena); /* asked of it so far */
char *fl_arena_strdup(struct fl_arena *arena, const char *s);
char *fl_arena_printf(struct fl_arena *arena, const char *fmt, ...)
    __attribute__((format(printf, 2, 3)));

#define FL_ARENA(arena, type, n) ((type *)fl_arena_alloc((arena), (n), sizeof(type)))

#endif
