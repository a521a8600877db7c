/* Nearness is the number of single-letter edits (Levenshtein's distance). */
#include "cli/nearest.h"

#include <string.h>

#include "study/input/spelling.h"

void fl_nearest_try(struct fl_nearest *n, const char *known)
{
    enum { MOST = 2 };
    const int edits = fl_edits(n->word, known);
    if (edits > MOST || edits >= (int)strlen(n->word) || (n->best && edits >= n->edits))
        return;
    n->best = known;
    n->edits = edits;
}
