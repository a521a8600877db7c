/* Session files. The expected behaviour is the project's own file format (docs/files.md); YAML's
 * rules on plain scalars are those of YAML 1.2.2, section 10.3 (core schema). */
#include "study/input/session_file.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "test.h"

static char path[] = P_tmpdir "/flinch-spec-XXXXXX";

static int make_file(void **state)
{
    (void)state;
    int fd = mkstemp(path);
    return fd < 0 ? -1 : close(fd);
}

static int remove_file(void **state)
{
    (void)state;
    return unlink(path);
}

static enum flinch_code read_bytes(const char *text, size_t n, struct fl_session_file *out,
                                   struct fl_error *err)
{
    FILE *f = fopen(path, "wb");
    assert_non_null(f);
    assert_int_equal(fwrite(text, 1, n, f), n);
    assert_int_equal(fclose(f), 0);
    return fl_session_read(out, path, err);
}

/* The file must be refused at line:column, and the text must hold both words. */
static void refuse(const char *text, unsigned line, unsigned column, const char *word,
                   const char *word2)
{
    struct fl_session_file s;
    struct fl_error err = {0};
    enum flinch_code code = read_bytes(text, strlen(text), &s, &err);
    char place[80];
    snprintf(place, sizeof place, "%s:%u:%u: ", path, line, column);
    if (code != FLINCH_ERR_SESSION || strncmp(err.text, place, strlen(place)) ||
        !strstr(err.text, word) || !strstr(err.text, word2))
        fail_msg("%s\n  gives code %d: %s\n  wanted %s … %s … %s", text, code, err.text, place,
                 word, word2);
    assert_null(s.arena);
    assert_null(s.takes);
}

#define HEAD "session: s\ntakes:\n  - id: a\n    game: G\n    footage: a.mkv\n"
/* One more key of the take, on line 6; its value begins at column 5 + length of the key + 2. */
static void refuse_key(const char *line, unsigned column, const char *word)
{
    char text[1000];
    snprintf(text, sizeof text, HEAD "    %s\n", line);
    refuse(text, 6, column, word, "; ");
}

static const char full[] =
    "session: Autumn cut-off survey\n"
    "takes:\n"
    "  - id: canyon-800_a\n"
    "    game: Glass Canyon\n"
    "    footage: canyon-800-a.mkv\n"
    "    trace: /abs/canyon-800-a.csv\n"
    "    sound: canyon-800-a.wav\n"
    "    sound_offset_s: -0.034\n"
    "    counts_per_turn: 16364\n"
    "    report_rate_hz: 1e3\n"
    "    condition: low detail\n"
    "    synthesis: disabled\n"
    "    base_rate_hz: 70\n"
    "    capture: local\n"
    "    output: variable\n"
    "    play: drill\n"
    "    refresh_hz: 165\n"
    "    cap_hz: 150\n"
    "    use: [[2.0, 61.5], [70, 80]]\n"
    "    recorded_at: 2026-11-03T14:00:00Z\n"
    "    notes: {driver: 1.2, display: \"mine\"}\n"
    "  - {id: b, footage: b.mkv, counts_per_inch: 1600, notes: {driver: 2}}\n"
    "defaults: {counts_per_inch: 800, horizontal_fov_deg: 90, game: Pale Harbour,\n"
    "           degrees_per_count: 0.044, notes: {driver: 0, place: lab}}\n";

static void every_key_is_read(void **state)
{
    (void)state;
    struct fl_session_file s;
    struct fl_error err = {0};
    if (read_bytes(full, strlen(full), &s, &err))
        fail_msg("%s", err.text);
    assert_string_equal(s.name, "Autumn cut-off survey");
    assert_int_equal(s.n_takes, 2);
    const struct fl_take_spec *a = &s.takes[0];
    assert_string_equal(a->id, "canyon-800_a");
    assert_string_equal(a->game, "Glass Canyon");
    assert_string_equal(a->condition, "low detail");
    assert_string_equal(a->footage, P_tmpdir "/canyon-800-a.mkv"); /* beside the session file */
    assert_string_equal(a->trace, "/abs/canyon-800-a.csv");
    assert_string_equal(a->sound, P_tmpdir "/canyon-800-a.wav");
    assert_near(a->sound_offset_s, -0.034, 1e-15);
    assert_near(a->degrees_per_count, 360.0 / 16364, 1e-15); /* a turn is 360 degrees */
    assert_near(a->report_rate_hz, 1000, 0);
    assert_near(a->base_rate_hz, 70, 0);
    assert_near(a->refresh_hz, 165, 0);
    assert_near(a->cap_hz, 150, 0);
    assert_true(a->synthesis_disabled && a->capture_local && a->output_variable && a->play_drill);
    assert_int_equal(a->n_use, 2);
    assert_near(a->use[0].end_s, 61.5, 0);
    assert_near(a->use[1].start_s, 70, 0);
    assert_string_equal(a->recorded_at, "2026-11-03T14:00:00Z");
    fl_session_file_finish(&s);
    fl_session_file_finish(&s);
}

