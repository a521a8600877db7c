/* The pages of an audit. */
#include "show/page/audit_page.h"

#include <stdlib.h>
#include <string.h>

#include "audit_take.h"
#include "test.h"

enum { N = 2 };

static struct fl_session *session(const char *name, bool other)
{
    struct audit_stretch v[] = {{2, FL_STATE_ON}, {4, FL_STATE_OFF}, {6, FL_STATE_ON}};
    for (int i = 0; i < 3 && other; i++)
        v[i].state = v[i].state == FL_STATE_ON ? FL_STATE_OFF : FL_STATE_ON;
    struct fl_session *s = fl_session_new(name);
    fl_session_add(s, audit_take("take-a", v, 3, 100));
    fl_session_add(s, audit_take("take-b", v, 3, 100));
    s->takes[0]->key = "11aa";
    s->takes[1]->key = "22bb";
    return s;
}

static char *page_of(const struct fl_session *s)
{
    static uint8_t png[] = {1, 2, 3};
    const struct fl_audit_moment m[N] = {{1, 300, FL_STRATUM_OFF}, {0, 100, FL_STRATUM_ON}};
    const struct fl_audit_picture p[N] = {
        {.first = 292, .n = 17, .at = 8, .width = 200, .height = 112, .png = png, .size = 3},
        {.first = 92, .n = 17, .at = 8, .width = 200, .height = 112, .png = png, .size = 3}};
    char *text = NULL;
    size_t size;
    FILE *out = open_memstream(&text, &size);
    fl_audit_page_write(out, s, m, p, N, 7);
    fclose(out);
    return text;
}

/* Measured the other way round, the page is the same to the byte. */
static void nothing_says_what_was_measured(void **state)
{
    (void)state;
    struct fl_session *s = session("S", false), *t = session("S", true);
    char *a = page_of(s), *b = page_of(t);
    assert_string_equal(a, b);
    assert_non_null(strstr(a, "\"time_s\":3.0"));
    assert_non_null(strstr(a, "\"key\":\"22bb\""));
    assert_null(strstr(a, "take-b</"));
    free(a);
    free(b);
    fl_session_free(&s);
    fl_session_free(&t);
}

static size_t count(const char *text, const char *what)
{
    size_t n = 0;
    for (const char *at = text; (at = strstr(at, what)); at++)
        n++;
    return n;
}

static void every_frame_has_its_cells(void **state)
{
    (void)state;
    struct fl_session *s = session("S", false);
    s->takes[0]->time_s[95] += 0.008; /* 18 ms after frame 94, where 10 are usual */
    char *a = page_of(s);
    assert_int_equal(count(a, "<div class=\"cell"), 2 * 17);
    assert_int_equal(count(a, "<div class=\"cell asked"), 2);
    assert_int_equal(count(a, "<i style"), 4 * 17);
    assert_int_equal(count(a, "a frame was lost here"), 1);
    assert_int_equal(count(a, "data:image/png;base64,AQID"), 2); /* RFC 4648 of 1, 2, 3 */
    free(a);
    fl_session_free(&s);
}

static void names_are_text(void **state)
{
    (void)state;
    struct fl_session *s = session("</title><script>x()</script>", false);
    s->takes[1]->spec.id = "</script><script>y()</script>";
    char *a = page_of(s);
    assert_null(strstr(a, "<script>x"));
    assert_null(strstr(a, "<script>y"));
    assert_int_equal(count(a, "</script>"), 3); /* early, what is asked, the page's own */
    free(a);
    fl_session_free(&s);
}

static void differences_have_both_labels(void **state)
{
    (void)state;
    static uint8_t png[] = {1, 2, 3};
    struct fl_session *s = session("S", false);
    struct fl_eye_difference d = {1, "take-b", 300, 3, FL_STATE_OFF, FL_EYE_ON, FL_STRATUM_EDGE};
    const struct fl_eye_check c = {.difference = &d, .n_differences = 1, .text = "1 of 2 agree"};
    const struct fl_audit_picture p = {
        .first = 292, .n = 17, .at = 8, .width = 200, .height = 112, .png = png, .size = 3};
    char *text = NULL;
    size_t size;
    FILE *out = open_memstream(&text, &size);
    fl_differences_page_write(out, s, &c, &p);
    fclose(out);
    assert_non_null(strstr(text, "<bdi>take-b</bdi>, 3.000 s"));
    assert_non_null(strstr(text, "Measured: <strong>off</strong>. By eye: <strong>on</strong>."));
    assert_non_null(strstr(text, "near edges"));
    assert_non_null(strstr(text, "Checked by eye: 1 of 2 agree."));
    assert_null(strstr(text, "<script"));
    free(text);
    fl_session_free(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(nothing_says_what_was_measured),
                                       cmocka_unit_test(every_frame_has_its_cells),
                                       cmocka_unit_test(names_are_text),
                                       cmocka_unit_test(differences_have_both_labels)};
    return RUN_TESTS(tests);
}
