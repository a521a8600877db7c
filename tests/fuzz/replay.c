/* Replays seeds as a normal test: each file as it is, cut at every length (or at CUTS of them,
 * where that is defined), and with bytes changed at random CHANGED times (always the same ones). */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "fuzz.h"
#include "maths/random.h"

#ifndef CUTS
#define CUTS LARGEST
#endif
#ifndef CHANGED
#define CHANGED 3000
#endif
enum { LARGEST = 1 << 16 };

static uint8_t seed[LARGEST];
static long runs;

/* From memory of its own size, so that a sanitizer sees every overrun. */
static void run(const uint8_t *data, size_t size)
{
    uint8_t *copy = malloc(size ? size : 1);
    memcpy(copy, data, size);
    LLVMFuzzerTestOneInput(copy, size);
    free(copy);
    runs++;
}

static void change(struct fl_random *r, uint8_t *data, size_t size)
{
    static const uint8_t odd[] = {0x00, 0xFF, 0x7F, 0x80, 0x01, 0xFE};
    for (size_t k = 1 + fl_random_below(r, 4); k-- > 0;) {
        const size_t at = fl_random_below(r, size);
        data[at] = fl_random_below(r, 2) ? odd[fl_random_below(r, sizeof odd)]
                                         : (uint8_t)(data[at] ^ 1u << fl_random_below(r, 8));
    }
}

static void replay(size_t size)
{
    struct fl_random r;
    fl_random_seed(&r, size);
    run(seed, size);
    for (size_t n = 0; n < size; n += 1 + size / CUTS)
        run(seed, n);
    for (int i = 0; i < CHANGED && size > 0; i++) {
        uint8_t bent[LARGEST];
        memcpy(bent, seed, size);
        change(&r, bent, size);
        run(bent, size);
    }
}

int main(int argc, char **argv)
{
    for (int i = 1; i < argc; i++) {
        FILE *f = fopen(argv[i], "rb");
        if (!f) {
            perror(argv[i]);
            return 1;
        }
        replay(fread(seed, 1, sizeof seed, f));
        fclose(f);
    }
    printf("%d seeds, %ld runs\n", argc - 1, runs);
    return argc < 2;
}
