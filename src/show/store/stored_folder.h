/* Reading back a folder that run, look or show has written. */
#ifndef FL_SHOW_STORE_STORED_FOLDER_H
#define FL_SHOW_STORE_STORED_FOLDER_H

#include "base/error.h"
#include "study/take/session.h"

/* The session of the folder, its takes loaded but not studied; without a session.json, all takes
 * that are stored there. A take that cannot be read is
 * named as failed, before all others, and counted in *bad; takes that failed when they were
 * measured stay named. Answers by eye that the folder keeps come with it. FLINCH_ERR_USAGE when the
 * folder holds neither. */
enum flinch_code fl_stored_session(struct fl_session **out, const char *folder, int *bad,
                                   struct fl_error *err);

/* One take of the folder; an id that it does not have is answered with those that it has. */
enum flinch_code fl_stored_take(struct fl_take **out, const char *folder, const char *id,
                                struct fl_error *err);

/* Fails with one line when the folder's session.json names another version of its format than this
 * flinch writes. A folder without one passes: fl_stored_session says what is wrong. */
enum flinch_code fl_stored_version(const char *folder, struct fl_error *err);

#endif
