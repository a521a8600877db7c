/* Whatever bytes stand for the stored files of a take, one behind the other with a NUL between:
 * they are refused in one line, or the take holds what it says, and can be written and read once
 * more. */
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/mem.h"
#include "fuzz.h"
#include "show/store/csv.h"
#include "show/store/json.h"
#include "show/store/load.h"

static const char *folder; /* in memory where there is such a place */

static void leave(void)
{
    static const char *const names[] = {"takes/a.json", "takes/a-frames.csv", "takes/a-flips.csv",
                                        "takes/a-flicks.csv", "takes"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        char *path = fl_format("%s/%s", folder, names[i]);
        remove(path);
        free(path);
    }
    rmdir(folder);
}

static void enter(void)
{
    static char name[] = "/dev/shm/flinch-fuzz-XXXXXX", other[] = "/tmp/flinch-fuzz-XXXXXX";
    folder = mkdtemp(name);
    folder = folder ? folder : mkdtemp(other);
    fl_fuzz_require(folder);
    char *takes = fl_format("%s/takes", folder);
    fl_fuzz_require(!mkdir(takes, 0700));
    free(takes);
    atexit(leave);
}

static void put(const char *name, const uint8_t *data, size_t size)
{
    char *path = fl_format("%s/takes/a%s", folder, name);
    FILE *out = fopen(path, "wb");
    fl_fuzz_require(out && fwrite(data, 1, size, out) == size && !fclose(out));
    free(path);
}

/* The part up to the next NUL, which at leaves behind it. */
static size_t part(const uint8_t **at, size_t *left, const uint8_t **out)
{
    const uint8_t *end = memchr(*at, 0, *left);
    const size_t n = end ? (size_t)(end - *at) : *left;
    *out = *at;
    *at += n + (end != NULL);
    *left -= n + (end != NULL);
    return n;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static const char *const names[] = {".json", "-frames.csv", "-flips.csv"};
    struct fl_take *take = NULL;
    struct fl_error err = {0};
    const uint8_t *text;
    if (!folder) {
        enter();
        put("-flicks.csv", NULL, 0);
    }
    for (int i = 0; i < 3; i++) {
        const size_t n = part(&data, &size, &text);
        put(names[i], text, n);
    }
    if (fl_take_load(folder, "a", &take, &err)) {
        fl_fuzz_require(!take && *err.text && !strchr(err.text, '\n'));
        return 0;
    }
    fl_fuzz_require(take->frames >= 0 && !strcmp(take->spec.id, "a"));
    fl_fuzz_require(!fl_csv_writer.write_take(folder, take, NULL, &err) &&
                    !fl_json_writer.write_take(folder, take, NULL, &err));
    fl_take_free(&take);
    fl_fuzz_require(!fl_take_load(folder, "a", &take, &err));
    fl_take_free(&take);
    put("-flicks.csv", NULL, 0);
    return 0;
}
