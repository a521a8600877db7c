#include <stddef.h>

#include "show/charts.h"
#include "show/csv.h"
#include "show/json.h"
#include "show/marks.h"
#include "show/page.h"
#include "show/show.h"

/* JSON comes last for a take: its presence says that the rest is there. */
const struct fl_writer *const fl_writers[] = {
    &fl_csv_writer, &fl_chart_writer, &fl_marks_writer, &fl_json_writer, &fl_page_writer, NULL};
