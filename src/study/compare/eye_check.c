/* Strata are few and drawn alike, so each is a simple sample of its own time. */
#include "study/compare/eye_check.h"

#include <stdio.h>
#include <stdlib.h>

#include "maths/interval.h"

static const double level = 0.95;

const char *fl_eye_name(enum fl_eye e)
{
    static const char *const names[] = {"on", "off", "cannot tell"};
    return names[e];
}

/* ---- counting ---- */

static void count(struct fl_eye_check *c, const struct fl_session *s,
                  const struct fl_audit_run *run, const struct fl_eye_answer *a)
{
    const struct fl_take *t = s->takes[a->take];
    const enum fl_state state = t->states.span[run->stretch].state;
    struct fl_agreement *g = &c->stratum[run->stratum];
    if (a->eye == FL_EYE_UNTOLD) {
        g->untold++;
    } else if ((a->eye == FL_EYE_ON) == (state == FL_STATE_ON)) {
        g->agree++;
    } else {
        g->differ++;
        c->difference[c->n_differences++] = (struct fl_eye_difference){
            a->take, t->spec.id, a->frame, t->time_s[a->frame], state, a->eye, run->stratum};
    }
}

static int by_time(const void *a, const void *b)
{
    const struct fl_eye_difference *x = a, *y = b;
    if (x->take != y->take)
        return x->take < y->take ? -1 : 1;
    return (x->frame > y->frame) - (x->frame < y->frame);
}

/* ---- shares ---- */

static void share(struct fl_agreement *a)
{
    const double told = (double)(a->agree + a->differ);
    a->share = told > 0 ? (double)a->agree / told : FL_UNKNOWN;
    a->low = a->high = FL_UNKNOWN;
    if (told > 0)
        fl_wilson((double)a->agree, told, level, &a->low, &a->high);
}

static void weigh(struct fl_eye_check *c)
{
    struct fl_agreement *all = &c->all;
    double below = 0, above = 0;
    all->share = 0;
    for (int i = 0; i < FL_STRATA; i++) {
        const struct fl_agreement *a = &c->stratum[i];
        all->agree += a->agree;
        all->differ += a->differ;
        all->untold += a->untold;
        all->seen_share += fl_known(a->share) ? a->seen_share : 0;
    }
    for (int i = 0; i < FL_STRATA; i++) {
        const struct fl_agreement *a = &c->stratum[i];
        if (!fl_known(a->share))
            continue;
        const double w = a->seen_share / all->seen_share;
        all->share += w * a->share;
        below += w * w * (a->share - a->low) * (a->share - a->low);
        above += w * w * (a->high - a->share) * (a->high - a->share);
    }
    if (!(all->seen_share > 0))
        all->share = FL_UNKNOWN;
    all->low = all->share - sqrt(below);
    all->high = all->share + sqrt(above);
}

static const char *words(const struct fl_agreement *all, struct fl_arena *arena)
{
    char text[120], untold[40] = "";
    if (all->untold)
        snprintf(untold, sizeof untold, ", %ld could not be seen", all->untold);
    snprintf(text, sizeof text, "%ld of %ld agree%s", all->agree, all->agree + all->differ, untold);
    return fl_arena_strdup(arena, text);
}

struct fl_eye_check *fl_eye_check_make(const struct fl_session *s, const struct fl_audit_ground *g,
                                       const struct fl_eye_answers *answers, struct fl_arena *arena)
{
    struct fl_eye_check *c = FL_ARENA(arena, struct fl_eye_check, 1);
    c->difference = FL_ARENA(arena, struct fl_eye_difference, answers->n + 1);
    for (size_t i = 0; i < answers->n; i++) {
        const struct fl_eye_answer *a = &answers->v[i];
        const struct fl_audit_run *run = fl_audit_ground_at(g, a->take, a->frame);
        if (run)
            count(c, s, run, a);
    }
    qsort(c->difference, c->n_differences, sizeof *c->difference, by_time);
    for (int i = 0; i < FL_STRATA; i++) {
        c->stratum[i].seen_share = g->seen_s > 0 ? g->stratum_s[i] / g->seen_s : FL_UNKNOWN;
        share(&c->stratum[i]);
    }
    weigh(c);
    c->text = words(&c->all, arena);
    return c;
}

void fl_study_eye_check(struct fl_session *s)
{
    struct fl_audit_ground g;
    if (!s->eye_answers)
        return;
    fl_audit_ground_find(&g, s);
    s->eye_check = fl_eye_check_make(s, &g, s->eye_answers, s->arena);
    fl_audit_ground_finish(&g);
}
