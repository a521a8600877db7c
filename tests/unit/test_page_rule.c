/* What the page says of cut-off rules; the figures' own source is ruled_take.c. */
#include <stdlib.h>
#include <string.h>

#include "ruled_take.h"
#include "base/figure.h"
#include "show/page/page.h"
#include "study/rule/delay.h"
#include "study/rule/rule.h"
#include "test.h"
#include "study/compare/session_study.h"
#include "study/rule/rules.h"

static const struct ruled_settings plain = {.id = "a",
                                            .key = FL_CAMERA_SPEED,
                                            .theta_off = 150,
                                            .theta_on = 100,
                                            .d_off_s = 0.03,
                                            .d_on_s = 0.05,
                                            .seen_above_deg_s = 12,
                                            .flicks = 25};

static struct fl_session *studied(struct ruled_settings s, int takes)
{
    static const char *const id[] = {"canyon-a", "canyon-b", "canyon-c"};
    struct fl_session *session = fl_session_new("invented");
    for (int i = 0; i < takes; i++) {
        s.id = id[i];
        s.seed = 2 + (uint64_t)i;
        fl_session_add(session, ruled_take(&s));
    }
    fl_session_study(session);
    return session;
}

/* Of the first group; malloc'ed. */
static char *page_of(const struct fl_session *s,
                     void (*part)(FILE *, const struct fl_session *, const struct fl_group *))
{
    struct fl_groups groups;
    char *text = NULL;
    size_t size;
    FILE *out = open_memstream(&text, &size);
    fl_groups_make(&groups, s);
    part(out, s, &groups.v[0]);
    fclose(out);
    fl_groups_finish(&groups);
    return text;
}

static void assert_says(const char *text, const char *part)
{
    if (!strstr(text, part))
        fail_msg("'%s' is not in: %s", part, text);
}

static void the_rule_stands_among_the_answers(void **state)
{
    (void)state;
    struct ruled_settings stray = plain;
    stray.strays = 1;
    struct fl_session *s = studied(stray, 3);
    const struct fl_rule *r = fl_rule_of(s, "Glass Canyon", "default");
    char *text = page_of(s, fl_page_rule_answer), figure[FL_FIGURE_SIZE], part[100];
    snprintf(part, sizeof part, "camera speed stayed above <strong>%s deg/s</strong> (",
             fl_figure(figure, r->fit.theta_off));
    assert_says(text, part);
    assert_says(text, "On takes left out of the fit it is right for 9");
    assert_says(text, "“always on” would be for 50");
    assert_says(text,
                "These takes cannot tell"); /* one setting: counts are in step with the camera */
    assert_says(text, "count rate");
    assert_says(text, "It does not explain 3 lapses: see");
    free(text);
    text = page_of(s, fl_page_rules);
    assert_says(text, "Lapses that the cut-off rule does not explain: canyon-a at ");
    assert_says(text, "after crossing");
    assert_says(text, "Kaplan–Meier");
    assert_says(text, "<td>leads</td>");
    free(text);
    fl_session_free(&s);
}

static void a_refusal_says_why(void **state)
{
    (void)state;
    struct ruled_settings never = plain;
    never.theta_off = 1e6;
    struct fl_session *s = studied(never, 1);
    char *text = page_of(s, fl_page_rule_answer);
    assert_says(text, "<strong>not known</strong>: no lapse was seen");
    assert_null(strstr(text, "deg/s"));
    free(text);
    fl_session_free(&s);
}

/* One rule by hand in a session that was not studied. */
static void set_by_hand(struct fl_session *s, struct fl_rule rule)
{
    rule.game = "Glass Canyon";
    rule.condition = "default";
    rule.quantity = FL_CAMERA_SPEED;
    rule.lead = true;
    rule.agreement_always_on = 0.5;
    s->rules = FL_NEW(struct fl_rule, 1);
    s->rules[0] = rule;
    s->n_rules = 1;
}

static struct fl_session *bare(const char *id)
{
    struct ruled_settings one = plain;
    one.id = id;
    struct fl_session *s = fl_session_new("by hand");
    fl_session_add(s, ruled_take(&one));
    return s;
}

static void open_ends_are_said(void **state)
{
    (void)state;
    struct fl_session *s = bare("a");
    set_by_hand(s, (struct fl_rule){.fit = {150, 100, 0.03, 0.4},
                                    .low = {140, NAN, 0.02, 0.05},
                                    .high = {160, 120, 0.04, NAN},
                                    .agreement = NAN,
                                    .agreement_fitted = 0.9,
                                    .explained_off_share = 0.8});
    char *text = page_of(s, fl_page_rule_answer);
    assert_says(text, "above <strong>150 deg/s</strong> (140 to 160) for 30 ms (20 to 40)");
    assert_says(text, "below <strong>120 deg/s</strong> at most for at least 50 ms");
    assert_says(text, "On the very take that it was fitted to");
    free(text);
    fl_session_free(&s);
}

static void no_better_than_always_on(void **state)
{
    (void)state;
    struct fl_session *s = bare("a");
    set_by_hand(s, (struct fl_rule){.fit = {150, 100, 0.03, 0.4}, .agreement = 0.47});
    char *text = page_of(s, fl_page_rule_answer);
    assert_says(text, "does better than “always on”");
    free(text);
    fl_session_free(&s);
}

static void names_are_escaped(void **state)
{
    (void)state;
    struct fl_session *s = bare("<b>\"a\"&");
    struct fl_rule_miss miss = {s->takes[0], 1, 2, NAN, 30};
    set_by_hand(s, (struct fl_rule){.fit = {150, 100, 0.03, 0.4},
                                    .agreement = 0.9,
                                    .unexplained = &miss,
                                    .n_unexplained = 1,
                                    .held = &miss,
                                    .n_held = 1});
    char *text = page_of(s, fl_page_rules);
    assert_null(strstr(text, "<b>"));
    assert_says(text, "&lt;b&gt;");
    free(text);
    fl_session_free(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_rule_stands_among_the_answers),
        cmocka_unit_test(a_refusal_says_why),
        cmocka_unit_test(open_ends_are_said),
        cmocka_unit_test(no_better_than_always_on),
        cmocka_unit_test(names_are_escaped),
    };
    return RUN_TESTS(tests);
}
