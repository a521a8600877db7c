/* The list of takes, and the arena of what a study makes of them. */
#include "study/take/session.h"

#include <stdlib.h>
#include <string.h>

struct fl_session *fl_session_new(const char *name)
{
    struct fl_session *s = FL_NEW(struct fl_session, 1);
    s->names = fl_arena_new();
    s->arena = fl_arena_new();
    s->name = name ? fl_arena_strdup(s->names, name) : NULL;
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
    s->failed[s->n_failed].id = fl_arena_strdup(s->names, id);
    s->failed[s->n_failed].text = fl_arena_strdup(s->names, text);
    s->n_failed++;
}

void fl_session_forget_study(struct fl_session *s)
{
    free(s->returns);
    free(s->curves);
    free(s->comparisons);
    free(s->quantities);
    free(s->results);
    free(s->rules);
    free(s->delays);
    free(s->delay_comparisons);
    free(s->repeats);
    s->returns = NULL;
    s->curves = NULL;
    s->comparisons = NULL;
    s->quantities = NULL;
    s->results = NULL;
    s->rules = NULL;
    s->delays = NULL;
    s->delay_comparisons = NULL;
    s->repeats = NULL;
    s->eye_check = NULL;
    s->n_returns = s->n_curves = s->n_comparisons = s->n_quantities = s->n_results = 0;
    s->n_rules = s->n_delays = s->n_delay_comparisons = s->n_repeats = 0;
    fl_arena_free(&s->arena);
    s->arena = fl_arena_new();
}

void fl_session_free(struct fl_session **s)
{
    if (!s || !*s)
        return;
    fl_session_forget_study(*s);
    for (size_t i = 0; i < (*s)->n_takes; i++)
        fl_take_free(&(*s)->takes[i]);
    free((*s)->takes);
    free((*s)->failed);
    fl_arena_free(&(*s)->arena);
    fl_arena_free(&(*s)->names);
    free(*s);
    *s = NULL;
}
