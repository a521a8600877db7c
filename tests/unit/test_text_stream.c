#include "base/text_stream.h"

#include <stdlib.h>

#include "apart.h"

static void text_comes_out_whole(void **state)
{
    (void)state;
    struct fl_text_stream s;
    FILE *out = fl_text_begin(&s);
    for (int i = 0; i < 100000; i++)
        fprintf(out, "%05d\n", i);
    char *text = fl_text_end(&s);
    assert_int_equal(s.size, 600000);
    assert_int_equal(strlen(text), 600000);
    assert_memory_equal(text + 6 * 98765, "98765\n", 6);
    free(text);
}

static void nothing_written_is_empty_text(void **state)
{
    (void)state;
    struct fl_text_stream s;
    fl_text_begin(&s);
    char *text = fl_text_end(&s);
    assert_string_equal(text, "");
    assert_int_equal(s.size, 0);
    free(text);
}

/* The writes past the end fail one by one, and none of them is looked at. */
static void outgrow(void)
{
    struct fl_text_stream s;
    static char chunk[1 << 16];
    limit_memory();
    FILE *out = fl_text_begin(&s);
    memset(chunk, 'x', sizeof chunk);
    for (size_t n = 0; n < (size_t)4 * APART_MEMORY_MB << 20; n += sizeof chunk)
        fwrite(chunk, 1, sizeof chunk, out);
    free(fl_text_end(&s));
}

static void no_text_is_cut_short(void **state)
{
    (void)state;
    assert_out_of_memory(outgrow);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(text_comes_out_whole),
        cmocka_unit_test(nothing_written_is_empty_text),
        cmocka_unit_test(no_text_is_cut_short),
    };
    return RUN_TESTS(tests);
}
