/* write_session FOLDER: everything that the writers make of an invented session, for readers
 * outside the project (check_written.py). Holds the odd cases too: null fields, bounds, a refused clock. */
#include <stdio.h>

#include "fake_take.h"
#include "show_folder.h"

static void add_odd_takes(struct fl_session *s)
{
    struct fake_settings f = {.id = "odd-never", .game = "Quiet, \"Vale\" <b>", .condition = "=cap(60)", .counts_per_inch = 800,
                              .degrees_per_count = 0.044, .v50_deg_s = 1e9, .slope = 9, .flicks = 20, .seed = 5};
    struct fl_take *t = fake_take(&f);
    static const char *const keys[] = {"driver", "driver"}, *const values[] = {"1 & 2", NULL};
    t->spec.note_keys = keys;
    t->spec.note_values = values;
    t->spec.n_notes = 2;
    t->clock = (struct fl_clock){.refused = "two peaks alike"};
    fl_session_add(s, t);
    t = fl_take_new();
    t->spec.id = "odd-empty";
    t->spec.game = "Nothing";
    fl_session_add(s, t);
}

int main(int argc, char **argv)
{
    struct fl_error err = {0};
    struct fl_session *s = fake_session();
    add_odd_takes(s);
    fl_session_study(s);
    enum flinch_code code = argc == 2 ? write_all(argv[1], s, NULL, &err) : FLINCH_ERR_USAGE;
    fl_session_free(&s);
    if (code)
        fprintf(stderr, "%s\n", err.text);
    return code != FLINCH_OK;
}
