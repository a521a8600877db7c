/* A folder for what writers write, and everything of a session written into it. */
#ifndef FL_SHOW_FOLDER_H
#define FL_SHOW_FOLDER_H

#include <ftw.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "writers.h"
#include "show/store/writer.h"

static inline char *make_folder(void)
{
    char *name = strdup("show-test-XXXXXX");
    return mkdtemp(name);
}

static inline int remove_one(const char *path, const struct stat *st, int flag, struct FTW *ftw)
{
    (void)st;
    (void)flag;
    (void)ftw;
    return remove(path);
}

static inline void remove_folder(char *name)
{
    nftw(name, remove_one, 16, FTW_DEPTH | FTW_PHYS);
    free(name);
}

/* writer NULL: all. */
static inline enum flinch_code write_all(const char *folder, const struct fl_session *s,
                                         const char *writer, struct fl_error *err)
{
    static const struct fl_show_settings plain;
    for (size_t w = 0; fl_writers[w]; w++) {
        const struct fl_writer *one = fl_writers[w];
        if (writer && strcmp(writer, one->name))
            continue;
        enum flinch_code code = FLINCH_OK;
        for (size_t i = 0; one->write_take && i < s->n_takes && !code; i++)
            code = one->write_take(folder, s->takes[i], &plain, err);
        if (!code && one->write_session)
            code = one->write_session(folder, s, &plain, err);
        if (code)
            return code;
    }
    return FLINCH_OK;
}

#endif
