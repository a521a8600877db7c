/* One table, with a group in its midst: walked, parsed, echoed. What is expected is written by hand
 * from the table below. */
#include "test.h"

#include <stdlib.h>

#include "cli/options.h"
#include "cli/option_echo.h"

struct colours {
    bool bright;
    const char *hue;
};
struct settings {
    int count;
    struct colours first, second;
    double share;
    const char *file;
};

static const char *const hues[] = {"red", "green", "blue", NULL};
#define COLOUR(member) offsetof(struct colours, member)
static const struct fl_option colour_rows[] = {
    {"bright", 0, FL_OPTION_FLAG, COLOUR(bright), 0, 0, NULL, "brighter"},
    {"hue", 'u', FL_OPTION_CHOICE, COLOUR(hue), 0, 0, "HUE", "which", NULL, hues},
    {NULL},
};
static const struct fl_option no_rows[] = {{NULL}};
#define AT(member) offsetof(struct settings, member)
static const struct fl_option table[] = {
    {"empty", .type = FL_OPTION_GROUP, .rows = no_rows},
    {"count", 'c', FL_OPTION_WHOLE, AT(count), -5, 5, "N", "how many"},
    {"colours", .type = FL_OPTION_GROUP, .offset = AT(second), .rows = colour_rows},
    {"share", 0, FL_OPTION_NUMBER, AT(share), 0, 1, "X", "how much"},
    {"file", 0, FL_OPTION_FILE, AT(file), 0, 0, "FILE", "which file"},
    {"none", .type = FL_OPTION_GROUP, .rows = no_rows},
    {NULL},
};
static const struct fl_command command = {
    "paint", "WALL…", "Paints.", 1, 2, table, sizeof(struct settings), NULL, FL_OPTION_TEXT};

static void test_walk(void **state)
{
    (void)state;
    static const char *const names[] = {"count", "bright", "hue", "share", "file"};
    const size_t offsets[] = {AT(count), AT(second.bright), AT(second.hue), AT(share), AT(file)};
    struct fl_option_walk at = {.next = table};
    for (size_t i = 0; i < 5; i++) {
        assert_true(fl_option_next(&at));
        assert_string_equal(at.option->name, names[i]);
        assert_int_equal(at.offset, offsets[i]);
        assert_true((at.group == &table[2]) == (i == 1 || i == 2));
    }
    assert_false(fl_option_next(&at));
    assert_false(fl_option_next(&at));
}

static void assert_range(struct fl_option o, const char *want)
{
    char *range = fl_option_range(&o);
    assert_string_equal(range, want);
    free(range);
}

/* What may be given is taken from the table, so no help text can fall behind it. */
static void test_range(void **state)
{
    (void)state;
    assert_range(table[1], " (-5 to 5)");
    assert_range(table[3], " (0 to 1)");
    assert_range(table[4], "");
    assert_range((struct fl_option){"hues", .type = FL_OPTION_LIST, .choices = hues},
                 " (red, green, blue)");
}

static enum flinch_code parse(struct settings *set, int *n_args, struct fl_error *err, ...)
{
    char *argv[16];
    int argc = 0;
    bool help;
    va_list list;
    va_start(list, err);
    for (char *word; (word = va_arg(list, char *)) != NULL;)
        argv[argc++] = word;
    va_end(list);
    *set = (struct settings){0};
    return fl_options_parse(&command, set, argv, argc, n_args, &help, err);
}

static void test_parse(void **state)
{
    (void)state;
    struct settings set;
    struct fl_error err = {0};
    int n;
    assert_int_equal(
        parse(&set, &n, &err, "north", "-c", "-5", "--bright", "--share=0.25", "-ublue", NULL), 0);
    assert_int_equal(n, 1);
    assert_int_equal(set.count, -5);
    assert_true(set.second.bright && !set.first.bright);
    assert_string_equal(set.second.hue, "blue");
    assert_null(set.first.hue);
    assert_near(set.share, 0.25, 0);
    assert_int_equal(parse(&set, &n, &err, "--", "--bright", "--", NULL), 0);
    assert_int_equal(n, 2);
    assert_false(set.second.bright);
}

static void refuse(const char *word, const char *why)
{
    struct settings set;
    struct fl_error err = {0};
    int n;
    assert_int_equal(parse(&set, &n, &err, "north", word, NULL), FLINCH_ERR_USAGE);
    assert_string_equal(err.text, why);
}

static void test_refused(void **state)
{
    (void)state;
    refuse("--count=6", "--count: 6 is outside -5 to 5; correct it");
    refuse("--count=1.5", "--count: '1.5' is not a whole number; give one from -5 to 5");
    refuse("--hue=pink", "--hue: 'pink' is no choice; write red, green or blue");
    refuse("-u", "option '-u' needs a value; write -u HUE");
    refuse("--bright=1", "option '--bright=1' takes no value; see flinch paint --help");
    refuse("--file=", "--file: empty; give a FILE");
    refuse("--brigth",
           "unknown option '--brigth'; did you mean '--bright'? See flinch paint --help");
    refuse("--colours", "unknown option '--colours'; see flinch paint --help");
    refuse("-z", "unknown option '-z'; see flinch paint --help");
}

static void test_echo(void **state)
{
    (void)state;
    const struct settings set = {.count = 2, .second = {true, "red"}, .share = 0.5};
    json_t *echo = fl_options_echo(table, &set);
    char *text = json_dumps(echo, JSON_COMPACT);
    assert_string_equal(
        text, "{\"count\":2,\"bright\":true,\"hue\":\"red\",\"share\":0.5,\"file\":null}");
    free(text);
    json_decref(echo);
}

static void test_choice(void **state)
{
    (void)state;
    assert_int_equal(fl_option_choice(hues, "green"), 1);
    assert_int_equal(fl_option_choice(hues, NULL), 0);
    assert_int_equal(fl_option_choice(hues, "gree"), -1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_walk), cmocka_unit_test(test_parse),  cmocka_unit_test(test_refused),
        cmocka_unit_test(test_echo), cmocka_unit_test(test_choice), cmocka_unit_test(test_range),
    };
    return RUN_TESTS(tests);
}
