/* Work in equal independent parts, done side by side. */
#ifndef FL_BASE_PARALLEL_H
#define FL_BASE_PARALLEL_H

#include <stddef.h>

/* Calls job(ctx, i) once for each i below n, on up to `threads` threads, the caller's own among
 * them (0: one a core), and returns when all are done. Parts start in order and may end in any; a
 * part must write only what no other reads. Where no thread can be started the caller does it all.
 */
void fl_parallel(size_t n, int threads, void (*job)(void *ctx, size_t i), void *ctx);

#endif
