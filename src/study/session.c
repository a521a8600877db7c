#include "study/session.h"

#include <stdlib.h>
#include <string.h>

#include "study/delay.h"
#include "study/repeat.h"
#include "study/rule.h"
#include "study/study.h"

struct fl_session *fl_session_new(const char *name)
{
    struct fl_session *s = FL_NEW(struct fl_session, 1);
    s->arena = fl_arena_new();
    s->name = name ? fl_arena_strdup(s->arena, name) : NULL;
    return s;
}

void fl_session_add(struct fl_session *s, struct fl_take *t)
{
    s->takes = fl_realloc(s->takes, s->n_takes + 1, sizeof *s->takes);
    s->takes[s->n_takes++] = t;
}

void fl_session_add_failed(struct fl_session *s, const char *id, const char *text)
{
    s->failed = fl_realloc(s->failed, s->n_failed + 1, sizeof *s->failed);
    s->failed[s->n_failed].id = fl_arena_strdup(s->arena, id);
    s->failed[s->n_failed].text = fl_arena_strdup(s->arena, text);
    s->n_failed++;
}

static void forget_study(struct fl_session *s)
{
    free(s->curves);
    free(s->comparisons);
    free(s->quantities);
    free(s->ranks);
    free(s->rules);
    free(s->delays);
    free(s->delay_comparisons);
    free(s->repeats);
    s->curves = NULL;
    s->comparisons = NULL;
    s->quantities = NULL;
    s->ranks = NULL;
    s->rules = NULL;
    s->delays = NULL;
    s->delay_comparisons = NULL;
    s->repeats = NULL;
    s->n_curves = s->n_comparisons = s->n_quantities = s->n_ranks = 0;
    s->n_rules = s->n_delays = s->n_delay_comparisons = s->n_repeats = 0;
}

void fl_session_study(struct fl_session *s)
{
    forget_study(s);
    fl_study_curves(s);
    fl_study_comparisons(s);
    fl_study_quantities(s);
    fl_study_ranks(s);
    fl_study_rules(s);
    fl_study_delays(s);
    fl_study_repeats(s);
}

void fl_session_free(struct fl_session **s)
{
    if (!s || !*s)
        return;
    forget_study(*s);
    for (size_t i = 0; i < (*s)->n_takes; i++)
        fl_take_free(&(*s)->takes[i]);
    free((*s)->takes);
    free((*s)->failed);
    fl_arena_free(&(*s)->arena);
    free(*s);
    *s = NULL;
}
