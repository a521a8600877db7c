/* Allocation by the C library, checked in this one place. */
#include "base/mem.h"

#include <assert.h>
#include <stdatomic.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static _Atomic(fl_last_words) last_words;

void fl_on_out_of_memory(fl_last_words last)
{
    atomic_store(&last_words, last);
}

void fl_out_of_memory(void)
{
    static const char text[] =
        "flinch: out of memory: close other programs or measure fewer takes at once\n";
    static atomic_flag told = ATOMIC_FLAG_INIT;
    const fl_last_words last = atomic_load(&last_words);
    /* Threads run out together; stdio may want memory. */
    if (!atomic_flag_test_and_set(&told) && write(STDERR_FILENO, text, sizeof text - 1) < 0) {
        /* nobody is left to be told */
    }
    if (last)
        last();
    abort();
}

void *fl_calloc(size_t n, size_t size)
{
    void *p = calloc(n ? n : 1, size ? size : 1);
    if (!p)
        fl_out_of_memory();
    return p;
}

void fl_need_memory(void)
{
    enum { A_LITTLE = 1 << 16 };
    void *volatile p = fl_calloc(1, A_LITTLE); /* volatile: or compilers leave it out */
    free(p);
}

void *fl_realloc(void *p, size_t n, size_t size)
{
    if (size && n > SIZE_MAX / size)
        fl_out_of_memory();
    p = realloc(p, n && size ? n * size : 1);
    if (!p)
        fl_out_of_memory();
    return p;
}

char *fl_strdup(const char *s)
{
    if (!s)
        return NULL;
    size_t n = strlen(s) + 1;
    return memcpy(fl_calloc(n, 1), s, n);
}

char *fl_strndup(const char *s, size_t n)
{
    n = strnlen(s, n);
    return memcpy(fl_calloc(n + 1, 1), s, n);
}

char *fl_vformat(const char *fmt, va_list args)
{
    char *text;
    if (vasprintf(&text, fmt, args) <
        0) /* formats that the compiler has checked fail no other way */
        fl_out_of_memory();
    return text;
}

char *fl_format(const char *fmt, ...)
{
    va_list args;
    va_start(args, fmt);
    char *text = fl_vformat(fmt, args);
    va_end(args);
    return text;
}

/* Each allocation is a block of its own, so that the address sanitizer sees every overrun. */
struct block {
    struct block *next;
    max_align_t data[];
};

struct fl_arena {
    struct block *blocks;
    size_t bytes;
};

struct fl_arena *fl_arena_new(void)
{
    return FL_NEW(struct fl_arena, 1);
}

void fl_arena_free(struct fl_arena **arena)
{
    if (!*arena)
        return;
    for (struct block *b = (*arena)->blocks, *next; b; b = next) {
        next = b->next;
        free(b);
    }
    free(*arena);
    *arena = NULL;
}

void *fl_arena_alloc(struct fl_arena *arena, size_t n, size_t size)
{
    assert(arena);
    if (size && n > (SIZE_MAX - sizeof(struct block)) / size)
        fl_out_of_memory();
    struct block *b = fl_calloc(1, sizeof *b + n * size);
    b->next = arena->blocks;
    arena->blocks = b;
    arena->bytes += n * size;
    return b->data;
}

size_t fl_arena_bytes(const struct fl_arena *arena)
{
    return arena->bytes;
}

char *fl_arena_strdup(struct fl_arena *arena, const char *s)
{
    if (!s)
        return NULL;
    size_t n = strlen(s) + 1;
    return memcpy(fl_arena_alloc(arena, n, 1), s, n);
}

char *fl_arena_printf(struct fl_arena *arena, const char *fmt, ...)
{
    va_list args;
    va_start(args, fmt);
    char *text = fl_vformat(fmt, args), *kept = fl_arena_strdup(arena, text);
    va_end(args);
    free(text);
    return kept;
}
