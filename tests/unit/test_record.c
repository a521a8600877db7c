/* Rows of the recorder come back through the trace reader; its line for the screen. */
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "maths/random.h"
#include "record/record.h"
#include "record/row.h"
#include "test.h"
#include "trace/stick_survey.h"
#include "trace_files.h"

static void rows_come_back(void **state)
{
    (void)state;
    enum { N = 3000 };
    static struct fl_input_report made[N];
    struct fl_input_device pad = {
        .stick = {.known = true, .low = {0, 0}, .high = {255, 255}, .centre = {128, 120}},
        .axis = {FL_AXIS_Z, FL_AXIS_RZ}};
    struct fl_random r;
    struct bytes b = {0};
    char rows[FL_ROWS_MOST];
    fl_random_seed(&r, 1);
    put(&b, FL_ROW_HEADER, strlen(FL_ROW_HEADER));
    for (int i = 0; i < N; i++) {
        struct fl_input_report *m = &made[i];
        m->time_s = 86400 * 365 + 0.000125 * i + 0.000001 * (i % 3);
        m->dx = (double)fl_random_below(&r, 65536) - 32768;
        m->dy = i % 5 ? 0 : -1;
        m->wheel = i % 7 ? 0 : -1 / 120.0;
        m->axes = i % 2 ? 1u << FL_AXIS_Z | 1u << FL_AXIS_RZ | 1u << FL_AXIS_X : 0;
        m->axis[FL_AXIS_Z] = i % 256;
        m->axis[FL_AXIS_RZ] = 255 - i % 256;
        for (int k = 0; i % 11 == 0 && k < i % 4; k++)
            fl_report_button(m, 1 + k, i % 2);
        put(&b, rows, fl_rows_write(rows, &pad, m));
    }
    struct fl_trace t = read_bytes(&b, NULL);
    size_t k = 0;
    assert_int_equal(t.n_notes, 0);
    assert_true(t.has_motion && t.has_buttons && t.has_stick);
    for (int i = 0; i < N; i++) {
        const struct fl_input_report *m = &made[i];
        const struct fl_event *e = &t.events[k];
        assert_true(fabs(e->time_s - m->time_s) < 6e-7);
        assert_true((double)e->dx == m->dx && (double)e->dy == m->dy);
        assert_near((double)e->wheel, m->wheel, 6e-6);
        if (m->axes) {
            assert_near((double)e->stick_x, fl_stick_value(&pad.stick, 0, i % 256), 6e-6);
            assert_near((double)e->stick_y, fl_stick_value(&pad.stick, 1, 255 - i % 256), 6e-6);
        } else {
            assert_true(isnan(e->stick_x) && isnan(e->stick_y));
        }
        for (int n = 0; n < m->n_buttons; n++)
            assert_true(t.events[k + (size_t)n].button == 1 + n &&
                        t.events[k + (size_t)n].state == i % 2);
        k += m->n_buttons > 1 ? (size_t)m->n_buttons : 1;
    }
    assert_int_equal(t.n, k);
    fl_trace_finish(&t);
    bytes_free(&b);
}

static void numbers_have_no_more_digits_than_they_need(void **state)
{
    (void)state;
    static const struct {
        double dx, dy, wheel;
        const char *row;
    } cases[] = {
        {0, -1, 0, "5000001,0,-1,,,,,\n"},
        {2147483647, -2147483648, 1, "5000001,2147483647,-2147483648,1,,,,\n"},
        {1.5, -0.25, -1 / 120.0, "5000001,1.5,-0.25,-0.00833,,,,\n"},
        {1e-9, -1e-9, 0.1, "5000001,0,0,0.1,,,,\n"},
    };
    const struct fl_input_device mouse = {0};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        const struct fl_input_report r = {
            .time_s = 5.000001, .dx = cases[i].dx, .dy = cases[i].dy, .wheel = cases[i].wheel};
        char rows[FL_ROWS_MOST + 1];
        rows[fl_rows_write(rows, &mouse, &r)] = 0;
        assert_string_equal(rows, cases[i].row);
    }
}

static void the_line_says_what_comes(void **state)
{
    (void)state;
    char line[120];
    struct fl_record_counts c = {.lasted_s = 12.4,
                                 .reports = 96012,
                                 .per_s = 8001,
                                 .dx = 120,
                                 .dy = -30,
                                 .presses = 3,
                                 .devices = 1};
    fl_record_line(line, sizeof line, &c);
    assert_string_equal(line, "12 s  96012 reports  8001/s  moved 120 right 30 up  3 presses");
    c.lost = 2;
    c.devices = 0;
    fl_record_line(line, sizeof line, &c);
    assert_string_equal(line, "12 s  96012 reports  8001/s  moved 120 right 30 up  3 presses  "
                              "2 overruns  no device");
    fl_record_line(line, 10, &c);
    assert_int_equal(strlen(line), 9);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(rows_come_back),
        cmocka_unit_test(numbers_have_no_more_digits_than_they_need),
        cmocka_unit_test(the_line_says_what_comes),
    };
    return RUN_TESTS(tests);
}
