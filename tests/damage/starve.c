/* Preloaded into a program, it lets memory run out: the allocation of number STARVE_FROM fails, and
 * from then on STARVE_FOR of them (all, if that is not set). With STARVE_COUNT instead, a file of
 * that name holds at the end how many allocations there were.
 *
 * Only calls by flinch and by the libraries that read and write files for it count. Those that draw
 * are known to end a process by themselves where they find no memory (GLib reference, "Memory
 * allocation"), or to crash; flinch asks for their room beforehand.
 *
 * Stands in for the C library's functions and calls those by the names under which glibc keeps them
 * (GNU C library manual, "Replacing malloc"). */
#include <dlfcn.h>
#include <errno.h>
#include <malloc.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

void *__libc_malloc(size_t size);
void *__libc_calloc(size_t n, size_t size);
void *__libc_realloc(void *p, size_t size);
void *__libc_memalign(size_t alignment, size_t size);

static atomic_long calls;
static int ready;
static long from = -1, how_many = -1;

__attribute__((constructor)) static void begin(void)
{
    const char *at = getenv("STARVE_FROM"), *n = getenv("STARVE_FOR");
    how_many = n ? atol(n) : -1;
    from = at ? atol(at) : -1;
    ready = 1;
}

__attribute__((destructor)) static void end(void)
{
    const char *path = getenv("STARVE_COUNT");
    FILE *out = path ? fopen(path, "w") : NULL;
    if (out) {
        fprintf(out, "%ld\n", atomic_load(&calls));
        fclose(out);
    }
}

/* Whoever called, by the file that its code lies in. */
static int counts(const void *caller)
{
    static const char *const files[] = {"flinch",     "libflinch", "libav",  "libsw",  "libyaml",
                                        "libjansson", "libsnd",    "libgsl", "libz.so"};
    Dl_info where;
    if (!dladdr(caller, &where) || !where.dli_fname)
        return 0;
    const char *slash = strrchr(where.dli_fname, '/'), *name = slash ? slash + 1 : where.dli_fname;
    for (size_t i = 0; i < sizeof files / sizeof *files; i++)
        if (!strncmp(name, files[i], strlen(files[i])))
            return 1;
    return 0;
}

static int starved(const void *caller)
{
    if (!ready || !counts(caller))
        return 0;
    const long call = atomic_fetch_add(&calls, 1);
    if (from < 0 || call < from || (how_many >= 0 && call >= from + how_many))
        return 0;
    errno = ENOMEM;
    return 1;
}

void *malloc(size_t size)
{
    return starved(__builtin_return_address(0)) ? NULL : __libc_malloc(size);
}

void *calloc(size_t n, size_t size)
{
    return starved(__builtin_return_address(0)) ? NULL : __libc_calloc(n, size);
}

void *realloc(void *p, size_t size)
{
    return starved(__builtin_return_address(0)) ? NULL : __libc_realloc(p, size);
}

void *memalign(size_t alignment, size_t size)
{
    return starved(__builtin_return_address(0)) ? NULL : __libc_memalign(alignment, size);
}

void *aligned_alloc(size_t alignment, size_t size)
{
    return starved(__builtin_return_address(0)) ? NULL : __libc_memalign(alignment, size);
}

int posix_memalign(void **out, size_t alignment, size_t size)
{
    void *p = starved(__builtin_return_address(0)) ? NULL : __libc_memalign(alignment, size);
    if (p)
        *out = p;
    return p ? 0 : ENOMEM;
}
