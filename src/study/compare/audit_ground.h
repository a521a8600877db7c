/* Where a check by eye looks: capture frames of the seen time, in three strata.
 *
 * A frame belongs to one when it lies in a single stretch (one span of one state) and at least
 * FL_AUDIT_CLEAR base periods from every edge, where nobody can say which side a picture is on.
 * Edges are where on and off follow each other, or would but for unseen time between them, which
 * then counts whole. Nothing that is inferred matters here. Base period: the longer of the take's
 * two. Takes marked as controls are left out, as nobody doubts them; what else is left out is on
 * and slow, and a take's first frame.
 */
#ifndef FL_STUDY_COMPARE_AUDIT_GROUND_H
#define FL_STUDY_COMPARE_AUDIT_GROUND_H

#include "study/take/session.h"

#define FL_AUDIT_CLEAR 1.0 /* base periods from an edge within which nothing is asked */
#define FL_AUDIT_NEAR 4.0  /* base periods from an edge that count as near it */

enum fl_stratum {
    FL_STRATUM_ON,   /* on while turning; where no camera speed is known, on */
    FL_STRATUM_OFF,  /* off */
    FL_STRATUM_EDGE, /* either, near an edge */
    FL_STRATA
};
const char *fl_stratum_name(enum fl_stratum s);  /* as in files: "on_turning", "off", "near_edge" */
const char *fl_stratum_label(enum fl_stratum s); /* for people: "on while turning" */

/* Consecutive frames of one stratum in one stretch. */
struct fl_audit_run {
    size_t take, stretch; /* in the session; the span in the take */
    long first, n;
    enum fl_stratum stratum;
};

struct fl_audit_ground {
    struct fl_audit_run *run; /* in order of takes and time; malloc'ed */
    size_t n, cap;
    double seen_s; /* on and off, of all takes but controls */
    double stratum_s[FL_STRATA];
};

void fl_audit_ground_find(struct fl_audit_ground *out, const struct fl_session *s);
/* The run that holds a frame; NULL: nothing is asked there. */
const struct fl_audit_run *fl_audit_ground_at(const struct fl_audit_ground *g, size_t take,
                                              long frame);
void fl_audit_ground_finish(struct fl_audit_ground *g);

#endif
