/* Answers given by eye on the page of an audit: a JSON file that the page writes,
 * docs/audit-answers.schema.json. */
#ifndef FL_SHOW_STORE_EYE_ANSWERS_H
#define FL_SHOW_STORE_EYE_ANSWERS_H

#include "base/error.h"
#include "study/compare/eye_check.h"

/* Answers about exactly the measurements that s holds, in the arena of its names. Every fault is
 * one line: not such a file, of another version, about a take that s lacks or that was measured
 * anew since (its key differs), at a moment that is never asked about, twice at one, none at all.
 */
enum flinch_code fl_eye_answers_read(const struct fl_eye_answers **out, const struct fl_session *s,
                                     const char *path, struct fl_error *err);
/* Copies such a file into the folder of results, from where fl_eye_answers_recall takes it. */
enum flinch_code fl_eye_answers_keep(const char *folder, const char *path, struct fl_error *err);
/* Sets s->eye_answers from the copy in its folder, if there is one and it is about these
 * measurements. */
void fl_eye_answers_recall(struct fl_session *s, const char *folder);

#endif
