#include "cli/chart_options.h"

enum flinch_code fl_chart_options_read(struct fl_plate_settings *out,
                                       const struct fl_chart_options *o, struct fl_error *err)
{
    *out = (struct fl_plate_settings){.text_px = o->text_px, .title = o->title};
    enum flinch_code code = fl_plate_kinds(&out->kinds, "--charts", o->kinds, err);
    if (!code)
        code = fl_plate_formats(&out->formats, "--chart-formats", o->formats, err);
    if (!code)
        code = fl_plate_themes(&out->themes, "--chart-themes", o->themes, err);
    return code ? code : fl_plate_sizes(&out->sizes, "--chart-sizes", o->sizes, err);
}
