/* HID report descriptors and reports: the standard's own example and invented devices, whose
 * reports are worked out by hand from HID 1.11. */
#include "trace/hid_report.h"

#include <stdlib.h>
#include <string.h>

#include "test.h"
#include "trace_files.h"

/* HID 1.11, appendix E.10, with the reports of appendix B.2 (CHECKS L-1). */
static const char boot_mouse[] =
    "05 01 09 02 A1 01 09 01 A1 00 05 09 19 01 29 03 15 00 25 01 95 03 75 01 81 02 95 01 75 05 "
    "81 01 05 01 09 30 09 31 15 81 25 7F 75 08 95 02 81 06 C0 C0";
/* Report id 2: 5 buttons, two axes of 16 bits, a wheel. */
static const char wide_mouse[] =
    "05 01 09 02 A1 01 85 02 09 01 A1 00 05 09 19 01 29 05 15 00 25 01 95 05 75 01 81 02 95 01 "
    "75 03 81 01 05 01 09 30 09 31 16 01 80 26 FF 7F 75 10 95 02 81 06 09 38 15 81 25 7F 75 08 "
    "95 01 81 06 C0 C0";
/* 8 buttons and two axes of 12 bits, packed. */
static const char packed_mouse[] =
    "05 01 09 02 A1 01 09 01 A1 00 05 09 19 01 29 08 15 00 25 01 75 01 95 08 81 02 05 01 16 01 "
    "F8 26 FF 07 75 0C 95 02 09 30 09 31 81 06 C0 C0";
/* Four 8-bit axes, a hat, 14 buttons; the range of the axes written carelessly as 0 to FF. */
static const char pad[] =
    "05 01 09 05 A1 01 15 00 25 FF 75 08 95 04 09 30 09 31 09 32 09 35 81 02 09 39 25 07 75 04 "
    "95 01 81 42 05 09 15 00 25 01 19 01 29 0E 75 01 95 0E 81 02 75 06 95 01 81 03 C0";
/* A keyboard (id 1) and a mouse (id 3) in one interface, the mouse's axes under a pushed state. */
static const char combined[] =
    "05 01 09 06 A1 01 85 01 05 07 19 E0 29 E7 15 00 25 01 75 01 95 08 81 02 75 08 95 06 26 FF 00 "
    "19 00 29 FF 81 00 C0 "
    "05 01 09 02 A1 01 85 03 A4 09 01 A1 00 05 09 19 01 29 10 15 00 25 01 75 01 95 10 81 02 C0 B4 "
    "05 01 16 00 80 26 FF 7F 75 10 95 02 09 30 09 31 81 06 C0";

static struct fl_hid_descriptor parse(const char *hex)
{
    struct bytes b = {0};
    struct fl_hid_descriptor d;
    put_hex(&b, hex);
    assert_true(fl_hid_parse(&d, b.at, b.n));
    bytes_free(&b);
    return d;
}

static enum fl_hid_result decode(const struct fl_hid_descriptor *d, struct fl_hid_state *s,
                                 const char *hex, struct fl_input_report *r)
{
    struct bytes b = {0};
    put_hex(&b, hex);
    const enum fl_hid_result got = fl_hid_decode(d, s, b.at, b.n, r);
    bytes_free(&b);
    return got;
}

static void expect(const struct fl_hid_descriptor *d, struct fl_hid_state *s, const char *hex,
                   double dx, double dy, double wheel, const char *buttons)
{
    struct fl_input_report r;
    char text[64] = "";
    assert_int_equal(decode(d, s, hex, &r), FL_HID_TOLD);
    assert_true(r.dx == dx && r.dy == dy && r.wheel == wheel);
    for (int i = 0; i < r.n_buttons; i++)
        sprintf(text + strlen(text), "%c%d", r.button[i].state ? '+' : '-', r.button[i].button);
    assert_string_equal(text, buttons);
}

