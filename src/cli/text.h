/* Plain text for terminals: cells of fixed width, wrapped paragraphs. Columns are counted in code
 * points; every text may hold UTF-8. */
#ifndef FL_CLI_TEXT_H
#define FL_CLI_TEXT_H

#include <stdio.h>

#define FL_COLUMNS 80

/* Code points of text. */
int fl_text_columns(const char *text);
/* Words of text in lines of at most FL_COLUMNS; the first line starts at `column`, the others
 * at `indent`. Ends with a newline. */
void fl_put_wrapped(FILE *out, const char *text, int column, int indent);
/* text in exactly `width` columns, left-aligned: padded, or cut with an ellipsis. */
void fl_put_cell(FILE *out, const char *text, int width);
/* A number right-aligned in `width` columns, "-" if unknown. */
void fl_put_number(FILE *out, double x, int decimals, int width);

#endif
