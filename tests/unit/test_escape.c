#include "show/text/escape.h"

#include <stdlib.h>
#include <string.h>

#include "base/figure.h"
#include "test.h"

static void markup_is(const char *in, const char *want)
{
    char *got = NULL;
    size_t size;
    FILE *out = open_memstream(&got, &size);
    fl_put_markup(out, in);
    fclose(out);
    assert_string_equal(got, want);
    free(got);
}

/* Characters that HTML 5 and XML 1.0 give a meaning, and bytes that are no UTF-8 (RFC 3629). */
static void markup_cannot_be_broken_out_of(void **state)
{
    (void)state;
    markup_is("a<b>\"c\"&'d'", "a&lt;b&gt;&quot;c&quot;&amp;&#39;d&#39;");
    markup_is("été 日本 😀", "été 日本 😀");
    markup_is("x\x01\x1b\ty", "x\xef\xbf\xbd\xef\xbf\xbd\xef\xbf\xbdy");
    markup_is(
        "\xc0\x80|\xed\xa0\x80|\xff|\xe2\x82", /* overlong, surrogate, no lead byte, cut off */
        "\xef\xbf\xbd\xef\xbf\xbd|\xef\xbf\xbd\xef\xbf\xbd\xef\xbf\xbd|\xef\xbf\xbd|"
        "\xef\xbf\xbd\xef\xbf\xbd");
    markup_is("\xef\xbf\xbf\xc2\x85",
              "\xef\xbf\xbd\xef\xbf\xbd"); /* U+FFFF is not allowed in XML 1.0 */
    /* Unicode Standard Annex 9, table 4: explicit directional embeddings, overrides and isolates.
     */
    markup_is("a\xe2\x80\xae"
              "b\xe2\x81\xa6"
              "c\xe2\x80\xa9",
              "a\xef\xbf\xbd"
              "b\xef\xbf\xbd"
              "c\xe2\x80\xa9");
    markup_is(NULL, "");
}

static void csv_is(const char *in, const char *want)
{
    char *got = NULL;
    size_t size;
    FILE *out = open_memstream(&got, &size);
    fl_put_csv(out, in);
    fclose(out);
    assert_string_equal(got, want);
    free(got);
}

/* RFC 4180, section 2, rules 5 to 7; leading formula characters as OWASP, "CSV Injection". */
static void csv_cells_are_quoted_where_needed(void **state)
{
    (void)state;
    csv_is("plain text", "plain text");
    csv_is("a,b", "\"a,b\"");
    csv_is("say \"hi\"", "\"say \"\"hi\"\"\"");
    csv_is("two\nlines", "\"two\nlines\"");
    csv_is("=1+2", "\"'=1+2\"");
    csv_is("@x", "\"'@x\"");
    csv_is("a\u202eb\u2069", "a\ufffdb\ufffd");           /* Unicode Annex 9: overrides, isolates */
    csv_is("\u05d0\u05d1 \u200f", "\u05d0\u05d1 \u200f"); /* letters and marks stay */
    csv_is(NULL, "");
}

static void slug_is(const char *in, const char *want)
{
    char *got = fl_slug(in);
    assert_string_equal(got, want);
    free(got);
}

static void slugs_are_safe_and_apart(void **state)
{
    (void)state;
    slug_is("Glass Canyon", "glass-canyon");
    slug_is("../../etc/passwd", "etc-passwd");
    slug_is("  A--b  ", "a-b");
    char *a = fl_slug("硝子の谷"), *b = fl_slug("灰の港"), *c = fl_slug("");
    assert_string_not_equal(a, b);
    assert_true(strlen(c) > 0);
    char longer[1000];
    memset(longer, 'x', sizeof longer);
    longer[sizeof longer - 1] = 0;
    char *d = fl_slug(longer);
    assert_true(strlen(d) <= 64);
    assert_int_equal(strspn(d, "abcdefghijklmnopqrstuvwxyz0123456789-"), strlen(d));
    free(a);
    free(b);
    free(c);
    free(d);
}

static void figures_are_rounded_to_what_is_known(void **state)
{
    (void)state;
    char buf[FL_FIGURE_SIZE];
    assert_true(fl_round_digits(123456.789, 3) == 123000);
    assert_true(fl_round_digits(-0.00123456, 2) == -0.0012);
    assert_true(fl_round_decimals(1.23456789, 6) == 1.234568);
    assert_true(isnan(fl_round_digits(NAN, 3)) && isinf(fl_round_decimals(INFINITY, 3)));
    assert_string_equal(fl_figure(buf, 0.0999), "0.100");
    assert_string_equal(fl_figure(buf, 9.996), "10.0");
    assert_string_equal(fl_figure(buf, 12345), "12300");
    assert_string_equal(fl_figure(buf, NAN), "–");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(markup_cannot_be_broken_out_of),
        cmocka_unit_test(csv_cells_are_quoted_where_needed),
        cmocka_unit_test(slugs_are_safe_and_apart),
        cmocka_unit_test(figures_are_rounded_to_what_is_known),
    };
    return RUN_TESTS(tests);
}
