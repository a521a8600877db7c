/* The public library over run.h and batch.h. */
#include "flinch/flinch.h"

#include <stdlib.h>
#include <string.h>

#include "api.h"
#include "batch.h"
#include "show/store/frame_columns.h"
#include "study/compare/session_study.h"
#include "study/curve/curve.h"

/* The public enumerations and arrays repeat the inner ones, value for value. */
_Static_assert((int)FLINCH_UNSEEN == FL_STATE_UNSEEN && (int)FLINCH_ON == FL_STATE_ON &&
                   (int)FLINCH_OFF == FL_STATE_OFF,
               "states");
_Static_assert((int)FLINCH_NO == FL_NO && (int)FLINCH_YES == FL_YES &&
                   (int)FLINCH_UNKNOWN == FL_ANSWER_UNKNOWN,
               "answers");
_Static_assert((int)FLINCH_QUANTITIES == FL_QUANTITIES &&
                   (int)FLINCH_QUANTITIES <= FLINCH_QUANTITY_ROOM &&
                   (int)FLINCH_COUNT_RATE == FL_COUNT_RATE &&
                   (int)FLINCH_CAMERA_SPEED == FL_CAMERA_SPEED &&
                   (int)FLINCH_IMAGE_STEP == FL_IMAGE_STEP,
               "quantities");
_Static_assert((int)FLINCH_BOUND_NONE == FL_BOUND_NONE &&
                   (int)FLINCH_BOUND_ABOVE == FL_BOUND_ABOVE &&
                   (int)FLINCH_BOUND_BELOW == FL_BOUND_BELOW &&
                   (int)FLINCH_BOUND_NO_RELATION == FL_BOUND_NO_RELATION &&
                   (int)FLINCH_BOUND_TOO_FEW == FL_BOUND_TOO_FEW &&
                   (int)FLINCH_BOUND_NOT_POOLED == FL_BOUND_NOT_POOLED,
               "bounds");

const char *flinch_version(void)
{
    return FLINCH_VERSION;
}

enum flinch_code fl_api_tell(struct flinch_message *why, enum flinch_code code,
                             const struct fl_error *err)
{
    if (why)
        memcpy(why->text, err->text, sizeof why->text);
    return code;
}
_Static_assert(sizeof((struct flinch_message *)0)->text == sizeof((struct fl_error *)0)->text,
               "messages");

enum flinch_code fl_api_misuse(struct flinch_message *why, const char *text)
{
    struct fl_error err = {0};
    return fl_api_tell(why, fl_fail(&err, FLINCH_ERR_USAGE, "%s", text), &err);
}

/* ---- one take ---- */

struct range {
    const char *name;
    double value, low, high; /* 0 is allowed besides: not given */
};

static enum flinch_code check_ranges(const struct range *r, size_t n, struct fl_error *err)
{
    for (size_t i = 0; i < n; i++)
        if (r[i].value != 0 && !(r[i].value >= r[i].low && r[i].value <= r[i].high))
            return fl_fail(err, FLINCH_ERR_USAGE, "%s is %.10g, outside %.10g to %.10g; correct it",
                           r[i].name, r[i].value, r[i].low, r[i].high);
    return FLINCH_OK;
}

static enum flinch_code check_id(const char *id, struct fl_error *err)
{
    if (!fl_take_id_valid(id))
        return fl_fail(err, FLINCH_ERR_USAGE,
                       "id '%.60s' cannot name a file; use letters, digits, '-' and '_'", id);
    return FLINCH_OK;
}

static enum flinch_code check_take(const struct flinch_take_settings *s, struct fl_error *err)
{
    const struct range ranges[] = {
        {"first_s", s->first_s, 0, FL_FOOTAGE_MOST_S},
        {"threads", s->threads, 0, 256},
    };
    enum flinch_code code = check_ranges(ranges, sizeof ranges / sizeof *ranges, err);
    return code ? code : check_id(s->id ? s->id : "take", err);
}

