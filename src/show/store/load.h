/* A take read back from its files. */
#ifndef FL_SHOW_STORE_LOAD_H
#define FL_SHOW_STORE_LOAD_H

#include "base/error.h"
#include "study/take/take.h"

/* Reads takes/ID.json and its CSV files back into a take: `flinch show` and re-use. The file
 * must be complete; anything missing or of another version is an error. */
enum flinch_code fl_take_load(const char *folder, const char *id, struct fl_take **out,
                              struct fl_error *err);

/* settings_key: text that names inputs and settings; stored in takes/ID.json as "key", compared
 * for re-use. Reads only that field; NULL when there is none. malloc'ed. */
char *fl_stored_key(const char *folder, const char *id);

#endif
