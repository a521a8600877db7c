/* Writers: measured takes and sessions → files. The contract that every writer keeps; src/writers.c
 * lists them. */
#ifndef FL_SHOW_STORE_WRITER_H
#define FL_SHOW_STORE_WRITER_H

#include <stdbool.h>

#include "base/error.h"
#include "base/progress.h"
#include "show/store/mark_settings.h"
#include "show/store/chart_settings.h"
#include "study/take/session.h"
#include "study/take/take.h"

/* How results are written; zeroed is the default. */
struct fl_show_settings {
    bool linked_pictures; /* the page names its filmstrips' files however small they are */
    struct fl_mark_settings marks;
    struct fl_chart_settings charts; /* charts */
};

struct fl_writer {
    const char *name; /* "json", "csv", "charts", "marks", "page" */
    /* Either may be NULL. folder exists; writers make sub-folders. */
    bool stores; /* a take is read back from its files */
    enum flinch_code (*write_take)(const char *folder, const struct fl_take *t,
                                   const struct fl_show_settings *settings, struct fl_error *err);
    enum flinch_code (*write_session)(const char *folder, const struct fl_session *s,
                                      const struct fl_show_settings *settings,
                                      struct fl_error *err);
};

#endif
