/* Tables of one row a stratum, and one a moment at which eye and measurement differ. */
#include "show/screen/eye_screen.h"

#include <math.h>
#include <stdlib.h>

#include "show/screen/terminal_text.h"
#include "show/text/escape.h"

/* ---- what is asked ---- */

void fl_print_audit(FILE *out, const struct fl_audit_told *told, const struct fl_audit_ground *g)
{
    char *path = fl_clean_text(told->page);
    fprintf(out, "%s: %zu moments\n", path, told->moments);
    free(path);
    for (int s = 0; s < FL_STRATA; s++)
        fprintf(out, "%5zu %s (%.0f %% of the seen time)\n", told->of_stratum[s],
                fl_stratum_label((enum fl_stratum)s), 100 * g->stratum_s[s] / g->seen_s);
    if (told->moments < told->asked)
        fl_put_wrapped(out,
                       "fewer than asked for: each stretch of on or off is asked about once, and "
                       "there are no more",
                       fprintf(out, "note: "), 4);
    fl_put_wrapped(out,
                   "Open it in a browser, answer, save the answers; then: flinch audit FOLDER "
                   "--answers FILE",
                   0, 0);
}

/* ---- what was answered ---- */

static void put_row(FILE *out, const char *label, const struct fl_agreement *a)
{
    char share[40] = "-";
    if (fl_known(a->share))
        snprintf(share, sizeof share, "%.0f %% (%.0f to %.0f)", 100 * a->share, 100 * a->low,
                 100 * a->high);
    fl_put_cell(out, label, 18);
    fprintf(out, "%6ld %7ld   ", a->agree, a->differ);
    fl_put_cell(out, share, 18);
    fprintf(out, "%8ld   %9.0f %%\n", a->untold, 100 * a->seen_share);
}

static void put_strata(FILE *out, const struct fl_eye_check *c)
{
    fputs("                   agree  differ   agree (95 %)        untold   of seen time\n", out);
    for (int s = 0; s < FL_STRATA; s++)
        put_row(out, fl_stratum_label((enum fl_stratum)s), &c->stratum[s]);
    put_row(out, "together, by time", &c->all);
}

static void put_differences(FILE *out, const struct fl_eye_check *c)
{
    fputs("\ndiffer                          time   measured   by eye   drawn from\n", out);
    for (size_t i = 0; i < c->n_differences; i++) {
        const struct fl_eye_difference *d = &c->difference[i];
        fl_put_cell(out, d->id, 24);
        fprintf(out, "%10.3f s  ", d->time_s);
        fl_put_cell(out, fl_state_name(d->state), 11);
        fl_put_cell(out, fl_eye_name(d->eye), 9);
        fprintf(out, "%s\n", fl_stratum_label(d->stratum));
    }
}

void fl_print_eye_check(FILE *out, const struct fl_eye_check *c, const char *differences)
{
    fprintf(out, "checked by eye: %s\n\n", c->text);
    put_strata(out, c);
    if (c->n_differences)
        put_differences(out, c);
    if (differences) {
        char *path = fl_clean_text(differences);
        fprintf(out, "\n%s shows them\n", path);
        free(path);
    }
}
