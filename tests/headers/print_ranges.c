/* print_ranges: name, low and high of every number that a take's specification may hold. */
#include <stdio.h>

#include "study/input/take_spec.h"

int main(void)
{
    for (int i = 0; i < FL_TAKE_KEYS; i++) {
        const struct fl_take_key *k = &fl_take_keys[i];
        if (k->kind == FL_KEY_NUMBER || k->kind == FL_KEY_TURN)
            printf("%s %.17g %.17g\n", k->name, k->low, k->high);
    }
    return 0;
}
