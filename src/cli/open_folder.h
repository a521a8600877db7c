/* A folder that run, look or show has written, for a command that reads it. */
#ifndef FL_CLI_OPEN_FOLDER_H
#define FL_CLI_OPEN_FOLDER_H

#include "base/error.h"
#include "study/take/session.h"

/* fl_stored_session, and a line on stderr for each take that cannot be read. */
enum flinch_code fl_open_folder(struct fl_session **out, const char *folder, int *bad,
                                struct fl_error *err);

#endif
