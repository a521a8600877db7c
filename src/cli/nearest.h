/* What a mistyped word most likely meant. */
#ifndef FL_CLI_NEAREST_H
#define FL_CLI_NEAREST_H

/* Begin with {.word = word}. */
struct fl_nearest {
    const char *word;
    const char *best; /* NULL: nothing tried is near */
    int edits;        /* from word to best */
};
/* Keeps known if it is near the word and nearer than all before: at most two letters changed, as
 * for keys of a session file, and some letter of it kept. */
void fl_nearest_try(struct fl_nearest *n, const char *known);

#endif
