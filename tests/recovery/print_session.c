/* Prints a simulated session as JSON, its flicks and what the study makes of them, for a check by
 * another program: print_session SCENARIO NUMBER */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "scenarios.h"
#include "study/curve/curve.h"
#include "study/curve/curves.h"

static void print_take(const struct fl_curve *c, int first, const struct fl_take_v50 *t)
{
    printf("{\"x\":[");
    for (int i = 0; i < t->flicks; i++)
        printf("%s%.9f", i ? "," : "", log2(c->points[first + i].v));
    printf("],\"tripped\":[");
    for (int i = 0; i < t->flicks; i++)
        printf("%s%d", i ? "," : "", c->points[first + i].tripped);
    printf("]}");
}

static void print_curve(const struct fl_curve *c)
{
    printf("{\"v50\":[%.9f,%.9f,%.9f],\"another\":[%.9f,%.9f]", log2(c->v50_low), log2(c->v50),
           log2(c->v50_high), log2(c->another_low), log2(c->another_high));
    printf(",\"spread\":[%.9f,%.9f,%.9f],\"slope\":[%.9f,%.9f,%.9f],\"takes\":[", c->spread_low,
           c->spread, c->spread_high, c->slope_low, c->beta, c->slope_high);
    for (int k = 0, first = 0; k < c->takes; first += c->by_take[k++].flicks) {
        printf("%s", k ? "," : "");
        print_take(c, first, &c->by_take[k]);
    }
    printf("]}");
}

int main(int argc, char **argv)
{
    struct truth truth;
    for (size_t i = 0; argc > 2 && i < n_scenarios; i++) {
        if (strcmp(scenarios[i].name, argv[1]))
            continue;
        struct fl_session *s = simulate(&scenarios[i], (uint64_t)atoi(argv[2]), &truth);
        int n = 0;
        fl_study_curves(s);
        printf("[");
        for (size_t k = 0; k < s->n_curves; k++)
            if (!s->curves[k].pooled && s->curves[k].bound == FL_BOUND_NONE) {
                printf("%s", n++ ? "," : "");
                print_curve(&s->curves[k]);
            }
        printf("]\n");
        fl_session_free(&s);
        return 0;
    }
    return 2;
}
