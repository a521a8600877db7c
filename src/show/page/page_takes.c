/* The part of the takes. With the script, a take is data until it comes near: its course packed,
 * its still chart and its tables as text that no element is made of. Few of them stay readable
 * without scripts; many would make the page slow, so these are packed too, and lead to their files
 * where no script runs. */
#include <stdlib.h>
#include <sys/stat.h>

#include "base/file.h"
#include "base/mem.h"
#include "base/text_stream.h"
#include "show/clip/filmstrip.h"
#include "show/page/page.h"
#include "show/page/page_code.h"
#include "show/page/page_packed.h"
#include "show/text/escape.h"

/* Bytes of all filmstrips in the folder. */
static double strips_size(const struct fl_session *s, const char *folder)
{
    double sum = 0;
    for (size_t i = 0; i < s->n_takes; i++) {
        const struct fl_states *states = &s->takes[i]->states;
        for (size_t k = 0; k < states->n_lapses; k++) {
            const struct fl_lapse *l = &states->lapse[k];
            for (size_t run = l->run; run < l->run + l->runs; run++) {
                struct stat st;
                char *name = fl_filmstrip_name(s->takes[i]->spec.id, run),
                     *path = fl_path_join(folder, name);
                sum += stat(path, &st) ? 0 : (double)st.st_size;
                free(path);
                free(name);
            }
        }
    }
    return sum;
}

struct body {
    char *text;
    size_t size;
};

static struct body body_of(const struct fl_take *t, size_t number, const char *folder)
{
    struct fl_text_stream stream;
    FILE *out = fl_text_begin(&stream);
    fl_page_charts(out, FL_CHART_OF_TAKE, &(struct fl_chart_of){.t = t}, number);
    fl_page_take(out, t, folder);
    char *text = fl_text_end(&stream);
    return (struct body){text, stream.size};
}

static void put_body(FILE *out, const struct body *b, bool packed)
{
    if (!fl_page_code.script) {
        fputs(b->text, out);
    } else if (!packed) {
        fprintf(out, "<noscript>%s</noscript>\n", b->text);
    } else {
        char *text = fl_packed(b->text, b->size);
        fprintf(out,
                "<noscript><p>Its chart is in <a href=\"charts/\">charts</a>, its figures are in "
                "<a href=\"takes/\">takes</a>.</p></noscript>\n"
                "<script type=\"text/plain\" class=\"body\">%s</script>\n",
                text);
        free(text);
    }
}

static void put_take(FILE *out, const struct fl_take *t, size_t number)
{
    fprintf(out, "<section class=\"take\" id=\"take%zu\" data-take=\"", number);
    fl_put_markup(out, t->spec.id);
    fputs("\">\n<h3>", out);
    fl_put_markup(out, t->spec.id);
    fputs("</h3>\n", out);
}

void fl_page_takes(FILE *out, const struct fl_session *s, const char *folder,
                   const struct fl_show_settings *settings)
{
    const bool linked =
        settings->linked_pictures || (folder && strips_size(s, folder) > FL_PAGE_HOLDS);
    struct body *body = FL_NEW(struct body, s->n_takes + 1);
    size_t size = 0;
    for (size_t i = 0; i < s->n_takes; i++) {
        body[i] = body_of(s->takes[i], i, folder);
        size += body[i].size;
    }
    const bool packed = folder && (double)size > FL_PAGE_HOLDS;
    fputs("<h2 id=\"takes\">Takes</h2>\n", out);
    for (size_t i = 0; i < s->n_takes; i++) {
        put_take(out, s->takes[i], i);
        put_body(out, &body[i], packed);
        if (fl_page_code.script)
            fl_page_course(out, s->takes[i], folder, linked);
        fputs("</section>\n", out);
        free(body[i].text);
    }
    free(body);
}
