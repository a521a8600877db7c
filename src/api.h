/* What the files of the public library share. */
#ifndef FL_API_H
#define FL_API_H

#include "base/error.h"
#include "base/mem.h"
#include "flinch/flinch.h"
#include "study/input/session_file.h"
#include "study/take/session.h"
#include "study/take/take.h"

struct flinch_session {
    struct fl_session *session;
    struct fl_session_file file; /* of flinch_session_run; else empty */
    flinch_take **takes;         /* one a measured take of `session` */
    size_t n_takes;
};

struct flinch_take {
    struct fl_take *take;   /* owned, until a session takes it over */
    struct fl_arena *names; /* texts of its specification; NULL: they are the session file's */
};

/* Hands the line of err to the caller; returns code. why may be NULL. */
enum flinch_code fl_api_tell(struct flinch_message *why, enum flinch_code code,
                             const struct fl_error *err);
enum flinch_code fl_api_misuse(struct flinch_message *why, const char *text);
/* The specification that settings ask for, its texts in names; footage may be NULL. */
enum flinch_code fl_api_spec(struct fl_take_spec *spec, const struct flinch_take_settings *s,
                             struct fl_arena *names, struct fl_error *err);
/* Takes both over. */
flinch_take *fl_api_wrap(struct fl_take *take, struct fl_arena *names);
void fl_api_flick(struct flinch_flick *out, const struct fl_flick *f);

#endif