/* Every number of the table, at both ends, beyond them and not given. */
static void numbers_are_put_where_the_table_says(void **state)
{
    (void)state;
    struct fl_error err = {0};
    struct fl_take_spec s;
    for (int i = 0; i < FL_TAKE_KEYS; i++) {
        const struct fl_take_key *k = &fl_take_keys[i];
        if (k->kind != FL_KEY_NUMBER && k->kind != FL_KEY_TURN)
            continue;
        const double good[] = {k->low, k->high, 0},
                     bad[] = {k->low - 1, nextafter(k->high, INFINITY), NAN, INFINITY};
        const double *field = (const double *)((const char *)&s + k->offset);
        for (int j = 0; j < 3; j++) {
            fl_take_spec_init(&s);
            assert_int_equal(
                fl_take_spec_fill(&s, &(struct fl_take_number){k->name, good[j]}, 1, &err), 0);
            if (good[j] == 0)
                assert_true(isnan(*field));
            else
                assert_near(*field, k->kind == FL_KEY_TURN ? 360 / good[j] : good[j], 0);
        }
        for (int j = 0; j < 4; j++) {
            fl_take_spec_init(&s);
            assert_int_equal(
                fl_take_spec_fill(&s, &(struct fl_take_number){k->name, bad[j]}, 1, &err),
                FLINCH_ERR_USAGE);
            assert_non_null(strstr(err.text, k->name));
            assert_non_null(strstr(err.text, "; correct it"));
        }
    }
}

static void ids_name_files(void **state)
{
    (void)state;
    char most[FL_TAKE_ID_MOST + 2];
    memset(most, 'x', sizeof most);
    most[FL_TAKE_ID_MOST] = 0;
    assert_true(fl_take_id_valid("canyon-800_a") && fl_take_id_valid(&"-a"[1]) &&
                fl_take_id_valid(most));
    most[FL_TAKE_ID_MOST] = 'x';
    most[FL_TAKE_ID_MOST + 1] = 0;
    const char *const bad[] = {"", "-a", "a/b", "a.b", "\xc3\xa9", "a b", most};
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++)
        assert_false(fl_take_id_valid(bad[i]));
}

static void columns_of_a_logger_are_mapped(void **state)
{
    (void)state;
    struct fl_session_file s;
    struct fl_error err = {0};
    static const char text[] =
        "session: s\ndefaults: {trace_columns: {time_ms: Stamp (ms), dx: X}}\n"
        "takes:\n  - {id: a, game: G, footage: a.mkv}\n"
        "  - {id: b, game: G, footage: b.mkv, trace_columns: {time_s: T}}\n";
    assert_int_equal(read_bytes(text, sizeof text - 1, &s, &err), FLINCH_OK);
    assert_string_equal(s.takes[0].trace_columns->named[FL_TRACE_COLUMN_TIME_MS], "Stamp (ms)");
    assert_string_equal(s.takes[0].trace_columns->named[FL_TRACE_COLUMN_DX], "X");
    assert_string_equal(s.takes[1].trace_columns->named[FL_TRACE_COLUMN_TIME_S], "T");
    assert_string_equal(s.takes[1].trace_columns->named[FL_TRACE_COLUMN_DX], "");
    fl_session_file_finish(&s);
    refuse_key("trace_columns: X", 20, "trace_columns");
    refuse_key("trace_columns: {}", 20, "empty");
    refuse(HEAD "    trace_columns: {speed: X}\n", 6, 28, "speed", "map time_s");
    refuse(HEAD "    trace_columns: {dx: X, dx: Y}\n", 6, 32, "twice", "keep one");
    refuse(HEAD "    trace_columns: {dx: [X]}\n", 6, 25, "single value", "write");
}

