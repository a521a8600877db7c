#include "show/store/fields.h"

#include <string.h>

#include "show/store/field_schema.h"
#include "test.h"

/* A structure with a member of every kind. */
struct part {
    double at_s;
    const char *name;
};
struct sample {
    double time_s, figure, five, given;
    float narrow;
    int whole;
    int none, some;
    long long_whole;
    size_t size;
    bool flag;
    enum fl_answer answer;
    const char *text, *path;
    char chars[12];
    enum fl_state word;
    unsigned words;
    struct part object, part;
    struct part *list;
    size_t n_list;
    double *values;
    int n_values;
    double pair[2];
    double peak[FL_QUANTITIES];
    const struct part *other;
    double added;
    int added_whole;
    double added_share;
    const char *added_text;
};

static const char *word(int i)
{
    static const char *const words[] = {"unseen", "on", "off", NULL};
    return words[i];
}

static json_t *twice(const void *at)
{
    const struct sample *s = at;
    return json_integer(2 * s->whole);
}

static const struct fl_range low = {2, 9};

#define AT(member, kind) FL_AT(part, member, kind)
static const struct fl_field part_fields[] = {
    {"at_s", AT(at_s, TIME), .meaning = "When."},
    {"name", AT(name, TEXT), FL_OR_NULL, .meaning = "Which."},
    {0},
};
static const struct fl_field inline_fields[] = {
    {"inline_s", AT(at_s, TIME), .meaning = "When."},
    {0},
};
#undef AT
#define AT(member, kind) FL_AT(sample, member, kind)
static const struct fl_field fields[] = {
    {"time_s", AT(time_s, TIME), .meaning = "A time."},
    {"figure", AT(figure, FIGURE), FL_OR_NULL, .meaning = "A figure."},
    {"five", AT(five, FIGURE5), FL_OR_NULL, .meaning = "A figure."},
    {"given", AT(given, GIVEN), FL_OR_NULL, .meaning = "A figure."},
    {"narrow", AT(narrow, FIGURE), FL_OR_NULL, .meaning = "A figure."},
    {"whole", AT(whole, WHOLE), .range = &low, .meaning = "A number."},
    {"none", AT(none, WHOLE), FL_OR_NULL, .meaning = "A number."},
    {"some", AT(some, WHOLE), FL_OR_NULL, .meaning = "A number."},
    {"long", AT(long_whole, WHOLE), .meaning = "A number."},
    {"size", AT(size, WHOLE), FL_FROM_ZERO, .meaning = "A number."},
    {"flag", AT(flag, BOOL), .meaning = "Yes or no."},
    {"answer", AT(answer, ANSWER), FL_OR_NULL, .meaning = "Yes, no or who knows."},
    {"text", AT(text, TEXT), .meaning = "A text."},
    {"path", AT(path, PATH), FL_OR_NULL, .meaning = "A file."},
    {"chars", AT(chars, CHARS), FL_OR_NULL, .meaning = "A text."},
    {"word", AT(word, WORD), .word = word, .meaning = "A word."},
    {"words", AT(words, WORDS), .word = word, .meaning = "Words."},
    {"object", AT(object, OBJECT), .fields = part_fields, .meaning = "An object."},
    {"", AT(part, PART), .fields = inline_fields},
    {"list", FL_LIST_AT(sample, list, n_list), .fields = part_fields, .item_meaning = "A part.",
     .meaning = "Parts."},
    {"values", FL_LIST_AT(sample, values, n_values), .item = &fl_time_item, .meaning = "Times."},
    {"pair", AT(pair, PAIR), .item = &fl_time_item, .meaning = "Two times."},
    {"peak", AT(peak, QUANTITIES), .meaning = "Peak"},
    {"twice", FL_FIELD_WHOLE, .make = twice, .meaning = "Twice the number."},
    {"other_s", FL_AT(part, at_s, TIME), FL_THROUGH(sample, other), FL_OR_NULL,
     .meaning = "Of another."},
    {"added", AT(added, FIGURE), FL_OR_NULL, FL_OLDER_LACK_IT(0), .meaning = "A later figure."},
    {"added_whole", AT(added_whole, WHOLE), FL_OLDER_LACK_IT(7), .meaning = "A later number."},
    {"added_share", AT(added_share, FIGURE), FL_SHARE, FL_OLDER_LACK_IT(1),
     .meaning = "A later figure that is never null."},
    {"added_text", AT(added_text, TEXT), FL_OR_NULL, FL_OLDER_LACK_IT(0),
     .meaning = "A later text."},
    {0},
};
#undef AT
static const struct fl_document document = {"sample",        "A sample", "All kinds.",
                                            "flinch-sample", 3,          fields};

static struct part parts[] = {{1.5, "a"}, {FL_PI, NULL}};
static double values[] = {0.25, 1e-7, 3};

