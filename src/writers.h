/* All writers of files, in writing order. */
#ifndef FL_WRITERS_H
#define FL_WRITERS_H

#include "show/store/writer.h"

extern const struct fl_writer *const fl_writers[]; /* NULL-terminated */

#endif
