/* Atomic file writing: a file appears whole or not at all. */
#ifndef FL_BASE_FILE_H
#define FL_BASE_FILE_H

#include <stdbool.h>
#include <stdio.h>

#include "base/error.h"

/* A file being written beside its final name. */
struct fl_file {
    FILE *stream; /* write here; check nothing, fl_file_commit does */
    char *path, *temp;
};

enum flinch_code fl_file_begin(struct fl_file *f, const char *path, struct fl_error *err);
/* Flushes, checks for any earlier write error, renames into place. On failure the
 * temporary file is gone and an older file of that name is untouched. */
enum flinch_code fl_file_commit(struct fl_file *f, struct fl_error *err);
/* Drops the temporary file. Harmless after commit and on a zeroed struct. */
void fl_file_abandon(struct fl_file *f);
/* Drops the temporary files of all that are being written, by any thread, for a process that ends
 * at once. Async-signal-safe. */
void fl_files_drop(void);

/* For libraries that write by name (PNG, movie): gives the temporary name in f->temp and no
 * stream; commit renames it. The temporary name keeps the extension of path. */
enum flinch_code fl_file_begin_named(struct fl_file *f, const char *path, struct fl_error *err);

/* Creates a folder and its parents; existing folders are fine. Takes out of it what processes of
 * this machine were writing there that are no more. */
enum flinch_code fl_make_folder(const char *path, struct fl_error *err);
/* Whole file as malloc'ed bytes plus a NUL; refuses more than limit bytes. */
enum flinch_code fl_read_file(const char *path, size_t limit, char **data, size_t *size,
                              struct fl_error *err);
/* The same of a file that lies in a folder of results, which may be somebody else's: a regular
 * file itself, no link to one. */
enum flinch_code fl_read_stored(const char *path, size_t limit, char **data, size_t *size,
                                struct fl_error *err);
/* Both are there and one and the same, by whatever names and links. */
bool fl_same_file(const char *a, const char *b);
/* dir/name, malloc'ed; name alone when it is absolute or dir is NULL or empty. */
char *fl_path_join(const char *dir, const char *name);
/* Folder part of path, malloc'ed; "." when it has none. */
char *fl_path_folder(const char *path);

#endif
