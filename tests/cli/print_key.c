/* print_key FOOTAGE: the key under which a take of it would be stored. */
#include <stdio.h>
#include <stdlib.h>

#include "batch.h"

int main(int argc, char **argv)
{
    struct fl_take_spec spec;
    const struct fl_run_settings settings = {0};
    if (argc != 2)
        return 2;
    fl_take_spec_init(&spec);
    spec.id = "a";
    spec.footage = argv[1];
    char *key = fl_measurement_key(&spec, &settings);
    puts(key);
    free(key);
    return 0;
}
