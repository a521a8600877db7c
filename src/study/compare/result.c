/* Rows of one ranking share a quantity: camera speed if any has it, as people compare that. */
#include "study/compare/result.h"

enum fl_quantity fl_results_quantity(const struct fl_session *s)
{
    const struct fl_result *first = NULL;
    for (size_t i = 0; i < s->n_results; i++) {
        const struct fl_result *r = &s->results[i];
        if (!r->control && r->curve && r->curve->quantity == FL_CAMERA_SPEED)
            return FL_CAMERA_SPEED;
        if (!r->control && r->curve && (!first || r->order < first->order))
            first = r;
    }
    return first ? first->curve->quantity : FL_CAMERA_SPEED;
}

const struct fl_curve *fl_result_curve(const struct fl_result *r, enum fl_quantity q)
{
    return !r->control && r->curve && r->curve->quantity == q ? r->curve : NULL;
}
