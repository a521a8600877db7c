/* Results hold file names without folders, as they get published. */
#include "show/clip/find_footage.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/file.h"
#include "show/text/escape.h"
#include "study/input/session_file.h"

static enum flinch_code from_session(char **out, const struct fl_footage_wish *w, const char *id,
                                     struct fl_error *err)
{
    struct fl_session_file file;
    enum flinch_code code = fl_session_read(&file, w->session, err);
    if (code)
        return FLINCH_ERR_SESSION; /* a session file that cannot be read is wrong use */
    for (size_t i = 0; i < file.n_takes && !*out; i++)
        if (!strcmp(file.takes[i].id, id))
            *out = fl_strdup(file.takes[i].footage);
    fl_session_file_finish(&file);
    if (*out)
        return FLINCH_OK;
    return fl_fail(err, FLINCH_ERR_USAGE, "%s: lists no take '%.64s'; %s%s", w->session, id,
                   w->option ? "name the footage with " : "give the session file that was measured",
                   w->option ? w->option : "");
}

static enum flinch_code beside_results(char **out, const struct fl_footage_wish *w,
                                       const struct fl_take *t, struct fl_error *err)
{
    const char *name = fl_own_name(t->spec.footage);
    char *parent = fl_path_join(w->folder, "..");
    const char *const places[] = {w->folder, parent, "."};
    for (int i = 0; name && *name && i < 3 && !*out; i++) {
        *out = fl_path_join(places[i], name);
        if (access(*out, R_OK)) {
            free(*out);
            *out = NULL;
        }
    }
    free(parent);
    if (*out)
        return FLINCH_OK;
    return fl_fail(err, FLINCH_ERR_USAGE,
                   "take %s: its footage (%s) lies neither in %s, nor beside it, nor here; name it "
                   "with %s%s--session SESSION.yaml",
                   t->spec.id, name ? name : "unnamed", w->folder, w->option ? w->option : "",
                   w->option ? " FILE or " : "");
}

enum flinch_code fl_find_footage(char **out, const struct fl_footage_wish *w,
                                 const struct fl_take *t, struct fl_error *err)
{
    *out = w->given ? fl_strdup(w->given) : NULL;
    if (*out)
        return FLINCH_OK;
    return w->session ? from_session(out, w, t->spec.id, err) : beside_results(out, w, t, err);
}
