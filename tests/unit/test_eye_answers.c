/* Files of answers, good and bad, against a session written by hand. */
#include "show/store/eye_answers.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "audit_take.h"
#include "base/file.h"
#include "study/compare/session_study.h"
#include "test.h"

static const char path[] = "test-answers.json";

/* Off from 2 to 4 s in both takes; frame n begins at n/100 s. */
static struct fl_session *session(void)
{
    static const struct audit_stretch v[] = {{2, FL_STATE_ON}, {4, FL_STATE_OFF}, {6, FL_STATE_ON}};
    struct fl_session *s = fl_session_new("S");
    fl_session_add(s, audit_take("a", v, 3, 100));
    fl_session_add(s, audit_take("b", v, 3, 100));
    s->takes[0]->key = "11aa";
    s->takes[1]->key = "22bb";
    return s;
}

static void put(const char *text)
{
    FILE *f = fopen(path, "w");
    assert_non_null(f);
    fputs(text, f);
    assert_int_equal(fclose(f), 0);
}

#define REST "\"session\": null, \"seed\": 4, \"asked\": 9, "
#define HEAD "{\"format\": \"flinch-audit-answers\", \"version\": 1, " REST
#define TAKES \
    "\"takes\": [{\"id\": \"a\", \"key\": \"11aa\"}, {\"id\": \"b\", \"key\": \"22bb\"}], "

static void good_answers(void **state)
{
    (void)state;
    struct fl_session *s = session();
    struct fl_error err = {0};
    put(HEAD TAKES "\"more\": [], \"answers\": ["
                   "{\"take\": \"b\", \"time_s\": 3, \"answer\": \"off\"},"
                   "{\"take\": \"a\", \"time_s\": 1.000001, \"answer\": \"off\"},"
                   "{\"take\": \"a\", \"time_s\": 2.1, \"answer\": \"cannot tell\"}]}");
    assert_int_equal(fl_eye_answers_read(&s->eye_answers, s, path, &err), FLINCH_OK);
    const struct fl_eye_answers *a = s->eye_answers;
    assert_int_equal(a->n, 3);
    assert_true(a->v[0].take == 1 && a->v[0].frame == 300 && a->v[0].eye == FL_EYE_OFF);
    assert_true(a->v[1].take == 0 && a->v[1].frame == 100 && a->v[1].eye == FL_EYE_OFF);
    assert_true(a->v[2].take == 0 && a->v[2].frame == 210 && a->v[2].eye == FL_EYE_UNTOLD);
    fl_session_study(s);
    assert_string_equal(s->eye_check->text, "1 of 2 agree, 1 could not be seen");
    assert_int_equal(s->eye_check->stratum[FL_STRATUM_EDGE].untold, 1);
    fl_session_free(&s);
    unlink(path);
}

static void refuse(const char *text, const char *word)
{
    struct fl_session *s = session();
    struct fl_error err = {0};
    const struct fl_eye_answers *out = NULL;
    put(text);
    assert_int_not_equal(fl_eye_answers_read(&out, s, path, &err), FLINCH_OK);
    assert_null(out);
    assert_null(strchr(err.text, '\n'));
    assert_non_null(strstr(err.text, path));
    assert_non_null(strstr(err.text, "; "));
    if (!strstr(err.text, word))
        fail_msg("'%s' says nothing of '%s'", err.text, word);
    fl_session_free(&s);
    unlink(path);
}

#define ONE(take, time, word) \
    "\"answers\": [{\"take\": \"" take "\", \"time_s\": " time ", \"answer\": \"" word "\"}]}"

static void bad_answers(void **state)
{
    (void)state;
    refuse("", "not JSON");
    refuse("[1, 2]", "no answers of an audit (\"format\"");
    refuse("{\"format\": \"flinch-take\", \"version\": 1}", "no answers of an audit (\"format\"");
    refuse("{\"format\": \"flinch-audit-answers\", \"version\": 2, " REST TAKES ONE("a", "1", "on"),
           "\"version\" is not one");
    refuse("{\"format\": \"flinch-audit-answers\", " REST TAKES ONE("a", "1", "on"),
           "\"version\" is not one");
    refuse(HEAD "\"takes\": [{\"id\": \"c\", \"key\": \"11aa\"}], " ONE("c", "1", "on"), "'c'");
    refuse(HEAD "\"takes\": [{\"id\": \"a\", \"key\": \"11ab\"}], " ONE("a", "1", "on"),
           "another measurement of take 'a'");
    refuse(HEAD "\"takes\": [{\"id\": \"a\"}], " ONE("a", "1", "on"), "\"key\" is missing");
    refuse(HEAD "\"takes\": [{\"id\": null, \"key\": \"11aa\"}], " ONE("a", "1", "on"), "\"id\"");
    refuse(HEAD "\"takes\": [{\"id\": \"a\", \"key\": \"11aa\"}], " ONE("b", "1", "on"),
           "answer 1 names no take");
    refuse(HEAD TAKES ONE("a", "1", "maybe"), "\"answer\" is none of on, off, cannot tell");
    refuse(HEAD TAKES ONE("a", "\"1\"", "on"), "\"time_s\" is not a number");
    refuse(HEAD TAKES ONE("a", "1.004", "on"), "never asks"); /* no frame begins there */
    refuse(HEAD TAKES ONE("a", "2.01", "off"), "never asks"); /* on an edge */
    refuse(HEAD TAKES ONE("a", "1e9", "off"), "never asks");  /* past the end */
    refuse(HEAD TAKES ONE("a", "-1", "off"), "never asks");
    refuse(HEAD TAKES "\"answers\": []}", "nothing is answered");
    refuse(HEAD TAKES "\"answers\": 3}", "\"answers\" has the wrong type");
    refuse(HEAD TAKES "\"answers\": [3]}", "no answers of an audit");
    refuse(HEAD TAKES "\"answers\": [{\"take\": \"a\", \"time_s\": 1, \"answer\": \"on\"},"
                      "{\"take\": \"a\", \"time_s\": 1, \"answer\": \"off\"}]}",
           "answer 2 is the second");
}

/* A folder keeps answers until one of their takes is measured anew. */
static void kept_until_measured_anew(void **state)
{
    (void)state;
    struct fl_session *s = session(), *t = session();
    static const char folder[] = "test-answers";
    put(HEAD "\"takes\": [{\"id\": \"a\", \"key\": \"11aa\"}], " ONE("a", "1", "on"));
    fl_eye_answers_recall(s, folder);
    assert_null(s->eye_answers);
    assert_int_equal(fl_eye_answers_keep(folder, path, NULL), FLINCH_OK);
    fl_eye_answers_recall(s, folder);
    assert_non_null(s->eye_answers);
    t->takes[1]->key = "other"; /* nothing was answered about it */
    fl_eye_answers_recall(t, folder);
    assert_non_null(t->eye_answers);
    t->takes[0]->key = "other";
    fl_eye_answers_recall(t, folder);
    assert_null(t->eye_answers);
    fl_session_free(&s);
    fl_session_free(&t);
    unlink("test-answers/audit/answers.json");
    rmdir("test-answers/audit");
    rmdir(folder);
    unlink(path);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(good_answers),
                                       cmocka_unit_test(bad_answers),
                                       cmocka_unit_test(kept_until_measured_anew)};
    return RUN_TESTS(tests);
}