static void the_standards_mouse(void **state)
{
    (void)state;
    const struct fl_hid_descriptor d = parse(boot_mouse);
    struct fl_hid_state s = {0};
    assert_int_equal(d.bits[0], 24);
    assert_false(d.has_ids);
    assert_int_equal(d.n, 5);
    assert_true(d.field[3].low == -127 && d.field[3].high == 127);
    expect(&d, &s, "01 FE 03", -2, 3, 0, "+1");
    expect(&d, &s, "00 81 7F", -127, 127, 0, "-1");
    expect(&d, &s, "06 00 FF", 0, -1, 0, "+2+3");
    expect(&d, &s, "F9 00 00", 0, 0, 0, "+1-2-3"); /* padding bits are the device's own */
    struct fl_input_report r;
    assert_int_equal(decode(&d, &s, "01 FE", &r), FL_HID_SHORT);
    assert_int_equal(decode(&d, &s, "", &r), FL_HID_SHORT);
}

/* The boot protocol decodes as the standard's descriptor does. */
static void the_boot_protocol(void **state)
{
    (void)state;
    const struct fl_hid_descriptor d = parse(boot_mouse), *boot = fl_hid_boot_mouse();
    struct fl_hid_state s = {0}, t = {0};
    for (int i = 0; i < 4096; i++) {
        const uint8_t data[3] = {(uint8_t)(i * 7), (uint8_t)(i * 3), (uint8_t)(i / 5)};
        struct fl_input_report a, b;
        assert_int_equal(fl_hid_decode(&d, &s, data, 3, &a), FL_HID_TOLD);
        assert_int_equal(fl_hid_decode(boot, &t, data, 3, &b), FL_HID_TOLD);
        assert_memory_equal(&a, &b, sizeof a);
    }
    t = (struct fl_hid_state){0};
    expect(boot, &t, "02 05 06 FF", 5, 6, -1, "+2"); /* a wheel in the fourth byte */
}

static void sixteen_bits_with_a_report_id(void **state)
{
    (void)state;
    const struct fl_hid_descriptor d = parse(wide_mouse);
    struct fl_hid_state s = {0};
    struct fl_input_report r;
    assert_true(d.has_ids && fl_hid_useful(&d));
    assert_int_equal(d.bits[2], 48);
    expect(&d, &s, "02 05 2C 01 D4 FE FF", 300, -300, -1, "+1+3");
    expect(&d, &s, "02 05 FF 7F 01 80 00", 32767, -32767, 0, "");
    expect(&d, &s, "02 10 00 00 00 00 7F", 0, 0, 127, "-1-3+5");
    assert_int_equal(decode(&d, &s, "01 05 2C 01 D4 FE FF", &r), FL_HID_OTHER);
    assert_int_equal(decode(&d, &s, "02 05 2C 01 D4 FE", &r), FL_HID_SHORT);
}

static void twelve_bits_packed(void **state)
{
    (void)state;
    const struct fl_hid_descriptor d = parse(packed_mouse);
    struct fl_hid_state s = {0};
    expect(&d, &s, "00 FE FF 7F", -2, 2047, 0, "");
    expect(&d, &s, "80 01 08 80", -2047, -2048, 0, "+8");
    for (int x = -2047; x <= 2047; x += 89)
        for (int y = -2047; y <= 2047; y += 97) {
            const uint32_t bits = ((uint32_t)x & 0xFFF) | ((uint32_t)y & 0xFFF) << 12;
            const uint8_t data[4] = {0, (uint8_t)bits, (uint8_t)(bits >> 8), (uint8_t)(bits >> 16)};
            struct fl_input_report r;
            assert_int_equal(fl_hid_decode(&d, &s, data, 4, &r), FL_HID_TOLD);
            assert_true(r.dx == x && r.dy == y);
        }
}

static void a_pad_tells_axes_with_their_range(void **state)
{
    (void)state;
    const struct fl_hid_descriptor d = parse(pad);
    struct fl_hid_state s = {0};
    struct fl_input_report r;
    assert_int_equal(d.bits[0], 56);
    assert_true(d.field[0].low == 0 && d.field[0].high == 255);
    assert_int_equal(decode(&d, &s, "80 7F FF 00 58 00 00", &r), FL_HID_TOLD);
    assert_int_equal(r.axes,
                     1u << FL_AXIS_X | 1u << FL_AXIS_Y | 1u << FL_AXIS_Z | 1u << FL_AXIS_RZ);
    assert_true(r.axis[FL_AXIS_X] == 128 && r.axis[FL_AXIS_Y] == 127 && r.axis[FL_AXIS_Z] == 255 &&
                r.axis[FL_AXIS_RZ] == 0);
    /* the hat takes the low 4 bits of byte 4; its high ones are buttons 1 to 4: 0x5 is 1 and 3 */
    assert_int_equal(r.n_buttons, 2);
    assert_int_equal(r.button[0].button, FL_PAD_BUTTON);
    assert_int_equal(r.button[1].button, FL_PAD_BUTTON + 2);
}

