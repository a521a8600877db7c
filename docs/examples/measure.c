/* Measures a recording, and prints when frame synthesis was off.
 *
 *     cc -o measure measure.c $(pkg-config --cflags --libs flinch)
 *     ./measure take.mkv [trace.csv]
 */
#include <flinch/flinch.h>

#include <stdio.h>

int main(int argc, char **argv)
{
    struct flinch_message why;
    flinch_take *take;
    if (argc < 2) {
        fputs("use: example FOOTAGE [TRACE]\n", stderr);
        return 2;
    }
    const struct flinch_take_settings settings = {.footage = argv[1], .trace = argv[2]};
    if (flinch_take_measure(&take, &settings, NULL, &why)) {
        fprintf(stderr, "example: %s\n", why.text);
        return 1;
    }
    for (size_t i = 0; i < flinch_take_lapse_count(take); i++) {
        struct flinch_lapse lapse;
        flinch_take_lapse(take, i, &lapse);
        printf("off from %.3f s to %.3f s\n", lapse.start_s, lapse.end_s);
    }
    printf("%zu lapses\n", flinch_take_lapse_count(take));
    flinch_take_free(&take);
    return 0;
}
