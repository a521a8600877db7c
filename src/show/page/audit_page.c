/* Strips are drawn by style alone: one picture a moment holds all of its frames, and each cell
 * shows its part, so that cells wrap with the width of the page. */
#include "show/page/audit_page.h"

#include <math.h>
#include <stdlib.h>

#include "show/page/page_columns.h"
#include "show/page/page.h"
#include "show/page/page_code.h"
#include "show/store/eye_fields.h"
#include "show/store/fields.h"
#include "show/store/json_value.h"
#include "show/text/escape.h"

static void put_head(FILE *out, const struct fl_session *s, const char *title, bool scripted)
{
    fputs("<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
          "<meta name=\"viewport\" content=\"width=device-width,initial-scale=1\">\n"
          "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; base-uri "
          "'none'; form-action 'none'; style-src "
          "'unsafe-inline'; img-src data:",
          out);
    if (scripted)
        fprintf(out, "; script-src %s", fl_audit_code.policy);
    fprintf(out, "\">\n<meta name=\"generator\" content=\"flinch " FLINCH_VERSION "\">\n<title>%s",
            title);
    if (s->name)
        fputs(": ", out);
    fl_put_markup(out, s->name);
    fputs("</title>\n", out);
    fl_page_style(out);
    fprintf(out, "<style>\n%s</style>\n", fl_audit_code.style);
    if (scripted)
        fprintf(out, "<script>%s</script>\n", fl_audit_code.early);
    fprintf(out, "</head>\n<body>\n<header><h1>%s", title);
    if (s->name)
        fputs(": <bdi>", out);
    fl_put_markup(out, s->name);
    fputs(s->name ? "</bdi></h1>\n" : "</h1>\n", out);
}

/* ---- pictures ---- */

static void put_pictures(FILE *out, const struct fl_audit_picture *picture, size_t n)
{
    fputs("<style>\n", out);
    for (size_t i = 0; i < n; i++) {
        char *text = fl_base64(picture[i].png, picture[i].size);
        fprintf(out,
                "#m%zu i{background-image:url(data:image/png;base64,%s);background-size:%d%% "
                "200%%;aspect-ratio:%d/%d}\n",
                i + 1, text, 100 * picture[i].n, picture[i].width, picture[i].height);
        free(text);
    }
    fputs("</style>\n", out);
}

static void put_cell(FILE *out, const struct fl_audit_picture *p, int i, bool gap)
{
    const double x = p->n > 1 ? 100.0 * i / (p->n - 1) : 0;
    fprintf(out, "<div class=\"cell%s\">", i == p->at ? " asked" : "");
    fputs(gap ? "<span class=\"lost\">a frame was lost here</span>" : "", out);
    fprintf(out, "<i style=\"background-position:%.4f%% 0\"></i>", x);
    fprintf(out, "<i style=\"background-position:%.4f%% 100%%\"></i></div>\n", x);
}

static void put_frames(FILE *out, const struct fl_take *t, const struct fl_audit_picture *p)
{
    enum { MOST_COLUMNS = 7 };
    const double most_s = 1.5 / t->capture_rate_hz;
    const int rows = (p->n + MOST_COLUMNS - 1) / MOST_COLUMNS, columns = (p->n + rows - 1) / rows;
    fprintf(out,
            "<div class=\"frames\" style=\"--columns:%d\" role=\"img\" aria-label=\"%d captured "
            "frames in order, number "
            "%d is marked; below each what changed since the frame before\">\n",
            columns, p->n, p->at + 1);
    for (int i = 0; i < p->n; i++) {
        const long f = p->first + i;
        put_cell(out, p, i, t->constant_rate && t->time_s[f] - t->time_s[f - 1] > most_s);
    }
    fputs("</div>\n", out);
}

