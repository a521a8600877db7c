/* A function that may end the process, run in a child. */
#ifndef FL_TEST_APART_H
#define FL_TEST_APART_H

#include <signal.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include "test.h"

/* The child may not have more than this at once: the sanitizer's own limit where it is built in. */
enum { APART_MEMORY_MB = 64 };
#if defined __SANITIZE_ADDRESS__
#define APART_SANITIZED 1
#elif defined __has_feature
#if __has_feature(address_sanitizer)
#define APART_SANITIZED 1
#endif
#endif

/* The sanitizer's own end would hide that flinch ends by itself. */
const char *__asan_default_options(void);
const char *__asan_default_options(void)
{
    return "allocator_may_return_null=1:max_allocation_size_mb=64";
}

static inline void limit_memory(void)
{
#ifndef APART_SANITIZED
    const rlim_t bytes = (rlim_t)APART_MEMORY_MB << 20;
    setrlimit(RLIMIT_AS, &(struct rlimit){bytes, bytes});
#endif
}

/* Runs f in a child; returns its wait status and what it wrote to stderr. */
static inline int run_apart(void (*f)(void), char *text, size_t size)
{
    int pipes[2], status;
    assert_int_equal(pipe(pipes), 0);
    pid_t pid = fork();
    assert_true(pid >= 0);
    if (pid == 0) {
        struct rlimit none = {0, 0};
        setrlimit(RLIMIT_CORE, &none);
        signal(SIGABRT, SIG_DFL); /* cmocka's own handler would report a failed test */
        dup2(pipes[1], 2);
        f();
        _exit(0);
    }
    close(pipes[1]);
    size_t n = 0;
    for (ssize_t got; n < size - 1 && (got = read(pipes[0], text + n, size - 1 - n)) > 0;)
        n += (size_t)got;
    text[n] = 0;
    close(pipes[0]);
    assert_int_equal(waitpid(pid, &status, 0), pid);
    return status;
}

/* f ends the process by itself, and says why in one line. */
static inline void assert_out_of_memory(void (*f)(void))
{
    char text[8192];
    int status = run_apart(f, text, sizeof text);
    assert_true(WIFSIGNALED(status) && WTERMSIG(status) == SIGABRT);
    const char *line = strstr(text, "flinch: out of memory");
    assert_non_null(line);
    assert_true(strchr(line, '\n') && !strstr(line + 1, "flinch:"));
}

#endif
