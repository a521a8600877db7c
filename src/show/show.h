/* Writers: measured takes and sessions → files. One contract, one registry. */
#ifndef FL_SHOW_SHOW_H
#define FL_SHOW_SHOW_H

#include <stdbool.h>

#include "base/error.h"
#include "base/progress.h"
#include "show/mark_settings.h"
#include "show/plate_settings.h"
#include "study/session.h"
#include "study/take.h"

/* How results are written; zeroed is the default. */
struct fl_show_settings {
    bool linked_pictures; /* the page names its filmstrips' files, not holds their pictures */
    struct fl_mark_settings marks;
    struct fl_plate_settings plates; /* charts */
};

struct fl_writer {
    const char *name;  /* "json", "csv", "charts", "marks", "page" */
    /* Either may be NULL. folder exists; writers make sub-folders. */
    enum flinch_code (*write_take)(const char *folder, const struct fl_take *t, const struct fl_show_settings *settings,
                                   struct fl_error *err);
    enum flinch_code (*write_session)(const char *folder, const struct fl_session *s,
                                      const struct fl_show_settings *settings, struct fl_error *err);
};

extern const struct fl_writer *const fl_writers[]; /* NULL-terminated, in writing order */

/* Rounds every figure of t to what its files hold. Call it on a freshly measured take: then the
 * study of this session and of one that is read back agree to the letter. Idempotent. */
void fl_take_settle(struct fl_take *t);

/* Reads takes/ID.json and its CSV files back into a take: `flinch show` and re-use. The file
 * must be complete; anything missing or of another version is an error. */
enum flinch_code fl_take_load(const char *folder, const char *id, struct fl_take **out,
                              struct fl_error *err);

/* settings_key: text that names inputs and settings; stored in takes/ID.json as "key", compared
 * for re-use. Reads only that field; NULL when there is none. malloc'ed. */
char *fl_take_stored_key(const char *folder, const char *id);

#endif