/* What on and off would look like here; says nothing of which it is. */
static void put_rates(FILE *out, const struct fl_take *t)
{
    static const char *const times[] = {[2] = "twice", [3] = "three times", [4] = "four times"};
    const struct fl_states *s = &t->states;
    fprintf(out, "<p class=\"rates\">The recording has %.0f frames a second.", t->capture_rate_hz);
    if (fl_known(s->base_rate_off_hz))
        fprintf(out, " Off brings about %.0f new pictures a second", s->base_rate_off_hz);
    if (fl_known(s->base_rate_off_hz) && fl_known(s->base_rate_on_hz))
        fprintf(out, ", on about %.0f.", fl_states_on_output_hz(s));
    else if (fl_known(s->base_rate_off_hz))
        fprintf(out, ", on about %s as many.",
                s->frames_per_rendered >= 2 && s->frames_per_rendered <= 4
                    ? times[s->frames_per_rendered]
                    : "two to four times");
    else if (fl_known(s->base_rate_on_hz))
        fprintf(out, " On brings about %.0f new pictures a second, off about %.0f.",
                fl_states_on_output_hz(s), s->base_rate_on_hz);
    fputs("</p>\n", out);
}

/* ---- the page that asks ---- */

static const char opening[] =
    "<p class=\"lead\">Was frame synthesis on? What you see here is compared with what was "
    "measured.</p></header>\n<main>\n"
    "<p class=\"care\">The pictures stand still, but the footage that they are taken from flickers "
    "and turns fast. Going through them quickly can flicker too: take your time, rest your eyes, "
    "and leave it to someone else if flicker harms you.</p>\n"
    "<noscript><p class=\"mind\">This page needs its script to take answers.</p></noscript>\n"
    "<details class=\"how\"><summary>How to look</summary>\n<ul>\n"
    "<li>Frames follow each other in reading order. The question is about the marked one; the "
    "others show what comes before and after it, and may be of the other state.</li>\n"
    "<li>Below each frame stands what changed since the frame before: white is nothing. Screens "
    "are "
    "drawn from top to bottom, so a new picture that comes in the middle of a frame changes only "
    "what lies below.</li>\n"
    "<li>Off, new pictures come half as often: whole frames, or bands of them, stay white again "
    "and again, at even distances.</li>\n"
    "<li>On, hardly any part that moves stays white twice. A made-up picture may be softer, or "
    "show ghosts at edges.</li>\n"
    "<li>If little moves, or you are not sure, say that you cannot tell. That is counted apart and "
    "does no harm.</li>\n</ul></details>\n";

static const char controls[] =
    "<div class=\"bar\">\n"
    "<div class=\"answers\" role=\"group\" aria-label=\"Was frame synthesis on at the marked "
    "frame?\">\n"
    "<button type=\"button\" data-answer=\"on\" aria-pressed=\"false\">On <kbd>1</kbd></button>\n"
    "<button type=\"button\" data-answer=\"off\" aria-pressed=\"false\">Off <kbd>2</kbd></button>\n"
    "<button type=\"button\" data-answer=\"cannot tell\" aria-pressed=\"false\">Cannot tell "
    "<kbd>3</kbd></button>\n</div>\n"
    "<div class=\"moves\"><button type=\"button\" id=\"back\">Back <kbd>←</kbd></button>\n"
    "<button type=\"button\" id=\"next\">Next <kbd>→</kbd></button>\n"
    "<label><input type=\"checkbox\" id=\"keys\" checked> answer by keys</label></div>\n</div>\n"
    "<section class=\"saving\" aria-labelledby=\"saving\"><h2 id=\"saving\">Save the answers</h2>\n"
    "<p><progress id=\"done\" aria-label=\"Moments answered\"></progress> <span id=\"count\" "
    "role=\"status\"></span></p>\n"
    "<p><button type=\"button\" id=\"save\">Save the answers</button> <button type=\"button\" "
    "id=\"unanswered\">Go to one without an answer</button></p>\n"
    "<p>They are saved as a file. How many agree with what was measured is told by</p>\n"
    "<p><code>flinch audit FOLDER --answers FILE</code></p></section>\n";

