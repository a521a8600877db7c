/* What was asked for, and what the folder holds → which clips are written, and from which
 * footage. */
#include "show/clip/clip_plan.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "base/mem.h"
#include "show/clip/find_footage.h"
#include "show/store/stored_folder.h"

/* ---- which lapses ---- */

/* One number or range of the list at *text, moved past it and its comma. */
static bool read_range(const char **text, unsigned long *first, unsigned long *last)
{
    char *end;
    if (**text < '0' || **text > '9')
        return false;
    *first = *last = strtoul(*text, &end, 10);
    if (*end == '-' && end[1] >= '0' && end[1] <= '9')
        *last = strtoul(end + 1, &end, 10);
    if (*end == ',' && end[1])
        end++;
    else if (*end)
        return false;
    *text = end;
    return *first >= 1 && *last >= *first;
}

static enum flinch_code choose_lapses(bool *wanted, const struct fl_take *t, const char *text,
                                      struct fl_error *err)
{
    const size_t n = t->states.n_lapses;
    unsigned long first, last;
    if (!n)
        return fl_fail(err, FLINCH_ERR_USAGE,
                       "take %s: has no lapse; give a span with --from and --to", t->spec.id);
    if (!text || !strcmp(text, "all")) {
        memset(wanted, 1, n);
        return FLINCH_OK;
    }
    for (const char *at = text; *at;) {
        if (!read_range(&at, &first, &last))
            return fl_fail(err, FLINCH_ERR_USAGE,
                           "--lapses: '%.60s' is no list of lapses; write all, 3, or 1,4-6", text);
        if (last > n)
            return fl_fail(err, FLINCH_ERR_USAGE,
                           "--lapses: take %s has no lapse %lu; it has 1 to %zu", t->spec.id, last,
                           n);
        for (unsigned long k = first; k <= last; k++)
            wanted[k - 1] = true;
    }
    return FLINCH_OK;
}

/* ---- spans ---- */

static char *name_of(const struct fl_clip_wish *w, const struct fl_planned_clip *c)
{
    char what[64], other[32] = "", slow[32] = "", rate[FL_RATE_SIZE + 8] = "", shown[FL_RATE_SIZE];
    if (w->out)
        return fl_strdup(w->out);
    if (c->lapse)
        snprintf(what, sizeof what, "lapse-%02zu", c->lapse);
    else
        snprintf(what, sizeof what, "%.3f-%.3f", c->from_s, c->from_s + c->length_s);
    if (c->lapse_beside)
        snprintf(other, sizeof other, "-lapse-%02zu", c->lapse_beside);
    if (w->rate.den)
        snprintf(rate, sizeof rate, "-rate-%s", fl_rate_text(shown, w->rate));
    if (w->slow > 1)
        snprintf(slow, sizeof slow, "-slow-%d", w->slow);
    char *name = fl_format("clips/%s-%s%s%s%s%s%s.mp4", w->id, what, w->beside ? "-beside-" : "",
                           w->beside ? w->beside : "", other, slow, rate);
    char *path = fl_path_join(w->folder, name);
    free(name);
    return path;
}

static void add(struct fl_clip_plan *p, const struct fl_clip_wish *w, struct fl_planned_clip c)
{
    c.path = name_of(w, &c);
    FL_PUSH(p->clip, p->n, p->cap, c);
}

static enum flinch_code plan_span(struct fl_clip_plan *p, const struct fl_clip_wish *w,
                                  struct fl_error *err)
{
    const double end_s = p->a->duration_s, to_s = w->to_s > 0 ? w->to_s : end_s;
    if (w->from_s >= end_s || to_s > end_s + 0.0005 || to_s <= w->from_s)
        return fl_fail(
            err, FLINCH_ERR_USAGE,
            "take %s: %g to %g s is no span of it; give --from and --to within 0 and %.3f", w->id,
            w->from_s, to_s, end_s);
    struct fl_planned_clip c = {.from_s = w->from_s,
                                .length_s = to_s - w->from_s,
                                .from_beside_s =
                                    fl_known(w->from_beside_s) ? w->from_beside_s : w->from_s};
    if (p->b && c.from_beside_s >= p->b->duration_s)
        return fl_fail(err, FLINCH_ERR_USAGE,
                       "take %s: ends at %.3f s, before %g s; give --from-beside", w->beside,
                       p->b->duration_s, c.from_beside_s);
    add(p, w, c);
    return FLINCH_OK;
}

