/* Where the footage of a stored take lies. */
#ifndef FL_SHOW_CLIP_FIND_FOOTAGE_H
#define FL_SHOW_CLIP_FIND_FOOTAGE_H

#include "base/error.h"
#include "study/take/take.h"

struct fl_footage_wish {
    const char *folder;  /* of the results */
    const char *session; /* session file that says where the footage lies; NULL: not given */
    const char *given;   /* the footage itself; NULL: not given */
    const char *option;  /* "--footage", for messages; NULL: there is no such option */
};

/* The path, malloc'ed: as given, else as the session file has it, else a file of the name that the
 * take's results hold, in the folder, in the one that holds it, or here. FLINCH_ERR_USAGE or
 * FLINCH_ERR_SESSION says what to write; *out is NULL then. Whether it is the footage that was
 * measured is not checked. */
enum flinch_code fl_find_footage(char **out, const struct fl_footage_wish *w,
                                 const struct fl_take *t, struct fl_error *err);

#endif
