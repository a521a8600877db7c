/* A pad's stick in the hand: how far it is pushed, what it reports, and how fast the game turns. */
#ifndef STAGE_PAD_H
#define STAGE_PAD_H

#include "hand.h"

/* Degrees per second that the game turns at a deflection, 0..1 of full. */
double st_pad_turn_rate(const struct st_stick *s, double deflection);
/* And back: the deflection that turns so fast; 1 where none does. */
double st_pad_deflection(const struct st_stick *s, double deg_s);

/* Fills h->readings from the planned moves, and what the game turns by meanwhile. */
void st_pad_record(struct st_hand *h, const struct st_scenario *s, uint64_t seed);
/* Of the stick as it was read last by time t: degrees per second, right and down. */
void st_pad_turning(const struct st_hand *h, const struct st_stick *s, double t, double deg_s[2]);
/* Degrees that it has turned the camera by time t, each reading held until the next. */
void st_pad_turned(const struct st_hand *h, const struct st_stick *s, double t, double deg[2]);

#endif