static enum flinch_code fill_numbers(struct fl_take_spec *spec,
                                     const struct flinch_take_settings *s, struct fl_error *err)
{
    const struct fl_take_number v[] = {{"counts_per_inch", s->counts_per_inch},
                                       {"degrees_per_count", s->degrees_per_count},
                                       {"horizontal_fov_deg", s->horizontal_fov_deg},
                                       {"base_rate_hz", s->base_rate_hz}};
    fl_take_spec_init(spec);
    return fl_take_spec_fill(spec, v, sizeof v / sizeof *v, err);
}

static void fill_rest(struct fl_take_spec *spec, const struct flinch_take_settings *s,
                      struct fl_arena *names)
{
    spec->id = fl_arena_strdup(names, s->id ? s->id : "take");
    spec->game = fl_arena_strdup(names, s->game ? s->game : "footage");
    spec->condition = fl_arena_strdup(names, s->condition ? s->condition : "default");
    spec->footage = fl_arena_strdup(names, s->footage ? s->footage : "pictures");
    spec->trace = s->trace ? fl_arena_strdup(names, s->trace) : NULL;
    spec->synthesis_disabled = s->synthesis_disabled;
    spec->capture_local = s->capture_local;
    spec->output_variable = s->output_variable;
}

enum flinch_code fl_api_spec(struct fl_take_spec *spec, const struct flinch_take_settings *s,
                             struct fl_arena *names, struct fl_error *err)
{
    enum flinch_code code = check_take(s, err);
    if (!code)
        code = fill_numbers(spec, s, err);
    if (!code)
        fill_rest(spec, s, names);
    return code;
}

static void forward(void *ctx, const char *what, double done)
{
    const struct flinch_watch *w = ctx;
    if (w->progress)
        w->progress(w->context, 0, what, done);
}

static bool asked_to_stop(void *ctx)
{
    const struct flinch_watch *w = ctx;
    return w->stop && w->stop(w->context);
}

flinch_take *fl_api_wrap(struct fl_take *take, struct fl_arena *names)
{
    flinch_take *t = FL_NEW(flinch_take, 1);
    t->take = take;
    t->names = names;
    return t;
}

enum flinch_code flinch_take_measure(flinch_take **out, const struct flinch_take_settings *settings,
                                     const struct flinch_watch *watch, struct flinch_message *why)
{
    static const struct flinch_watch nobody;
    struct fl_error err = {0};
    if (why)
        *why = (struct flinch_message){0};
    if (!out)
        return fl_api_misuse(why, "no place for the result; pass a pointer");
    *out = NULL;
    if (!settings || !settings->footage)
        return fl_api_misuse(why, "no footage given; set settings.footage");
    struct fl_take_spec spec;
    struct fl_arena *names = fl_arena_new();
    enum flinch_code code = fl_api_spec(&spec, settings, names, &err);
    if (code) {
        fl_arena_free(&names);
        return fl_api_tell(why, code, &err);
    }
    struct flinch_watch copy = watch ? *watch : nobody;
    const struct fl_progress progress = {forward, asked_to_stop, &copy};
    const struct fl_run_settings run = {settings->threads, settings->first_s};
    struct fl_take *take = NULL;
    code = fl_run_take(&take, &spec, &run, &progress, &err);
    if (code)
        fl_arena_free(&names);
    else
        *out = fl_api_wrap(take, names);
    return fl_api_tell(why, code, &err);
}

static void free_wrapper(flinch_take *t)
{
    fl_arena_free(&t->names);
    free(t);
}

void flinch_take_free(flinch_take **take)
{
    if (!take || !*take)
        return;
    fl_take_free(&(*take)->take);
    free_wrapper(*take);
    *take = NULL;
}

const char *flinch_take_id(const flinch_take *take)
{
    return take ? take->take->spec.id : NULL;
}

