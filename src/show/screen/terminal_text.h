/* Plain text for terminals: cells of fixed width, wrapped paragraphs. Every text may hold UTF-8 and
 * anything that a name can hold; what would move the cursor or turn the line is replaced. Columns
 * are what the locale's character set says (wide characters take two), else code points. */
#ifndef FL_SHOW_SCREEN_TERMINAL_TEXT_H
#define FL_SHOW_SCREEN_TERMINAL_TEXT_H

#include <stdio.h>

#define FL_COLUMNS 80

/* Columns that text takes. */
int fl_text_columns(const char *text);
/* Words of text in lines of at most FL_COLUMNS; the first line starts at `column`, the others
 * at `indent`. Ends with a newline. */
void fl_put_wrapped(FILE *out, const char *text, int column, int indent);
/* text in exactly `width` columns, left-aligned: padded, or cut with an ellipsis. */
void fl_put_cell(FILE *out, const char *text, int width);
/* A number right-aligned in `width` columns, "-" if unknown. */
void fl_put_number(FILE *out, double x, int decimals, int width);

#endif
