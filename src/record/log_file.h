/* A file that grows while it is recorded: rows go to memory at once and to the disk twice a second,
 * by a thread of its own, so that a slow disk delays no report and a power cut loses under a
 * second. */
#ifndef FL_RECORD_LOG_FILE_H
#define FL_RECORD_LOG_FILE_H

#include <stddef.h>

#include "base/error.h"

struct fl_log_file;
/* Refuses a file that is there. */
enum flinch_code fl_log_file_open(struct fl_log_file **out, const char *path, struct fl_error *err);
void fl_log_file_add(struct fl_log_file *f, const char *text, size_t n);
/* Writes what there is and waits until it is on the disk. */
void fl_log_file_sync(struct fl_log_file *f);
/* FLINCH_OK while everything could be written. */
enum flinch_code fl_log_file_check(struct fl_log_file *f, struct fl_error *err);
/* Writes the rest; NULL is fine, clears the pointer. Returns as fl_log_file_check. */
enum flinch_code fl_log_file_close(struct fl_log_file **f, struct fl_error *err);

#endif
