/* Sentences from the same rows and words as the report's: settings in the order of their ranking,
 * then what comparisons say, game by game. */
#include "show/screen/answers.h"

#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/text_stream.h"
#include "show/screen/terminal_text.h"
#include "show/text/game_groups.h"
#include "show/text/result_words.h"
#include "study/compare/comparison.h"

enum { SHOWN_COMPARISONS = 4 }; /* of one game and condition; the report has them all */

static void put_result(FILE *out, const struct fl_result *r)
{
    char rank[FL_RANK_SIZE];
    char *name = fl_result_name(r), *said = fl_result_sentence(r);
    char *line = r->rank.first ? fl_format("%s %s: %s", fl_rank_text(rank, r), name, said)
                               : fl_format("%s: %s", name, said);
    fl_put_wrapped(out, line, 0, 2);
    free(name);
    free(said);
    free(line);
}

static void put_results(FILE *out, const struct fl_session *s)
{
    bool shares = false;
    if (s->n_results && s->results[0].rank.first)
        fputs("Settings by trip speed, in front the places that each may have:\n", out);
    for (size_t i = 0; i < s->n_results; i++) {
        put_result(out, &s->results[i]);
        shares |= !s->results[i].control && s->results[i].shares.on_s > 0;
    }
    if (shares)
        fl_put_wrapped(out, fl_share_assumption, 0, 0);
}

static bool same(const char *a, const char *b)
{
    return a == b || (a && b && !strcmp(a, b));
}

static bool concerns(const struct fl_comparison *c, const struct fl_group *g)
{
    return c->verdict && c->quantity == g->quantity && same(c->game, g->game) &&
           same(c->a->condition, g->condition);
}

static void put_comparisons(FILE *out, const struct fl_session *s, const struct fl_group *g)
{
    int n = 0;
    char *name = fl_group_name(g->game, g->condition);
    for (size_t i = 0; i < s->n_comparisons; i++) {
        if (!concerns(&s->comparisons[i], g) || n++ >= SHOWN_COMPARISONS)
            continue;
        char *line = fl_format("%s: %s", name, s->comparisons[i].verdict);
        fl_put_wrapped(out, line, 0, 2);
        free(line);
    }
    if (n > SHOWN_COMPARISONS)
        fprintf(out, "  %d more comparison%s in the report\n", n - SHOWN_COMPARISONS,
                n == SHOWN_COMPARISONS + 1 ? "" : "s");
    free(name);
}

void fl_put_answers(FILE *out, const struct fl_session *s)
{
    struct fl_groups groups;
    fl_groups_make(&groups, s);
    put_results(out, s);
    for (size_t i = 0; i < groups.n; i++)
        put_comparisons(out, s, &groups.v[i]);
    fl_groups_finish(&groups);
}

static void to_stream(void *to, const char *text, bool strong)
{
    (void)strong;
    fputs(text, to);
}

void fl_put_take_answer(FILE *out, const struct fl_take *t)
{
    struct fl_text_stream stream;
    FILE *line = fl_text_begin(&stream);
    const struct fl_off_shares shares = fl_off_shares_of(&t, 1);
    const struct fl_lapse_figures lapses = fl_lapse_figures_of(&t, 1);
    fprintf(line, "%s: ", t->spec.id);
    fl_say_shares(&shares, 1, to_stream, line);
    if (shares.on_s > 0)
        fl_say_lapses(&lapses, to_stream, line);
    fputs(".", line);
    char *text = fl_text_end(&stream);
    fl_put_wrapped(out, text, 0, 2);
    free(text);
}
