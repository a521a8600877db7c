/* The registry of writers. */
#include <stddef.h>

#include "show/chart/chart_writer.h"
#include "show/marks/marks.h"
#include "show/page/page.h"
#include "show/store/csv.h"
#include "show/store/json.h"
#include "show/store/writer.h"
#include "writers.h"

/* JSON comes last for a take: its presence says that the rest is there. */
const struct fl_writer *const fl_writers[] = {&fl_csv_writer,  &fl_chart_writer, &fl_marks_writer,
                                              &fl_json_writer, &fl_page_writer,  NULL};