static struct sample filled(void)
{
    return (struct sample){
        .time_s = 1.23456789,
        .figure = FL_PI,
        .five = FL_PI,
        .given = 0.1,
        .narrow = 0.2f,
        .whole = 3,
        .none = 0,
        .some = 4,
        .long_whole = -5000000000,
        .size = 6,
        .flag = true,
        .answer = FL_YES,
        .text = "a \"text\"",
        .path = "folder/file.mkv",
        .chars = "short",
        .word = FL_STATE_OFF,
        .words = 5,
        .object = {FL_PI, "b"},
        .part = {2, NULL},
        .list = parts,
        .n_list = 2,
        .values = values,
        .n_values = 3,
        .pair = {0.5, FL_UNKNOWN},
        .peak = {[FL_CAMERA_SPEED] = FL_PI, [FL_STICK_RATE] = FL_UNKNOWN},
        .added = 4,
        .added_whole = 5,
        .added_share = 0.5,
        .added_text = "later",
    };
}

static char *printed(const struct sample *s)
{
    json_t *o = fl_document_json(&document, s);
    char *text = json_dumps(o, JSON_COMPACT | JSON_REAL_PRECISION(15));
    json_decref(o);
    return text;
}

/* By hand from the table; π to 5 and 7 digits and to 6 decimals, from memory. */
static void every_kind_is_written(void **state)
{
    (void)state;
    struct sample s = filled();
    char *text = printed(&s);
    assert_string_equal(
        text, "{\"format\":\"flinch-sample\",\"version\":3,\"time_s\":1.234568,\"figure\":3.141593,"
              "\"five\":3.1416,\"given\":0.1,\"narrow\":0.2,\"whole\":3,\"none\":null,\"some\":4,"
              "\"long\":-5000000000,"
              "\"size\":6,\"flag\":true,\"answer\":true,\"text\":\"a \\\"text\\\"\","
              "\"path\":\"file.mkv\",\"chars\":\"short\",\"word\":\"off\","
              "\"words\":[\"unseen\",\"off\"],\"object\":{\"at_s\":3.141593,\"name\":\"b\"},"
              "\"inline_s\":2.0,"
              "\"list\":[{\"at_s\":1.5,\"name\":\"a\"},{\"at_s\":3.141593,\"name\":null}],"
              "\"values\":[0.25,0.0,3.0],\"pair\":[0.5,null],\"peak_count_rate_counts_s\":0.0,"
              "\"peak_hand_speed_cm_s\":0.0,\"peak_camera_speed_deg_s\":3.141593,"
              "\"peak_image_step_px\":0.0,\"peak_image_change_share\":0.0,"
              "\"peak_stick_deflection_share\":0.0,\"peak_stick_rate_per_s\":null,\"twice\":6,"
              "\"other_s\":null,\"added\":4.0,\"added_whole\":5,\"added_share\":0.5,\"added_text\":"
              "\"later\"}");
    free(text);
    s.other = &parts[0];
    text = printed(&s);
    assert_non_null(strstr(text, "\"other_s\":1.5,"));
    free(text);
}

/* Reads text, with `from` replaced by `to`, into s. */
static struct fl_reader read_back(struct sample *s, const char *text, const char *from,
                                  const char *to)
{
    const char *at = from ? strstr(text, from) : text;
    assert_non_null(at);
    char *changed = NULL;
    assert_true(asprintf(&changed, "%.*s%s%s", (int)(at - text), text, from ? to : "",
                         at + (from ? strlen(from) : 0)) > 0);
    json_t *o = json_loads(changed, 0, NULL);
    assert_non_null(o);
    struct fl_reader r = {.arena = fl_arena_new()};
    *s = (struct sample){.added_whole = 1};
    fl_document_check(&r, o, &document);
    fl_fields_read(&r, o, s, fields);
    json_decref(o);
    free(changed);
    return r;
}

static void every_kind_comes_back(void **state)
{
    (void)state;
    struct sample s = filled(), back;
    char *before = printed(&s);
    struct fl_reader r = read_back(&back, before, NULL, NULL);
    assert_false(r.bad);
    char *after = printed(&back);
    assert_string_equal(before, after);
    assert_string_equal(back.path, "file.mkv");
    free(before);
    free(after);
    fl_arena_free(&r.arena);
}

static void rounding_is_what_writing_does(void **state)
{
    (void)state;
    struct sample s = filled();
    double kept[3] = {values[0], values[1], values[2]};
    struct part was = parts[1];
    char *before = printed(&s);
    fl_fields_round(&s, fields);
    char *after = printed(&s);
    assert_string_equal(before, after);
    assert_true(s.time_s == 1.234568 && s.figure == 3.141593 && s.object.at_s == 3.141593);
    assert_true(s.list[1].at_s == 3.141593 && s.values[1] == 0 && s.given == 0.1);
    memcpy(values, kept, sizeof kept);
    parts[1] = was;
    free(before);
    free(after);
}