static void a_keyboard_beside_the_mouse_is_never_decoded(void **state)
{
    (void)state;
    const struct fl_hid_descriptor d = parse(combined);
    struct fl_hid_state s = {0};
    struct fl_input_report r;
    for (int i = 0; i < d.n; i++)
        assert_int_equal(d.field[i].report, 3);
    assert_int_equal(d.bits[1], 56);
    assert_int_equal(decode(&d, &s, "01 02 04 05 06 00 00 00", &r), FL_HID_OTHER);
    assert_false(fl_report_says(&r));
    expect(&d, &s, "03 01 80 F0 FF 0A 00", -16, 10, 0, "+1+16");
}

/* Delimiters offer usages of which the first goes; an array lists the buttons that are down; an
 * absolute pointer's positions become steps; a value outside a range with a null state says
 * nothing. */
static void rarer_items(void **state)
{
    (void)state;
    const struct fl_hid_descriptor d = parse(
        "FE 02 F0 AA BB "                                                    /* a long item */
        "05 01 09 02 A1 01 05 09 19 01 29 08 15 01 25 08 75 08 95 02 81 00 " /* two of 8 buttons */
        "05 01 15 81 25 7F 75 08 95 01 A9 01 09 30 09 48 A9 00 81 46 "
        "15 00 26 FF 7F 75 10 95 02 09 30 09 31 81 02 C0");
    struct fl_hid_state s = {0};
    assert_int_equal(d.bits[0], 56);
    expect(&d, &s, "02 05 FB 64 00 C8 00", -5, 0, 0, "+2+5");
    expect(&d, &s, "05 00 80 6E 00 C8 00", 10, 0, 0, "-2"); /* −128 is outside −127 to 127 */
    expect(&d, &s, "00 00 01 6E 00 00 00", 1, -200, 0, "-5");
}

/* Whatever is cut off or bent, the parser stops within its bounds, and so does the decoder. */
static void bent_descriptors_do_no_harm(void **state)
{
    (void)state;
    static const char *const all[] = {boot_mouse, wide_mouse, packed_mouse, pad, combined};
    for (size_t k = 0; k < 5; k++) {
        struct bytes b = {0};
        put_hex(&b, all[k]);
        for (size_t cut = 0; cut < b.n; cut++)
            for (int bit = -1; bit < 8; bit++) {
                struct fl_hid_descriptor d;
                struct fl_hid_state s = {0};
                struct fl_input_report r;
                uint8_t *copy =
                    malloc(b.n); /* of its own, so that a sanitizer sees every overrun */
                memcpy(copy, b.at, b.n);
                copy[cut] ^= bit < 0 ? 0 : (uint8_t)(1 << bit);
                fl_hid_parse(&d, copy, bit < 0 ? cut : b.n);
                for (size_t n = 0; n <= 8; n++)
                    fl_hid_decode(&d, &s, b.at, n, &r);
                assert_true(d.n >= 0 && d.n <= FL_HID_FIELDS);
                free(copy);
            }
        bytes_free(&b);
    }
    struct fl_hid_descriptor d;
    const uint8_t endless[] = {0x05, 0x01, 0x09, 0x02, 0xA1, 0x01, 0x09, 0x30, 0x97,
                               0xFF, 0xFF, 0xFF, 0xFF, 0x75, 0x20, 0x81, 0x06};
    assert_false(fl_hid_parse(&d, endless, sizeof endless)); /* 4 billion values of 32 bits */
    assert_int_equal(d.n, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_standards_mouse),
        cmocka_unit_test(the_boot_protocol),
        cmocka_unit_test(sixteen_bits_with_a_report_id),
        cmocka_unit_test(twelve_bits_packed),
        cmocka_unit_test(a_pad_tells_axes_with_their_range),
        cmocka_unit_test(a_keyboard_beside_the_mouse_is_never_decoded),
        cmocka_unit_test(rarer_items),
        cmocka_unit_test(bent_descriptors_do_no_harm),
    };
    return RUN_TESTS(tests);
}
