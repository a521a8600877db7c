/* write_marks FOLDER: marks of invented takes at every rate that editors use, and truth.tsv beside
 * them: what was put in, for readers outside the project (check_marks.py). */
#include <stdio.h>
#include <stdlib.h>

#include "base/file.h"
#include "marked_take.h"
#include "show/marks/marks.h"

#define N 40

static const char hostile[] = "<script>alert(\"1\")</script> 'x' & \xd7\x90\xd7\x91 \xe2\x80\xae "
                              "evil \xf0\x9f\x8e\xae --> 00:01.000 =;#\\ %\n\n[CHAPTER]\nTITLE: y";

static const struct {
    const char *name;
    struct fl_rate footage, edit; /* den 0: the footage's own */
    bool drop, uneven;
    const char *start;
} cases[] = {
    {"23.976", {24000, 1001}, {0, 0}, false, false, NULL},
    {"24", {24, 1}, {0, 0}, false, false, "01:00:00:00"},
    {"25", {25, 1}, {0, 0}, false, false, "10:00:00:00"},
    {"29.97", {30000, 1001}, {0, 0}, false, false, "01:00:00:00"},
    {"29.97-drop", {30000, 1001}, {0, 0}, true, false, "01:00:00;00"},
    {"50", {50, 1}, {0, 0}, false, false, NULL},
    {"59.94", {60000, 1001}, {0, 0}, false, false, NULL},
    {"59.94-drop", {60000, 1001}, {0, 0}, true, false, "00:59:00;04"},
    {"60", {60, 1}, {0, 0}, false, false, "23:59:00:00"},
    {"119.88", {120000, 1001}, {0, 0}, false, false, NULL},
    {"119.88-drop", {120000, 1001}, {0, 0}, true, false, "01:00:00;000"},
    {"120", {120, 1}, {0, 0}, false, false, NULL},
    {"240", {240, 1}, {0, 0}, false, false, NULL},
    {"120-in-25", {120, 1}, {25, 1}, false, false, "10:00:00:00"},
    {"119.88-in-29.97-drop", {120000, 1001}, {30000, 1001}, true, false, "01:00:00;00"},
    {"uneven-in-60", {100, 1}, {60, 1}, false, true, NULL},
};

static void make_uneven(struct fl_take *t)
{
    t->constant_rate = false;
    for (long i = 0; i < t->frames; i++)
        t->time_s[i] += (i % 3 == 1 ? 0.002 : 0);
}

static enum flinch_code write_case(const char *folder, size_t c, FILE *truth, struct fl_error *err)
{
    double hz = fl_rate_hz(cases[c].footage);
    long frames = (long)(900 * hz); /* a quarter of an hour: past a tenth minute */
    struct marked_span lapses[N], flicks[N];
    for (long i = 0; i < N; i++) {
        long at = frames / 61 + i * (frames / 41);
        flicks[i] = (struct marked_span){at, at + 9, i % 3 ? FL_YES : FL_NO};
        lapses[i] = (struct marked_span){at + 4 + i % 2 * 3, at + 14 + i, 0};
    }
    struct fl_take *t = marked_take(hz, frames, false, lapses, N, flicks, N);
    if (cases[c].uneven)
        make_uneven(t);
    t->spec.id = cases[c].name;
    t->spec.game = t->spec.condition = hostile;
    t->spec.footage = "some where/<b> \xc3\xa9 %25.mkv";
    const struct fl_show_settings set = {
        .marks = {.rate = cases[c].edit, .drop = cases[c].drop, .start = cases[c].start}};
    enum flinch_code code = fl_marks_writer.write_take(folder, t, &set, err);
    for (long i = 0; i < N; i++)
        for (int k = 0; k < 2; k++) {
            const struct marked_span *s = k ? &flicks[i] : &lapses[i];
            if (!k || s->tripped == FL_YES)
                fprintf(truth, "%s\t%ld\t%ld\t%ld\t%ld\t%d\t%s\t%s\t%ld\t%ld\t%ld\t%.9f\t%.9f\n",
                        cases[c].name, cases[c].footage.num, cases[c].footage.den,
                        cases[c].edit.num, cases[c].edit.den, cases[c].drop,
                        cases[c].start ? cases[c].start : "", k ? "flick" : "lapse", i + 1,
                        s->first, s->after, t->time_s[s->first], t->time_s[s->after]);
        }
    fl_take_free(&t);
    return code;
}

int main(int argc, char **argv)
{
    struct fl_error err = {0};
    if (argc != 2 || fl_make_folder(argv[1], &err))
        return 1;
    char *path = fl_path_join(argv[1], "truth.tsv");
    FILE *truth = fopen(path, "w");
    enum flinch_code code = truth ? FLINCH_OK : FLINCH_ERR_WRITE;
    for (size_t c = 0; c < sizeof cases / sizeof *cases && !code; c++)
        code = write_case(argv[1], c, truth, &err);
    if (code)
        fprintf(stderr, "%s\n", err.text);
    if (truth)
        fclose(truth);
    free(path);
    return code != FLINCH_OK;
}