static void what_older_files_lack_has_a_default(void **state)
{
    (void)state;
    struct sample s = filled(), back;
    char *text = printed(&s);
    struct fl_reader r = read_back(
        &back, text,
        ",\"added\":4.0,\"added_whole\":5,\"added_share\":0.5,\"added_text\":\"later\"", "");
    assert_false(r.bad);
    assert_true(isnan(back.added));
    assert_int_equal(back.added_whole, 7);
    assert_true(back.added_share == 1);
    assert_null(back.added_text);
    free(text);
    fl_arena_free(&r.arena);
}

static void faults_are_named(void **state)
{
    (void)state;
    static const struct {
        const char *from, *to, *what;
    } faults[] = {
        {"\"time_s\":1.234568", "\"time_s\":null", "\"time_s\" is null"},
        {"\"time_s\":1.234568", "\"time\":1", "\"time_s\" is missing"},
        {"\"figure\":3.141593", "\"figure\":\"x\"", "\"figure\" is not a number"},
        {"\"whole\":3", "\"whole\":3.5", "\"whole\" is not a whole number"},
        {"\"whole\":3", "\"whole\":1", "\"whole\" is below 2"},
        {"\"size\":6", "\"size\":-6", "\"size\" is below 0"},
        {"\"flag\":true", "\"flag\":1", "\"flag\" has the wrong type"},
        {"\"answer\":true", "\"answer\":\"yes\"", "\"answer\" is none of true, false, null"},
        {"\"text\":\"a", "\"text\":null,\"x\":\"a", "\"text\" is null"},
        {"\"word\":\"off\"", "\"word\":\"maybe\"", "\"word\" is none of unseen, on, off"},
        {"[\"unseen\",\"off\"]", "[\"maybe\"]", "\"words\" is none of unseen, on, off"},
        {"\"object\":{\"at_s\":3.141593,\"name\":\"b\"}", "\"object\":[]",
         "\"object\" has the wrong type"},
        {"\"list\":[{\"at_s\":1.5", "\"list\":[{\"x\":1.5", "\"at_s\" is missing"},
        {"[0.25,0.0,3.0]", "{}", "\"values\" has the wrong type"},
        {"[0.5,null]", "[0.5]", "\"pair\" has the wrong type"},
        {"\"peak_hand_speed_cm_s\":0.0,", "", "\"peak_hand_speed_cm_s\" is missing"},
        {"\"version\":3", "\"version\":4", "\"version\" is not one that this flinch reads"},
        {"flinch-sample", "other", "\"format\" is not flinch-sample"},
    };
    struct sample s = filled(), back;
    char *text = printed(&s);
    for (size_t i = 0; i < sizeof faults / sizeof *faults; i++) {
        struct fl_reader r = read_back(&back, text, faults[i].from, faults[i].to);
        assert_true(r.bad);
        assert_string_equal(r.what, faults[i].what);
        fl_arena_free(&r.arena);
    }
    free(text);
}

static const json_t *property(const json_t *schema, const char *name)
{
    const json_t *p = json_object_get(json_object_get(schema, "properties"), name);
    assert_non_null(p);
    return p;
}

static bool requires(const json_t *schema, const char *name)
{
    const json_t *list = json_object_get(schema, "required");
    for (size_t i = 0; i < json_array_size(list); i++)
        if (!strcmp(json_string_value(json_array_get(list, i)), name))
            return true;
    return false;
}

/* JSON Schema validation, draft 2020-12: type, enum, minimum, maximum, required. */
static void the_schema_says_what_the_table_says(void **state)
{
    (void)state;
    json_t *schema = fl_document_schema(&document);
    const json_t *whole = property(schema, "whole"), *figure = property(schema, "figure");
    assert_string_equal(json_string_value(json_object_get(whole, "type")), "integer");
    assert_int_equal(json_integer_value(json_object_get(whole, "minimum")), 2);
    assert_int_equal(json_integer_value(json_object_get(whole, "maximum")), 9);
    assert_string_equal(json_string_value(json_object_get(whole, "description")), "A number.");
    assert_int_equal(json_array_size(json_object_get(figure, "type")), 2); /* or null */
    assert_int_equal(json_array_size(json_object_get(property(schema, "word"), "enum")), 3);
    assert_true(requires(schema, "whole") && requires(schema, "inline_s"));
    assert_true(requires(schema, "peak_camera_speed_deg_s") && requires(schema, "format"));
    assert_false(requires(schema, "added"));
    assert_non_null(property(json_object_get(property(schema, "list"), "items"), "at_s"));
    json_decref(schema);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_kind_is_written),
        cmocka_unit_test(every_kind_comes_back),
        cmocka_unit_test(rounding_is_what_writing_does),
        cmocka_unit_test(what_older_files_lack_has_a_default),
        cmocka_unit_test(faults_are_named),
        cmocka_unit_test(the_schema_says_what_the_table_says),
    };
    return RUN_TESTS(tests);
}
