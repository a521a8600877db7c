/* Warnings of the takes: the strongest ones in a list, all of them further down. One line a kind,
 * the takes it concerns beside it. */
#include <stdlib.h>
#include <string.h>

#include "show/page/page.h"

#include "show/text/escape.h"

struct kind {
    const char *code, *text; /* text of the first take that has it */
    size_t takes;
    int weight;
};

/* Greater: touches more of the answers. Codes not listed here stand in the middle. */
static int weight_of(const char *code)
{
    static const struct {
        const char *part;
        int weight;
    } known[] = {
        {"refused", 4}, {"assumption", 4}, {"never_on", 4}, {"ambiguous", 4}, {"truncated", 3},
        {"cut", 3},     {"missing", 2},    {"unseen", 2},   {"repeated", 1},  {"noise", 1},
    };
    for (size_t i = 0; i < sizeof known / sizeof *known; i++)
        if (strstr(code, known[i].part))
            return known[i].weight;
    return 2;
}

static int by_weight(const void *a, const void *b)
{
    const struct kind *x = a, *y = b;
    if (x->weight != y->weight)
        return y->weight - x->weight;
    if (x->takes != y->takes)
        return x->takes < y->takes ? 1 : -1;
    return strcmp(x->code, y->code);
}

static bool has(const struct fl_take *t, const char *code)
{
    for (size_t i = 0; i < t->n_warnings; i++)
        if (!strcmp(t->warnings[i].code, code))
            return true;
    return false;
}

/* Every code once, strongest first; malloc'ed. */
static size_t kinds_of(const struct fl_session *s, struct kind **out)
{
    size_t n = 0, cap = 0;
    struct kind *kinds = NULL;
    for (size_t i = 0; i < s->n_takes; i++)
        for (size_t w = 0; w < s->takes[i]->n_warnings; w++) {
            const struct fl_warning *warning = &s->takes[i]->warnings[w];
            size_t k = 0;
            while (k < n && strcmp(kinds[k].code, warning->code))
                k++;
            if (k < n)
                continue;
            struct kind new = {warning->code, warning->text, 0, weight_of(warning->code)};
            for (size_t j = i; j < s->n_takes; j++)
                new.takes += has(s->takes[j], new.code);
            FL_PUSH(kinds, n, cap, new);
        }
    if (n)
        qsort(kinds, n, sizeof *kinds, by_weight);
    *out = kinds;
    return n;
}

static void put_failed(FILE *out, const struct fl_session *s)
{
    for (size_t i = 0; i < s->n_failed; i++) {
        fputs("<li><strong>Take ", out);
        fl_put_markup(out, s->failed[i].id);
        fputs(" could not be measured:</strong> ", out);
        fl_put_markup(out, s->failed[i].text);
        fputs("</li>\n", out);
    }
}

bool fl_page_warned(const struct fl_session *s)
{
    bool any = s->n_failed || fl_page_repeat_warnings(NULL, s);
    for (size_t i = 0; i < s->n_takes; i++)
        any = any || s->takes[i]->n_warnings;
    return any;
}

void fl_page_top_warnings(FILE *out, const struct fl_session *s)
{
    enum { SHOWN = 5 };
    struct kind *kinds;
    size_t n = kinds_of(s, &kinds);
    if (fl_page_warned(s)) {
        fputs("<h2 id=\"cautions\">About these recordings</h2>\n<ul class=\"notes\">\n", out);
        put_failed(out, s);
        fl_page_repeat_warnings(out, s);
        for (size_t i = 0; i < n && i < SHOWN; i++) {
            fputs("<li>", out);
            fl_put_markup(out, kinds[i].text);
            if (kinds[i].takes > 1)
                fprintf(out, " <em>(and alike in %zu other take%s)</em>", kinds[i].takes - 1,
                        kinds[i].takes == 2 ? "" : "s");
            fputs("</li>\n", out);
        }
        fputs("</ul>\n", out);
        if (n > SHOWN)
            fprintf(out, "<p><a href=\"#warnings\">All warnings</a></p>\n");
    }
    free(kinds);
}

/* The row's last cell: a sentence, which may wrap. */
static void put_text(FILE *out, const char *text)
{
    fputs("<td class=\"wide\">", out);
    fl_put_markup(out, text);
    fputs("</td></tr>\n", out);
}

void fl_page_warnings(FILE *out, const struct fl_session *s)
{
    size_t all = s->n_failed;
    for (size_t i = 0; i < s->n_takes; i++)
        all += s->takes[i]->n_warnings;
    fputs("<h2 id=\"warnings\">All warnings</h2>\n", out);
    if (!all) {
        fputs("<p>None.</p>\n", out);
        return;
    }
    fl_page_table_begin(out, "All warnings", (const char *const[]){"take", "kind", "what", NULL});
    for (size_t i = 0; i < s->n_failed; i++) {
        fputs("<tr>", out);
        fl_page_text_cell(out, s->failed[i].id);
        fl_page_text_cell(out, "not measured");
        put_text(out, s->failed[i].text);
    }
    for (size_t i = 0; i < s->n_takes; i++)
        for (size_t w = 0; w < s->takes[i]->n_warnings; w++) {
            fputs("<tr>", out);
            fl_page_text_cell(out, s->takes[i]->spec.id);
            fl_page_text_cell(out, s->takes[i]->warnings[w].code);
            put_text(out, s->takes[i]->warnings[w].text);
        }
    fl_page_table_end(out);
}
