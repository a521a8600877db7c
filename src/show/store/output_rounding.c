/* Goes by the tables that write the files. */
#include "show/store/output_rounding.h"

#include <stdlib.h>

#include "show/store/frame_columns.h"
#include "show/store/take_fields.h"
#include "show/text/escape.h"

void fl_take_round(struct fl_take *t)
{
    size_t n;
    struct fl_frame_column *column = fl_frame_columns(&n);
    locale_t was = fl_point_begin();
    fl_fields_round(t, fl_take_document.fields);
    for (size_t i = 0; i < t->flips.n; i++)
        fl_fields_round(&t->flips.v[i], fl_flip_fields);
    for (size_t k = 0; k < n; k++)
        fl_frame_column_round(t, &column[k]);
    fl_point_end(was);
    free(column);
}