static void defaults_fill_what_a_take_leaves_open(void **state)
{
    (void)state;
    struct fl_session_file s;
    struct fl_error err = {0};
    assert_int_equal(read_bytes(full, strlen(full), &s, &err), FLINCH_OK);
    const struct fl_take_spec *a = &s.takes[0], *b = &s.takes[1];
    assert_near(a->counts_per_inch, 800, 0);
    assert_near(a->horizontal_fov_deg, 90, 0);
    assert_near(b->counts_per_inch, 1600, 0);
    assert_near(b->degrees_per_count, 0.044, 1e-15);
    assert_string_equal(b->game, "Pale Harbour");
    assert_string_equal(b->condition, "default");
    assert_false(b->synthesis_disabled || b->capture_local || b->output_variable ||
                 b->play_drill); /* playing, unless it is said */
    assert_null(b->trace);
    assert_null(b->use);
    assert_true(isnan(b->base_rate_hz) && isnan(b->sound_offset_s));
    assert_int_equal(a->n_notes, 3);
    assert_int_equal(b->n_notes, 2);
    assert_string_equal(b->note_keys[0], "driver");
    assert_string_equal(b->note_values[0], "2");
    assert_string_equal(b->note_values[1], "lab");
    fl_session_file_finish(&s);
}

static void structure_is_strict(void **state)
{
    (void)state;
    refuse("", 1, 1, "empty", "session:");
    refuse("# only a comment\n", 2, 1, "empty", "session:");
    refuse("[1, 2]\n", 1, 1, "not a session", "begin");
    refuse("session: s\n", 1, 1, "'takes' is missing", "add");
    refuse("takes: [{id: a, game: g, footage: f}]\n", 1, 1, "'session' is missing", "add");
    refuse("session: s\ntakes: []\n", 2, 8, "empty", "at least one");
    refuse("session: s\ntakes: {id: a}\n", 2, 8, "list", "- id:");
    refuse("session: s\ntakes: [a]\n", 2, 9, "a take", "write");
    refuse("session: s\nsession: t\n", 2, 1, "twice", "keep one");
    refuse("session: s\nextra: 1\n", 2, 1, "unknown key 'extra'", "takes");
    refuse("session: s\ncounts_per_inch: 1\n", 2, 1, "unknown key", "indent");
    refuse("session: [s]\n", 1, 10, "single value", "write");
    refuse("session: s\ndefaults: 3\n", 2, 11, "'defaults'", "write");
    refuse(HEAD "---\nsession: t\n", 6, 1, "second document", "one session a file");
    refuse("session: s\ntakes:\n  - id: a\n   game: b\n", 4, 4, "", "; ");
    refuse("session: \"s\n", 2, 1, "", "; ");
    refuse("session: s\ntakes: [{id: a, game: &x g, footage: f}]\n", 2, 23, "anchors",
           "take it out");
    refuse("session: s\ntakes: [{id: a, game: *x, footage: f}]\n", 2, 23, "alias", "write");
    refuse("session: s\ntakes: [{id: a, game: !!str g}]\n", 2, 23, "tags", "take it out");
    refuse("session: [[[[[[[[[[1]]]]]]]]]]\n", 1, 10, "single value", "write");
    refuse("{? [[[[[[[[[1]]]]]]]]] : 2}\n", 1, 4, "single value", "write");
}

static void takes_are_complete_and_distinct(void **state)
{
    (void)state;
    refuse("session: s\ntakes:\n  - {game: g, footage: f}\n", 3, 5, "'id'", "add");
    refuse("session: s\ntakes:\n  - {id: a, footage: f}\n", 3, 5, "'game'", "add");
    refuse("session: s\ntakes:\n  - {id: a, game: g}\n", 3, 5, "'footage'", "add");
    refuse(HEAD "  - {id: b, game: g, footage: f}\n  - {game: g, footage: f, id: a}\n", 7, 31,
           "two takes with the id 'a'", "line 3");
}

