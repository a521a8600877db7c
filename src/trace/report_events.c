/* Reports become events; the first button of a report shares the event of its motion. */
#include "trace/report_events.h"

#include <math.h>

void fl_report_events_init(struct fl_report_events *e, struct fl_trace *out, double reach_s)
{
    *e = (struct fl_report_events){
        .list = {.out = out}, .survey = fl_stick_survey_new(), .reach_s = reach_s};
}

static float stick_value(const struct fl_stick_choice *c, const struct fl_input_report *r, int i)
{
    const bool told = c->stick.known && r->device == c->device && r->axes & 1u << c->axis[i];
    return told ? (float)fl_stick_value(&c->stick, i, r->axis[c->axis[i]]) : NAN;
}

void fl_report_events_add(struct fl_report_events *e, const struct fl_input_report *r)
{
    struct fl_trace *t = e->list.out;
    struct fl_event v = {.time_s = r->time_s,
                         .dx = (float)r->dx,
                         .dy = (float)r->dy,
                         .wheel = (float)r->wheel,
                         .stick_x = stick_value(&e->choice, r, 0),
                         .stick_y = stick_value(&e->choice, r, 1)};
    if (!e->second_pass)
        fl_stick_survey_add(e->survey, r);
    t->has_motion |= r->dx != 0 || r->dy != 0;
    t->has_buttons |= r->n_buttons > 0;
    for (int i = 0; i == 0 || i < r->n_buttons; i++) {
        if (i > 0)
            v = (struct fl_event){.time_s = r->time_s, .stick_x = NAN, .stick_y = NAN};
        v.button = i < r->n_buttons ? r->button[i].button : 0;
        v.state = i < r->n_buttons ? r->button[i].state : 0;
        fl_event_list_add(&e->list, v, e->reach_s);
    }
}

bool fl_report_events_again(struct fl_report_events *e)
{
    struct fl_trace *t = e->list.out;
    fl_stick_survey_choose(e->survey, &e->choice);
    e->second_pass = e->choice.stick.known;
    if (!e->second_pass)
        return false;
    t->n = 0;
    t->merged = t->backward = 0;
    e->list.full = false;
    return true;
}

void fl_report_events_finish(struct fl_report_events *e)
{
    struct fl_trace *t = e->list.out;
    const struct fl_stick *k = &e->choice.stick;
    t->stick = *k;
    t->has_stick = k->known;
    if (k->known && k->guessed)
        fl_trace_say(t, "stick_range",
                     "The trace does not tell the range of its stick; taken as %.0f to %.0f. Turn "
                     "it once around its rim while recording.",
                     k->low[0], k->high[0]);
    if (!k->known && fl_stick_survey_any(e->survey))
        fl_trace_say(t, "no_stick",
                     "A pad is in the trace, but no pair of its axes rests in the middle and "
                     "moves; no stick is read.");
    fl_stick_survey_free(&e->survey);
}