bool flinch_take_figures(const flinch_take *take, struct flinch_take_figures *out)
{
    if (!take || !out)
        return false;
    const struct fl_take *t = take->take;
    *out = (struct flinch_take_figures){
        .width = t->width,
        .height = t->height,
        .frames = t->frames,
        .capture_rate_hz = t->capture_rate_hz,
        .duration_s = t->duration_s,
        .torn = t->torn,
        .noise = t->noise,
        .clock_known = t->clock.known,
        .clock_offset_s = t->clock.known ? t->clock.offset_s : FL_UNKNOWN,
        .clock_drift_ppm = t->clock.known ? t->clock.drift_ppm : FL_UNKNOWN,
        .base_rate_on_hz = t->states.base_rate_on_hz,
        .base_rate_off_hz = t->states.base_rate_off_hz,
        .visible_floor_deg_s = t->visible_floor_deg_s,
    };
    return true;
}

bool flinch_take_exposure(const flinch_take *take, struct flinch_exposure *out)
{
    if (!take || !out)
        return false;
    const struct fl_exposure *e = &take->take->exposure;
    *out = (struct flinch_exposure){
        .on_s = e->on_s,
        .off_s = e->off_s,
        .unseen_s = e->unseen_s,
        .off_share = e->off_share,
        .off_share_low = e->off_share_low,
        .off_share_high = e->off_share_high,
        .motion_s = e->motion_s,
        .off_share_in_motion = e->off_share_in_motion,
        .lapses_per_min = e->lapses_per_min,
        .longest_s = e->longest_s,
    };
    return true;
}

size_t flinch_take_stretch_count(const flinch_take *take)
{
    return take ? take->take->states.n_spans : 0;
}

bool flinch_take_stretch(const flinch_take *take, size_t index, struct flinch_stretch *out)
{
    if (!out || index >= flinch_take_stretch_count(take))
        return false;
    const struct fl_state_span *s = &take->take->states.span[index];
    *out = (struct flinch_stretch){s->start_s, s->end_s, (enum flinch_state)s->state, s->confidence,
                                   s->reason};
    return true;
}

size_t flinch_take_lapse_count(const flinch_take *take)
{
    return take ? take->take->states.n_lapses : 0;
}

bool flinch_take_lapse(const flinch_take *take, size_t index, struct flinch_lapse *out)
{
    if (!out || index >= flinch_take_lapse_count(take))
        return false;
    const struct fl_lapse *l = &take->take->states.lapse[index];
    *out = (struct flinch_lapse){
        .start_s = l->start_s,
        .end_s = l->end_s,
        .start_low_s = l->start_range_s[0],
        .start_high_s = l->start_range_s[1],
        .end_low_s = l->end_range_s[0],
        .end_high_s = l->end_range_s[1],
        .has_trip = l->has_trip,
        .has_return = l->has_return,
        .unique_rate_hz = l->unique_rate_hz,
        .confidence = l->confidence,
    };
    return true;
}

size_t flinch_take_flick_count(const flinch_take *take)
{
    return take ? take->take->n_flicks : 0;
}

void fl_api_flick(struct flinch_flick *out, const struct fl_flick *f)
{
    *out = (struct flinch_flick){
        .start_s = f->start_s,
        .end_s = f->end_s,
        .at_risk = (enum flinch_answer)f->at_risk,
        .tripped = (enum flinch_answer)f->tripped,
        .trip_delay_s = f->trip_delay_s,
    };
    for (int q = 0; q < FLINCH_QUANTITY_ROOM; q++)
        out->peak[q] = q < FL_QUANTITIES ? f->peak[q] : FL_UNKNOWN;
}

bool flinch_take_flick(const flinch_take *take, size_t index, struct flinch_flick *out)
{
    if (!out || index >= flinch_take_flick_count(take))
        return false;
    const struct fl_flick *f = &take->take->flicks[index];
    fl_api_flick(out, f);
    return true;
}

size_t flinch_take_warning_count(const flinch_take *take)
{
    return take ? take->take->n_warnings : 0;
}

const char *flinch_take_warning_code(const flinch_take *take, size_t index)
{
    return index < flinch_take_warning_count(take) ? take->take->warnings[index].code : NULL;
}

