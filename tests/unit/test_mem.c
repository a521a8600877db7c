#include "base/mem.h"

#include <stdlib.h>
#include <string.h>

#include "apart.h"

static void memory_is_zeroed_and_never_null(void **state)
{
    (void)state;
    const size_t sizes[][2] = {{0, 0}, {0, 8}, {8, 0}, {1, 1}, {1000, 24}};
    for (size_t i = 0; i < sizeof sizes / sizeof *sizes; i++) {
        unsigned char *p = fl_calloc(sizes[i][0], sizes[i][1]);
        assert_non_null(p);
        for (size_t k = 0; k < sizes[i][0] * sizes[i][1]; k++)
            assert_int_equal(p[k], 0);
        free(p);
    }
    void *p = fl_realloc(NULL, 0, 0);
    assert_non_null(p);
    free(p);
}

static void copies_of_text(void **state)
{
    (void)state;
    assert_null(fl_strdup(NULL));
    char *s = fl_strdup("");
    assert_string_equal(s, "");
    free(s);
    s = fl_strdup("tear at row 337");
    assert_string_equal(s, "tear at row 337");
    free(s);
    const char *const cut[] = {"", "t", "tear", "tear"};
    const size_t n[] = {0, 1, 4, 100};
    for (int i = 0; i < 4; i++) {
        s = fl_strndup("tear", n[i]);
        assert_string_equal(s, cut[i]);
        free(s);
    }
    s = fl_format("%s at row %d", "tear", 337);
    assert_string_equal(s, "tear at row 337");
    free(s);
}

static void pushed_values_stay(void **state)
{
    (void)state;
    size_t n = 0, cap = 0;
    int *v = NULL;
    for (int i = 0; i < 10000; i++) {
        FL_PUSH(v, n, cap, i * 7);
        assert_true(n <= cap);
    }
    assert_int_equal(n, 10000);
    for (int i = 0; i < 10000; i++)
        assert_int_equal(v[i], i * 7);
    free(v);
}

/* ISO C11 7.22.3: memory from an allocator suits any type. */
static void arena_is_zeroed_and_aligned(void **state)
{
    (void)state;
    struct fl_arena *a = fl_arena_new();
    for (size_t n = 0; n < 100; n++) {
        unsigned char *p = fl_arena_alloc(a, n, 3);
        assert_int_equal((uintptr_t)p % _Alignof(max_align_t), 0);
        for (size_t k = 0; k < 3 * n; k++)
            assert_int_equal(p[k], 0);
        memset(p, 0xa5, 3 * n); /* must not show in the next one */
    }
    double *d = FL_ARENA(a, double, 5);
    assert_true(d[4] == 0);
    fl_arena_free(&a);
    assert_null(a);
    fl_arena_free(&a); /* harmless */
}

static void arena_text(void **state)
{
    (void)state;
    struct fl_arena *a = fl_arena_new();
    assert_null(fl_arena_strdup(a, NULL));
    assert_int_equal(fl_arena_bytes(a), 0);
    assert_string_equal(fl_arena_strdup(a, "on"), "on");
    assert_int_equal(fl_arena_bytes(a), 3);
    assert_string_equal(fl_arena_printf(a, "%s", ""), "");
    assert_string_equal(fl_arena_printf(a, "%d of %d, %.2f s", 3, 7, 0.125), "3 of 7, 0.12 s");
    char wide[5001];
    memset(wide, 'x', sizeof wide - 1);
    wide[5000] = 0;
    char *s = fl_arena_printf(a, "<%s|%s>", wide, wide);
    assert_int_equal(strlen(s), 10003);
    assert_true(s[0] == '<' && s[5001] == '|' && s[10002] == '>');
    fl_arena_free(&a);
}

static void arena_overflows(void)
{
    fl_arena_alloc(fl_arena_new(), SIZE_MAX / 2, 8);
}

static void calloc_overflows(void)
{
    fl_calloc(SIZE_MAX / 2, 8);
}

static void realloc_overflows(void)
{
    fl_realloc(NULL, SIZE_MAX / 2, 8);
}

static void format_outgrows(void)
{
    limit_memory();
    free(fl_format("%*d", 2 * APART_MEMORY_MB << 20, 1));
}

/* As when a library has taken what there was; the sanitizers' memory has no limit. */
static void needs_what_is_gone(void)
{
    fl_need_memory(); /* passes */
    limit_memory();
#ifndef APART_SANITIZED
    for (size_t size = 1 << 20; size >= 64; size /= 2) {
        void *volatile taken = NULL; /* volatile: or compilers leave it out */
        do
            taken = malloc(size);
        while (taken);
    }
    fl_need_memory();
#endif
    fl_out_of_memory();
}

static void out_of_memory_ends_with_one_line(void **state)
{
    (void)state;
    void (*const all[])(void) = {arena_overflows, calloc_overflows, realloc_overflows,
                                 format_outgrows, needs_what_is_gone};
    for (size_t i = 0; i < sizeof all / sizeof *all; i++)
        assert_out_of_memory(all[i]);
}

static void last_words(void)
{
    _exit(7);
}

static void with_last_words(void)
{
    fl_on_out_of_memory(last_words);
    calloc_overflows();
}

/* A program may end in its own way, after the same line. */
static void last_words_have_the_last_word(void **state)
{
    (void)state;
    char text[8192];
    const int status = run_apart(with_last_words, text, sizeof text);
    assert_true(WIFEXITED(status) && WEXITSTATUS(status) == 7);
    assert_non_null(strstr(text, "flinch: out of memory"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(memory_is_zeroed_and_never_null),
        cmocka_unit_test(copies_of_text),
        cmocka_unit_test(pushed_values_stay),
        cmocka_unit_test(arena_is_zeroed_and_aligned),
        cmocka_unit_test(arena_text),
        cmocka_unit_test(out_of_memory_ends_with_one_line),
        cmocka_unit_test(last_words_have_the_last_word),
    };
    return RUN_TESTS(tests);
}
