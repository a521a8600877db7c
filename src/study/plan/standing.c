/* Another minute goes where it tells most, in bits of log2 V50: a figure that an open interval has
 * as well as a narrow one, and that stays small where no flick of a hand would tell. */
#include "study/plan/standing.h"

#include <stdlib.h>
#include <string.h>

#include "study/curve/setting.h"

static bool same(const struct fl_curve *c, const struct fl_setting *cell)
{
    return !c->pooled && c->quantity == FL_CAMERA_SPEED && !strcmp(c->game, cell->game) &&
           !strcmp(c->condition, cell->condition) &&
           fl_same_number(c->counts_per_inch, cell->counts_per_inch) &&
           fl_same_number(c->degrees_per_count, cell->degrees_per_count);
}

/* NULL: no flick of its takes counts. */
static const struct fl_curve *curve_of(const struct fl_session *s, const struct fl_setting *cell)
{
    for (size_t i = 0; i < s->n_curves; i++)
        if (same(&s->curves[i], cell) && s->curves[i].flicks)
            return &s->curves[i];
    return NULL;
}

static bool holds(const struct fl_setting *cell, const char *id)
{
    for (size_t i = 0; i < cell->n; i++)
        if (!strcmp(cell->takes[i]->spec.id, id))
            return true;
    return false;
}

/* ---- one setting ---- */

static void note_v50(struct fl_standing_setting *t, const struct fl_outlook *o, double wanted)
{
    const struct fl_trip_interval v = fl_outlook_v50(o);
    const bool held = t->trips<t->flicks, tripped = t->trips> 0;
    /* One side alone says where V50 is not. */
    t->v50 = held && tripped ? exp2(v.middle) : FL_UNKNOWN;
    t->low = held && isfinite(v.low) ? exp2(v.low) : FL_UNKNOWN;
    t->high = tripped && isfinite(v.high) ? exp2(v.high) : FL_UNKNOWN;
    t->width =
        fl_known(t->v50) && fl_known(t->low) && fl_known(t->high) ? (v.high - v.low) / 2 : INFINITY;
    t->enough = t->width <= wanted;
}

static double bits_of_a_minute(const struct fl_outlook *o, const struct fl_curve *c)
{
    struct fl_plan_setting t = {.curve = c};
    struct fl_forecast f;
    double speed[FL_STANDING_FLICKS];
    fl_plan_choose_bands(&t, o);
    fl_plan_aims(&t, FL_STANDING_FLICKS, speed);
    fl_forecast(&f, o, &(struct fl_flicks_ahead){speed, FL_STANDING_FLICKS, 1});
    return f.bits;
}

static void look_at(struct fl_standing_setting *t, const struct fl_outlook *o,
                    const struct fl_curve *c, double wanted)
{
    note_v50(t, o, wanted);
    t->bits = t->enough ? 0 : bits_of_a_minute(o, c);
}

/* What the study says, where it has a V50 of it. */
static void begin(struct fl_standing_setting *t, const struct fl_setting *cell, const char *id)
{
    *t = (struct fl_standing_setting){.id = id ? id : cell->takes[0]->spec.id,
                                      .game = cell->game,
                                      .condition = cell->condition,
                                      .counts_per_inch = cell->counts_per_inch,
                                      .degrees_per_count = cell->degrees_per_count};
}

static void add_curve(struct fl_standing_setting *t, const struct fl_curve *c)
{
    t->takes = c ? c->takes : 0;
    t->flicks = c ? c->flicks : 0;
    t->trips = c ? c->trips : 0;
}

/* ---- all of them ---- */

/* To change a setting takes a minute and a take of it three (recording_schedule.c): another has to
 * tell so much more a minute than the one that is recorded now. */
static const double worth_changing = 4.0 / 3;

static void compare(struct fl_standing *st)
{
    double most = -INFINITY;
    st->finished = 0;
    st->next = st->n;
    for (size_t i = 0; i < st->n; i++) {
        const struct fl_standing_setting *t = &st->setting[i];
        const double bits = (i == st->now ? worth_changing : 1) * t->bits;
        st->finished += t->enough;
        if (!t->enough && bits > most) {
            most = bits;
            st->next = i;
        }
    }
}

static enum flinch_code find(const struct fl_setting *cells, size_t n, const char *id, size_t *at,
                             struct fl_error *err)
{
    for (*at = 0; *at < n && !holds(&cells[*at], id); ++*at)
        ;
    if (*at == n)
        return fl_fail(err, FLINCH_ERR_USAGE,
                       "no take '%.80s' among those measured; name one of the setting you record",
                       id);
    if (cells[*at].control)
        return fl_fail(err, FLINCH_ERR_USAGE,
                       "'%.80s' is a control, which has no trip speed; name a take with synthesis",
                       id);
    return FLINCH_OK;
}

enum flinch_code fl_standing_init(struct fl_standing *st, struct fl_session *s, const char *id,
                                  double wanted, struct fl_error *err)
{
    struct fl_setting *cells;
    size_t now;
    const size_t n = fl_settings(s, false, &cells);
    *st = (struct fl_standing){.wanted = log2(1 + wanted)};
    if (find(cells, n, id, &now, err))
        return FLINCH_ERR_USAGE;
    st->setting = FL_NEW(struct fl_standing_setting, n);
    for (size_t i = 0; i < n; i++) {
        const struct fl_curve *c = curve_of(s, &cells[i]);
        struct fl_standing_setting *t = &st->setting[st->n];
        struct fl_outlook o;
        if (cells[i].control)
            continue;
        begin(t, &cells[i], i == now ? id : NULL);
        add_curve(t, c);
        fl_outlook_init(&o, c);
        look_at(t, &o, c, st->wanted);
        if (i == now) {
            st->now = st->n;
            st->before = o;
            st->curve = c;
        } else {
            fl_outlook_finish(&o);
        }
        st->n++;
    }
    compare(st);
    return FLINCH_OK;
}

void fl_standing_finish(struct fl_standing *st)
{
    if (st->setting)
        fl_outlook_finish(&st->before);
    free(st->setting);
    free(st->x);
    free(st->tripped);
    *st = (struct fl_standing){0};
}

void fl_standing_add(struct fl_standing *st, double peak, bool tripped)
{
    struct fl_standing_setting *t = &st->setting[st->now];
    size_t n = st->n_flicks;
    if (!(peak > 0))
        return;
    FL_PUSH(st->x, n, st->cap_x, log2(peak));
    FL_PUSH(st->tripped, st->n_flicks, st->cap_tripped, tripped);
    struct fl_outlook o = fl_outlook_with(&st->before, st->x, st->tripped, st->n_flicks);
    t->takes += st->n_flicks == 1;
    t->flicks++;
    t->trips += tripped;
    look_at(t, &o, st->curve, st->wanted);
    fl_outlook_with_finish(&o);
    compare(st);
}

void fl_standing_expect(const struct fl_standing *st, struct fl_next_speed *n)
{
    struct fl_posterior p;
    if (!st->curve)
        return;
    fl_outlook_posterior(&st->before, &p);
    fl_next_speed_expect(n, &p);
    fl_posterior_finish(&p);
}