static void keys_are_known_and_single(void **state)
{
    (void)state;
    refuse_key("fotage: b.mkv", 5, "did you mean 'footage'");
    refuse_key("frobnicate: 1", 5, "notes");
    refuse_key("dpi: 800", 5, "write counts_per_inch");
    refuse_key("FOV: 90", 5, "write horizontal_fov_deg");
    refuse_key("cm-per-turn: 30", 5, "914.4 / (counts per inch"); /* 360 degrees · 2.54 cm */
    refuse_key("game: H", 5, "twice");
    refuse_key("<<: {trace: t}", 5, "unknown key");
    refuse(HEAD "    counts_per_turn: 8000\n    degrees_per_count: 0.1\n", 7, 5, "same thing",
           "keep one");
    refuse(HEAD "    notes: {a: b, a: c}\n", 6, 19, "twice", "keep one");
    refuse(HEAD "    notes: [a]\n", 6, 12, "notes", "write");
    refuse(HEAD "    notes: {a: [b]}\n", 6, 16, "single value", "write");
}

static void numbers_are_plain_and_in_range(void **state)
{
    (void)state;
    static const char *const bad[] = {"0",       "-800",  "5",     "1e9",   ".nan",    "nan",
                                      ".inf",    "-.inf", "0x320", "0800",  "800 dpi", "800,5",
                                      "\"800\"", "eight", "~",     "",      "[800]",   "{a: 1}",
                                      "1e999",   "8_00",  "true",  "1.5.2", "e3",      "."};
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        char line[80];
        snprintf(line, sizeof line, "counts_per_inch: %s", bad[i]);
        refuse_key(line, *bad[i] ? 22 : 21, "counts_per_inch");
    }
    refuse_key("counts_per_turn: 0", 22, "counts_per_turn");
    refuse_key("degrees_per_count: 0", 24, "degrees_per_count");
    refuse_key("horizontal_fov_deg: 180", 25, "horizontal_fov_deg");
    refuse_key("base_rate_hz: -1", 19, "base_rate_hz");
    refuse_key("sound_offset_s: 1e5", 21, "sound_offset_s");
}

static void words_are_checked(void **state)
{
    (void)state;
    refuse_key("synthesis: off", 16, "'available' or 'disabled'");
    refuse_key("capture: Card", 14, "'card' or 'local'");
    refuse_key("output: 3", 13, "'fixed' or 'variable'");
    refuse_key("recorded_at: yesterday", 18, "2026-11-03T14:00:00Z");
    refuse_key("recorded_at: 2026-13-03", 18, "2026-13-03");
    refuse_key("recorded_at: 2026-11-03T14:00:00", 18, "write");
    refuse_key("trace: ", 11, "empty");
    refuse_key("trace: ~", 12, "empty");
    refuse_key("trace: \"a\\0b\"", 12, "NUL");
    refuse_key("trace: \"a\\nb\"", 12, "control");
    static const char *const bad[] = {"a/b", "../a", "a b", "\xc3\xa4", ".", "a.b", "-a", "a\\b"};
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        char text[200];
        snprintf(text, sizeof text, "session: s\ntakes:\n  - id: %s\n", bad[i]);
        refuse(text, 3, 9, "cannot name a file", "letters");
    }
}

static void spans_are_ordered(void **state)
{
    (void)state;
    refuse_key("use: 3", 10, "list of spans");
    refuse_key("use: []", 10, "empty");
    refuse_key("use: [3, 4]", 11, "[start, end]");
    refuse_key("use: [[3]]", 13, "two numbers");
    refuse_key("use: [[3, 4, 5]]", 18, "two numbers");
    refuse_key("use: [[4, 3]]", 11, "ends before");
    refuse_key("use: [[1, 3], [2, 4]]", 19, "overlaps");
    refuse_key("use: [[-1, 3]]", 12, "outside");
}

static void good_spellings_are_read(void **state)
{
    (void)state;
    static const char *const good[] = {
        HEAD "    recorded_at: 2026-11-03\n",
        HEAD "    recorded_at: 2026-11-03 14:00+01:00\n",
        HEAD "    counts_per_inch: 8e2\n",
        HEAD "    counts_per_inch: +800.\n",
        HEAD "    degrees_per_count: .022\n",
        HEAD "    notes: {long: |\n        two\n        lines\n        }\n",
        "\xef\xbb\xbf" HEAD,
        "session: s\r\ntakes:\r\n- {id: a, game: 1942, footage: a.mkv}\r\n",
        "%YAML 1.1\n---\n" HEAD "...\n",
    };
    for (size_t i = 0; i < sizeof good / sizeof *good; i++) {
        struct fl_session_file s;
        struct fl_error err = {0};
        bool block = strstr(good[i], "|\n"); /* a block inside braces is no YAML */
        enum flinch_code code = read_bytes(good[i], strlen(good[i]), &s, &err);
        if (code != (block ? FLINCH_ERR_SESSION : FLINCH_OK))
            fail_msg("%s\n%s", good[i], err.text);
        fl_session_file_finish(&s);
    }
}