const char *flinch_take_warning_text(const flinch_take *take, size_t index)
{
    return index < flinch_take_warning_count(take) ? take->take->warnings[index].text : NULL;
}

enum flinch_state flinch_take_state_at(const flinch_take *take, double t_s)
{
    return take ? (enum flinch_state)fl_states_at(&take->take->states, t_s) : FLINCH_UNSEEN;
}

/* ---- its capture frames, by the table that writes them ---- */

size_t flinch_column_count(void)
{
    size_t n;
    free(fl_frame_columns(&n));
    return n;
}

bool flinch_column(size_t index, struct flinch_column *out)
{
    size_t n;
    struct fl_frame_column *all = fl_frame_columns(&n);
    bool there = out && index < n;
    if (there) {
        memcpy(out->name, all[index].name, sizeof out->name);
        out->unit = all[index].unit;
        out->meaning = all[index].meaning;
    }
    free(all);
    return there;
}
_Static_assert(sizeof((struct flinch_column *)0)->name == FL_COLUMN_SIZE, "names of columns");

size_t flinch_take_column(const flinch_take *take, size_t index, size_t first, size_t n,
                          double *out)
{
    size_t columns, done = 0;
    struct fl_frame_column *all = fl_frame_columns(&columns);
    size_t frames = take && out && index < columns ? (size_t)take->take->frames : 0;
    for (; done < n && first + done < frames; done++)
        out[done] = fl_frame_value(take->take, &all[index], (long)(first + done));
    free(all);
    return done;
}

/* ---- a session ---- */

static void push_wrapper(flinch_session *s, flinch_take *t)
{
    s->takes = fl_realloc(s->takes, s->n_takes + 1, sizeof *s->takes);
    s->takes[s->n_takes++] = t;
}

static enum flinch_code check_session(const struct flinch_session_settings *s, struct fl_error *err)
{
    const struct range ranges[] = {
        {"jobs", s->jobs, 0, 256},
        {"threads", s->threads, 0, 256},
        {"first_s", s->first_s, 0, FL_FOOTAGE_MOST_S},
    };
    return check_ranges(ranges, sizeof ranges / sizeof *ranges, err);
}

enum flinch_code flinch_session_run(flinch_session **out, const char *path,
                                    const struct flinch_session_settings *settings,
                                    const struct flinch_watch *watch, struct flinch_message *why)
{
    static const struct flinch_session_settings plain;
    struct fl_error err = {0};
    if (why)
        *why = (struct flinch_message){0};
    if (!out || !path)
        return fl_api_misuse(why, "no session file or no place for the result; pass both");
    *out = NULL;
    const struct flinch_session_settings *set = settings ? settings : &plain;
    const struct fl_batch_settings batch = {{set->threads, set->first_s},
                                            set->jobs,
                                            set->again,
                                            set->no_strips,
                                            {.linked_pictures = set->link_pictures}};
    const struct fl_batch_watch inner = {watch ? watch->progress : NULL, NULL,
                                         watch ? watch->stop : NULL, watch ? watch->context : NULL};
    flinch_session *s = FL_NEW(flinch_session, 1);
    enum flinch_code code = check_session(set, &err);
    if (!code)
        code = fl_session_read(&s->file, path, &err);
    if (!code)
        code = fl_batch_run(&s->session, &s->file, set->folder, &batch, &inner, &err);
    for (size_t i = 0; !code && i < s->session->n_takes; i++)
        push_wrapper(s, fl_api_wrap(s->session->takes[i], NULL));
    if (code)
        flinch_session_free(&s);
    *out = s;
    return fl_api_tell(why, code, &err);
}

void flinch_session_free(flinch_session **session)
{
    if (!session || !*session)
        return;
    flinch_session *s = *session;
    fl_session_free(&s->session);
    for (size_t i = 0; i < s->n_takes; i++)
        free_wrapper(s->takes[i]);
    free(s->takes);
    fl_session_file_finish(&s->file);
    free(s);
    *session = NULL;
}