/* The other take's lapse that goes with lapse k. */
static enum flinch_code line_up(struct fl_planned_clip *c, const struct fl_clip_plan *p,
                                const struct fl_clip_wish *w, size_t k, struct fl_error *err)
{
    const struct fl_states *a = &p->a->states, *b = &p->b->states;
    const size_t other = w->lapse_beside ? (size_t)w->lapse_beside : k;
    if (other > b->n_lapses)
        return fl_fail(err, FLINCH_ERR_USAGE,
                       "take %s: has no lapse %zu; choose another with --lapse-beside (it has "
                       "%zu), or --align start",
                       w->beside, other, b->n_lapses);
    const bool trips = a->lapse[k - 1].has_trip && b->lapse[other - 1].has_trip;
    if (!trips)
        return fl_fail(err, FLINCH_ERR_USAGE,
                       "lapse %zu of take %s began before the footage did: no trip to line up on; "
                       "choose another, or "
                       "--align start",
                       a->lapse[k - 1].has_trip ? other : k,
                       a->lapse[k - 1].has_trip ? w->beside : w->id);
    c->lapse_beside = other;
    c->from_beside_s = b->lapse[other - 1].start_s - (a->lapse[k - 1].start_s - c->from_s);
    return FLINCH_OK;
}

static enum flinch_code plan_lapse(struct fl_clip_plan *p, const struct fl_clip_wish *w, size_t k,
                                   struct fl_error *err)
{
    const struct fl_lapse *l = &p->a->states.lapse[k - 1];
    const double from_s = fmax(0, l->start_s - w->lead_s),
                 to_s = fmin(p->a->duration_s, l->end_s + w->tail_s);
    struct fl_planned_clip c = {
        .lapse = k, .from_s = from_s, .length_s = to_s - from_s, .from_beside_s = from_s};
    enum flinch_code code = FLINCH_OK;
    if (p->b && fl_known(w->from_beside_s))
        c.from_beside_s = w->from_beside_s;
    else if (p->b && (!w->align || !strcmp(w->align, "trip")))
        code = line_up(&c, p, w, k, err);
    if (!code)
        add(p, w, c);
    return code;
}

static enum flinch_code plan_lapses(struct fl_clip_plan *p, const struct fl_clip_wish *w,
                                    struct fl_error *err)
{
    bool *wanted = FL_NEW(bool, p->a->states.n_lapses + 1);
    enum flinch_code code = choose_lapses(wanted, p->a, w->lapses, err);
    for (size_t k = 1; k <= p->a->states.n_lapses && !code; k++)
        if (wanted[k - 1])
            code = plan_lapse(p, w, k, err);
    free(wanted);
    if (!code && w->out && p->n > 1)
        code = fl_fail(err, FLINCH_ERR_USAGE,
                       "-o names one file, but %zu clips are asked for; choose one lapse with "
                       "--lapses N, or leave -o out",
                       p->n);
    return code;
}

static enum flinch_code check(const struct fl_clip_wish *w, struct fl_error *err)
{
    if (w->span && w->lapses)
        return fl_fail(err, FLINCH_ERR_USAGE,
                       "--from and --to name a span, --lapses lapses; give one of them");
    if (w->align && strcmp(w->align, "start") && strcmp(w->align, "trip"))
        return fl_fail(err, FLINCH_ERR_USAGE, "--align: '%.40s' is no choice; write start or trip",
                       w->align);
    if (w->align && !strcmp(w->align, "trip") && w->span)
        return fl_fail(
            err, FLINCH_ERR_USAGE,
            "--align trip lines up lapses; choose them with --lapses in place of --from and --to");
    const bool more =
        w->align || w->footage_beside || w->lapse_beside || fl_known(w->from_beside_s);
    if (more && !w->beside)
        return fl_fail(err, FLINCH_ERR_USAGE,
                       "--align, --from-beside, --lapse-beside and --footage-beside need a second "
                       "take; add --beside ID");
    return FLINCH_OK;
}

enum flinch_code fl_clip_plan(struct fl_clip_plan *out, const struct fl_clip_wish *w,
                              struct fl_error *err)
{
    *out = (struct fl_clip_plan){0};
    enum flinch_code code = check(w, err);
    if (!code)
        code = fl_stored_take(&out->a, w->folder, w->id, err);
    if (!code && w->beside)
        code = fl_stored_take(&out->b, w->folder, w->beside, err);
    if (!code)
        code = w->span ? plan_span(out, w, err) : plan_lapses(out, w, err);
    if (!code)
        code = fl_find_footage(
            &out->footage_a,
            &(struct fl_footage_wish){w->folder, w->session, w->footage, "--footage"}, out->a, err);
    if (!code && out->b)
        code = fl_find_footage(
            &out->footage_b,
            &(struct fl_footage_wish){w->folder, w->session, w->footage_beside, "--footage-beside"},
            out->b, err);
    return code;
}

void fl_clip_plan_finish(struct fl_clip_plan *p)
{
    for (size_t i = 0; i < p->n; i++)
        free(p->clip[i].path);
    free(p->clip);
    free(p->footage_a);
    free(p->footage_b);
    fl_take_free(&p->a);
    fl_take_free(&p->b);
}