static json_t *asked_json(const struct fl_session *s, const struct fl_audit_moment *moment,
                          size_t n, uint64_t seed)
{
    json_t *takes = json_array(), *moments = json_array();
    for (size_t i = 0; i < s->n_takes; i++) {
        bool asked = false;
        for (size_t k = 0; k < n; k++)
            asked = asked || moment[k].take == i;
        if (asked)
            fl_json_append(takes,
                           json_pack("{s: o, s: o}", "id", fl_json_text(s->takes[i]->spec.id),
                                     "key", fl_json_text(s->takes[i]->key)));
    }
    for (size_t i = 0; i < n; i++) {
        const struct fl_take *t = s->takes[moment[i].take];
        fl_json_append(moments, json_pack("{s: o, s: o}", "take", fl_json_text(t->spec.id),
                                          "time_s", fl_json_time(t->time_s[moment[i].frame])));
    }
    return json_pack("{s: s, s: i, s: o, s: I, s: o, s: o}", "format", fl_answers_document.format,
                     "version", fl_answers_document.version, "session", fl_json_text(s->name),
                     "seed", (json_int_t)seed, "takes", takes, "moments", moments);
}

void fl_audit_page_write(FILE *out, const struct fl_session *s,
                         const struct fl_audit_moment *moment,
                         const struct fl_audit_picture *picture, size_t n, uint64_t seed)
{
    put_head(out, s, "Checked by eye", true);
    fputs(opening, out);
    put_pictures(out, picture, n);
    for (size_t i = 0; i < n; i++) {
        const struct fl_take *t = s->takes[moment[i].take];
        fprintf(out,
                "<section class=\"moment\" id=\"m%zu\" aria-labelledby=\"h%zu\">\n<h2 id=\"h%zu\" "
                "tabindex=\"-1\">Moment %zu of %zu</h2>\n",
                i + 1, i + 1, i + 1, i + 1, n);
        put_frames(out, t, &picture[i]);
        put_rates(out, t);
        fputs("</section>\n", out);
    }
    fputs(controls, out);
    fputs("</main>\n<script type=\"application/json\" id=\"asked\">", out);
    fl_page_json(out, asked_json(s, moment, n, seed));
    fprintf(out, "</script>\n<script>%s</script>\n</body>\n</html>\n", fl_audit_code.script);
}

/* ---- the page of what differs ---- */

static void put_difference(FILE *out, const struct fl_session *s, const struct fl_eye_difference *d,
                           const struct fl_audit_picture *picture, size_t number)
{
    const struct fl_take *t = s->takes[d->take];
    fprintf(out, "<section class=\"moment\" id=\"m%zu\">\n<h2>Take <bdi>", number);
    fl_put_markup(out, d->id);
    fprintf(out,
            "</bdi>, %.3f s</h2>\n<p class=\"both\">Measured: <strong>%s</strong>. By eye: "
            "<strong>%s</strong>. Drawn from: %s.</p>\n",
            d->time_s, fl_state_name(d->state), fl_eye_name(d->eye), fl_stratum_label(d->stratum));
    put_frames(out, t, picture);
    put_rates(out, t);
    fputs("</section>\n", out);
}

void fl_differences_page_write(FILE *out, const struct fl_session *s, const struct fl_eye_check *c,
                               const struct fl_audit_picture *picture)
{
    put_head(out, s, "Where eye and measurement differ", false);
    fprintf(out,
            "<p class=\"lead\">Checked by eye: %s.</p></header>\n<main>\n<p class=\"care\">The "
            "footage that these pictures are taken from flickers and turns fast.</p>\n",
            c->text);
    put_pictures(out, picture, c->n_differences);
    for (size_t i = 0; i < c->n_differences; i++)
        put_difference(out, s, &c->difference[i], &picture[i], i + 1);
    fputs("</main>\n</body>\n</html>\n", out);
}