flinch_session *flinch_session_new(const char *name)
{
    flinch_session *s = FL_NEW(flinch_session, 1);
    s->session = fl_session_new(name ? name : "session");
    return s;
}

enum flinch_code flinch_session_add(flinch_session *session, flinch_take **take)
{
    if (!session || !take || !*take)
        return FLINCH_ERR_USAGE;
    for (size_t i = 0; i < session->n_takes; i++)
        if (!strcmp(flinch_take_id(session->takes[i]), flinch_take_id(*take)))
            return FLINCH_ERR_USAGE;
    fl_session_add(session->session, (*take)->take);
    push_wrapper(session, *take);
    *take = NULL;
    return FLINCH_OK;
}

enum flinch_code flinch_session_study(flinch_session *session)
{
    if (!session)
        return FLINCH_ERR_USAGE;
    fl_session_study(session->session);
    return FLINCH_OK;
}

enum flinch_code flinch_session_write(const flinch_session *session, const char *folder,
                                      struct flinch_message *why)
{
    struct fl_error err = {0};
    if (why)
        *why = (struct flinch_message){0};
    if (!session || !folder)
        return fl_api_misuse(why, "no session or no folder; pass both");
    static const struct fl_show_settings plain_show;
    enum flinch_code code = fl_batch_prepare(folder, &err);
    for (size_t i = 0; i < session->n_takes && !code; i++)
        code = fl_batch_write_take(folder, session->takes[i]->take, &plain_show, &err);
    if (!code)
        code = fl_batch_write_session(folder, session->session, &plain_show, &err);
    return fl_api_tell(why, code, &err);
}

size_t flinch_session_take_count(const flinch_session *session)
{
    return session ? session->n_takes : 0;
}

const flinch_take *flinch_session_take(const flinch_session *session, size_t index)
{
    return index < flinch_session_take_count(session) ? session->takes[index] : NULL;
}

size_t flinch_session_failed_count(const flinch_session *session)
{
    return session ? session->session->n_failed : 0;
}

const char *flinch_session_failed_id(const flinch_session *session, size_t index)
{
    return index < flinch_session_failed_count(session) ? session->session->failed[index].id : NULL;
}

const char *flinch_session_failed_text(const flinch_session *session, size_t index)
{
    return index < flinch_session_failed_count(session) ? session->session->failed[index].text
                                                        : NULL;
}

size_t flinch_session_curve_count(const flinch_session *session)
{
    return session ? session->session->n_curves : 0;
}

bool flinch_session_curve(const flinch_session *session, size_t index, struct flinch_curve *out)
{
    if (!out || index >= flinch_session_curve_count(session))
        return false;
    const struct fl_curve *c = &session->session->curves[index];
    *out = (struct flinch_curve){
        .game = c->game,
        .condition = c->condition,
        .counts_per_inch = c->counts_per_inch,
        .degrees_per_count = c->degrees_per_count,
        .quantity = (enum flinch_quantity)c->quantity,
        .v10 = c->v10,
        .v50 = c->v50,
        .v90 = c->v90,
        .v50_low = c->v50_low,
        .v50_high = c->v50_high,
        .bound = (enum flinch_bound)c->bound,
        .bound_at = c->bound_at,
        .flicks = c->flicks,
        .trips = c->trips,
        .not_fitted = c->not_fitted,
        .takes = c->takes,
    };
    return true;
}

const char *flinch_quantity_name(enum flinch_quantity quantity)
{
    bool known = (unsigned)quantity < FLINCH_QUANTITIES;
    return known ? fl_quantity_info((enum fl_quantity)quantity)->name : NULL;
}

const char *flinch_quantity_unit(enum flinch_quantity quantity)
{
    bool known = (unsigned)quantity < FLINCH_QUANTITIES;
    return known ? fl_quantity_info((enum fl_quantity)quantity)->unit : NULL;
}
