/* Two folders side by side. Whatever can be refused without reading takes is refused first, as a
 * session of many takes is slow to load. */
#include <sys/stat.h>

#include "cli/against.h"
#include "cli/open_folder.h"
#include "cli/terminal.h"
#include "show/screen/against_screen.h"
#include "show/screen/summary.h"
#include "show/store/stored_folder.h"
#include "study/compare/session_study.h"

static bool one_folder(const char *a, const char *b)
{
    struct stat s, t;
    return !stat(a, &s) && !stat(b, &t) && s.st_dev == t.st_dev && s.st_ino == t.st_ino;
}

static enum flinch_code refuse_unread(const char *now, const char *before, struct fl_error *err)
{
    if (one_folder(now, before))
        return fl_fail(
            err, FLINCH_ERR_USAGE,
            "%s and %s are one folder; give the folder of another session after --against", now,
            before);
    enum flinch_code code = fl_stored_version(now, err);
    return code ? code : fl_stored_version(before, err);
}

static bool any_compared(const struct fl_against *a)
{
    for (size_t i = 0; i < a->n; i++)
        if (!a->setting[i].refused)
            return true;
    return false;
}

static void answer(const struct fl_against_side *before, const struct fl_against_side *now,
                   const struct fl_against *a, bool json, bool quiet)
{
    if (a->refused)
        fl_complain(a->refused);
    if (json)
        fl_print_json(stdout, fl_against_json(before, now, a));
    else if (!quiet && !a->refused)
        fl_print_against(stdout, before, now, a);
}

/* Both sessions are loaded. Returns whether anything was compared. */
static bool compare(struct fl_session *now, const char *now_folder, struct fl_session *before,
                    const char *before_folder, bool json, bool quiet)
{
    struct fl_against a;
    struct fl_arena *arena = fl_arena_new();
    fl_session_study(before);
    fl_session_study(now);
    fl_against_make(&a, before, now, arena);
    answer(&(struct fl_against_side){before_folder, before},
           &(struct fl_against_side){now_folder, now}, &a, json, quiet);
    bool any = any_compared(&a);
    fl_arena_free(&arena);
    return any;
}

int fl_show_against(const char *now, const char *before, bool json, bool quiet)
{
    struct fl_session *s = NULL, *t = NULL;
    struct fl_error err = {0};
    int bad = 0, bad_before = 0;
    if (refuse_unread(now, before, &err)) {
        const struct fl_against a = {.refused = err.text};
        answer(&(struct fl_against_side){before, NULL}, &(struct fl_against_side){now, NULL}, &a,
               json, quiet);
        return fl_finish_output(2);
    }
    int status = 2;
    if (fl_open_folder(&s, now, &bad, &err) || fl_open_folder(&t, before, &bad_before, &err))
        fl_complain(err.text);
    else
        status = !compare(s, now, t, before, json, quiet) || bad || bad_before;
    fl_session_free(&s);
    fl_session_free(&t);
    return fl_finish_output(status);
}