static void what_is_no_session_file_is_refused(void **state)
{
    (void)state;
    struct fl_session_file s;
    struct fl_error err = {0};
    assert_int_equal(fl_session_read(&s, "/nonexistent/session.yaml", &err), FLINCH_ERR_OPEN);
    assert_non_null(strstr(err.text, "/nonexistent/session.yaml"));
    assert_int_not_equal(fl_session_read(&s, "/", &err), FLINCH_OK);
    assert_int_equal(read_bytes("session: \xff\n", 11, &s, &err), FLINCH_ERR_SESSION);
    assert_non_null(strstr(err.text, ":1:10: "));
    size_t n = 2 << 20;
    char *big = malloc(n);
    memset(big, '#', n);
    assert_int_equal(read_bytes(big, n, &s, &err), FLINCH_ERR_FORMAT);
    for (int kind = 0; kind < 2; kind++) { /* nesting bombs */
        memset(big, '[', 100000);
        for (int i = 0; kind && i + 2 < 100000; i += 3)
            memcpy(big + i, "{a:", 3);
        assert_int_equal(read_bytes(big, 100000, &s, &err), FLINCH_ERR_SESSION);
    }
    free(big);
}

/* Damaged files: any outcome is right but a crash, and every refusal is one line with a place. */
static void damaged_files_never_crash(void **state)
{
    (void)state;
    static const char spice[] = "{}[]:-,&*!|>'\"%@`#?\n\t 0\\\xff\x00z~<.";
    uint32_t seed = 20260101;
    int accepted = 0, refused = 0;
    for (int round = 0; round < 4000; round++) {
        char text[sizeof full + 8];
        size_t n = strlen(full);
        memcpy(text, full, n);
        int changes = 1 + round % 4;
        for (int i = 0; i < changes && n > 8; i++) {
            seed = seed * 1664525u + 1013904223u; /* any generator will do */
            size_t at = (seed >> 8) % n;
            char c = spice[(seed >> 3) % (sizeof spice - 1)];
            if (seed >> 30 == 0) { /* lose a stretch */
                size_t gone = (seed >> 5) % 7 + 1;
                gone = at + gone > n ? n - at : gone;
                memmove(text + at, text + at + gone, n - at - gone);
                n -= gone;
            } else if (seed >> 30 == 1) {
                n = at; /* cut off */
            } else {
                text[at] = c;
            }
        }
        struct fl_session_file s;
        struct fl_error err = {0};
        if (read_bytes(text, n, &s, &err)) {
            refused++;
            assert_null(s.arena);
            assert_true(strlen(err.text) > 10 && !strchr(err.text, '\n'));
            assert_memory_equal(err.text, path, strlen(path));
        } else {
            accepted++;
            assert_true(s.n_takes >= 1);
            fl_session_file_finish(&s);
        }
    }
    assert_true(accepted > 100 && refused > 1000);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_key_is_read),
        cmocka_unit_test(defaults_fill_what_a_take_leaves_open),
        cmocka_unit_test(structure_is_strict),
        cmocka_unit_test(takes_are_complete_and_distinct),
        cmocka_unit_test(keys_are_known_and_single),
        cmocka_unit_test(numbers_are_plain_and_in_range),
        cmocka_unit_test(words_are_checked),
        cmocka_unit_test(spans_are_ordered),
        cmocka_unit_test(good_spellings_are_read),
        cmocka_unit_test(columns_of_a_logger_are_mapped),
        cmocka_unit_test(numbers_are_put_where_the_table_says),
        cmocka_unit_test(ids_name_files),
        cmocka_unit_test(what_is_no_session_file_is_refused),
        cmocka_unit_test(damaged_files_never_crash),
    };
    return cmocka_run_group_tests(tests, make_file, remove_file) != 0;
}
