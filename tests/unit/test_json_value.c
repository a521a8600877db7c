#include "show/store/json_value.h"

#include <math.h>
#include <stdlib.h>

#include "apart.h"

/* What jansson gives when memory runs out. */
static json_t *no_value(void)
{
    return NULL;
}

static void set_nothing(void)
{
    fl_json_set(json_object(), "off_s", no_value());
}

static void set_in_nothing(void)
{
    fl_json_set(no_value(), "off_s", json_integer(1));
}

static void append_nothing(void)
{
    fl_json_append(json_array(), no_value());
}

/* The pack fails for its part, and what takes the pack fails in turn. */
static void append_pack_of_nothing(void)
{
    fl_json_append(json_array(), json_pack("[o, o]", json_integer(1), no_value()));
}

static void put_nothing(void)
{
    fl_json_put(stdout, no_value(), 0);
}

static void text_of_nothing(void)
{
    free(fl_json_text_of(no_value(), 0));
}

static void a_value_that_could_not_be_made_ends_the_process(void **state)
{
    (void)state;
    void (*const all[])(void) = {set_nothing,    set_in_nothing,
                                 append_nothing, append_pack_of_nothing,
                                 put_nothing,    text_of_nothing};
    for (size_t i = 0; i < sizeof all / sizeof *all; i++)
        assert_out_of_memory(all[i]);
}

static json_t *two_shares(void)
{
    json_t *o = json_object(), *list = json_array();
    fl_json_append(list, json_integer(7));
    fl_json_append(list, json_null());
    fl_json_set(o, "share", list);
    fl_json_set(o, "a", json_true());
    return o;
}

static void values_keep_their_order(void **state)
{
    (void)state;
    char *text = fl_json_text_of(two_shares(), JSON_COMPACT), line[64] = "";
    assert_string_equal(text, "{\"share\":[7,null],\"a\":true}");
    free(text);
    FILE *file = tmpfile();
    assert_non_null(file);
    fl_json_put(file, two_shares(), JSON_COMPACT);
    rewind(file);
    assert_non_null(fgets(line, sizeof line, file));
    assert_string_equal(line, "{\"share\":[7,null],\"a\":true}\n");
    fclose(file);
}

/* RFC 8259, 7: an escape is the same string; a reader sees no text turned around. */
static void text_that_turns_is_escaped(void **state)
{
    (void)state;
    const char *name = "x\u202etfel\u2069 \u05d0";
    char line[64] = "";
    FILE *file = tmpfile();
    assert_non_null(file);
    fl_json_put(file, json_pack("{s: s}", "game", name), JSON_COMPACT);
    rewind(file);
    assert_non_null(fgets(line, sizeof line, file));
    assert_string_equal(line, "{\"game\":\"x\\u202etfel\\u2069 \u05d0\"}\n");
    json_t *back = json_loads(line, 0, NULL);
    assert_string_equal(json_string_value(json_object_get(back, "game")), name);
    json_decref(back);
    fclose(file);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_value_that_could_not_be_made_ends_the_process),
        cmocka_unit_test(values_keep_their_order),
        cmocka_unit_test(text_that_turns_is_escaped),
    };
    return RUN_TESTS(tests);
}
