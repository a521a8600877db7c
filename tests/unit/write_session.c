/* write_session FOLDER: everything that the writers make of an invented session, for readers
 * outside the project (check_written.py). Holds the odd cases too: null fields, bounds, a refused
 * clock, all tripped, none tripped, one flick, none, all of one speed, absurd settings. */
#include <stdio.h>

#include "fake_take.h"
#include "show_folder.h"
#include "study/compare/session_study.h"

static void add_odd_takes(struct fl_session *s)
{
    struct fake_settings f = {.id = "odd-never",
                              .game = "Quiet, \"Vale\" <b>",
                              .condition = "=cap(60)",
                              .counts_per_inch = 800,
                              .degrees_per_count = 0.044,
                              .v50_deg_s = 1e9,
                              .slope = 9,
                              .flicks = 20,
                              .seed = 5};
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
    const struct fake_settings odd[] = {
        {.id = "odd-always",
         .game = "Always",
         .counts_per_inch = 800,
         .degrees_per_count = 0.044,
         .v50_deg_s = 1e-3,
         .flicks = 8},
        {.id = "odd-single",
         .game = "Single",
         .counts_per_inch = 800,
         .degrees_per_count = 0.044,
         .v50_deg_s = 250,
         .flicks = 1},
        {.id = "odd-still",
         .game = "Still",
         .counts_per_inch = 800,
         .degrees_per_count = 0.044,
         .v50_deg_s = 250,
         .flicks = 0},
        {.id = "odd-same",
         .game = "Same",
         .counts_per_inch = 800,
         .degrees_per_count = 0.044,
         .v50_deg_s = 250,
         .flicks = 9,
         .slowest = 250,
         .fastest = 250},
        {.id = "odd-huge",
         .game = "Huge",
         .counts_per_inch = 1e12,
         .degrees_per_count = 1e-12,
         .v50_deg_s = 250,
         .flicks = 9},
    };
    for (size_t i = 0; i < sizeof odd / sizeof *odd; i++) {
        f = odd[i];
        f.slope = 9;
        f.seed = 6 + i;
        fl_session_add(s, fake_take(&f));
    }
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
