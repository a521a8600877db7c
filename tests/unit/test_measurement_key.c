/* A stored take is used again only when all that changes its figures is as it was. */
#include <stdlib.h>
#include <string.h>

#include "batch.h"
#include "test.h"

static struct fl_take_spec plain(void)
{
    struct fl_take_spec s;
    fl_take_spec_init(&s);
    s.id = "a";
    s.game = "Glass Canyon";
    s.footage = "a.mkv";
    return s;
}

static bool same_key(const struct fl_take_spec *a, const struct fl_take_spec *b)
{
    const struct fl_run_settings settings = {0};
    char *p = fl_measurement_key(a, &settings), *q = fl_measurement_key(b, &settings);
    bool same = !strcmp(p, q);
    free(p);
    free(q);
    return same;
}

/* Says something else under the key than nothing or what plain() says. */
static void change(struct fl_take_spec *s, const struct fl_take_key *key)
{
    static const char *const names[] = {"driver"}, *const values[] = {"552"};
    static const struct fl_span span = {1, 2};
    static struct fl_trace_columns named;
    const struct fl_trace_columns *columns = &named;
    const char *text = "2026-11-03";
    double number = key->low + (key->high - key->low) / 8;
    char *at = (char *)s + key->offset;
    switch (key->kind) {
    case FL_KEY_NUMBER:
    case FL_KEY_TURN: memcpy(at, &number, sizeof number); break;
    case FL_KEY_CHOICE: *(bool *)at = true; break;
    case FL_KEY_SPANS:
        s->use = &span;
        s->n_use = 1;
        break;
    case FL_KEY_COLUMNS:
        strcpy(named.named[0], "stamp");
        memcpy(at, &columns, sizeof columns);
        break;
    case FL_KEY_NOTES:
        s->note_keys = names;
        s->note_values = values;
        s->n_notes = 1;
        break;
    default: memcpy(at, &text, sizeof text); break;
    }
}

static void only_labels_leave_it_alone(void **state)
{
    (void)state;
    const struct fl_take_spec before = plain();
    assert_true(same_key(&before, &before));
    for (int i = 0; i < FL_TAKE_KEYS; i++) {
        struct fl_take_spec after = before;
        change(&after, &fl_take_keys[i]);
        if (same_key(&before, &after) != fl_take_keys[i].label)
            fail_msg("%s", fl_take_keys[i].name);
    }
}

/* What says how a take is called is a label, what says how it was made is not. */
static void labels_are_what_people_call_a_take(void **state)
{
    (void)state;
    static const char *const labels[] = {"game", "condition", "play", "recorded_at", "notes"};
    size_t n = 0;
    for (int i = 0; i < FL_TAKE_KEYS; i++)
        n += fl_take_keys[i].label;
    assert_int_equal(n, sizeof labels / sizeof *labels);
    for (size_t i = 0; i < n; i++)
        assert_true(fl_take_key(labels[i])->label);
}

static void a_part_of_the_footage_is_another_measurement(void **state)
{
    (void)state;
    const struct fl_take_spec s = plain();
    const struct fl_run_settings whole = {0}, part = {.stop_after_s = 5};
    char *a = fl_measurement_key(&s, &whole), *b = fl_measurement_key(&s, &part);
    assert_string_not_equal(a, b);
    free(a);
    free(b);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(only_labels_leave_it_alone),
        cmocka_unit_test(labels_are_what_people_call_a_take),
        cmocka_unit_test(a_part_of_the_footage_is_another_measurement),
    };
    return RUN_TESTS(tests);
}
