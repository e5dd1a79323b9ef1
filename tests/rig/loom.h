/* The loom: leads from the drive board's pins to the inputs of two L298 drivers, and motor plugs at their outputs. */
#ifndef LOOM_H
#define LOOM_H
#include <stdint.h>

enum { FL, FR, RL, RR };
/* Driver inputs: A1 A2 A3 A4 B1 B2 B3 B4, then the enables AE1 AE2 BE1 BE2. */
enum { INPUTS = 8, LEADS = 12 };

typedef struct loom {
    int pin_of[LEADS]; /* which lead's pin drives this input; -1: open */
    int half_of[4]; /* which half bridge feeds this wheel's motor */
} loom;

void loom_start(loom *loom);
/* Crosses two leads, opens one, exchanges the motor plugs of two corners; false for a name it does not know. */
int loom_cross(loom *loom, const char *one, const char *other);
int loom_open(loom *loom, const char *name);
int loom_exchange(loom *loom, const char *one, const char *other);
/* The level at IN1 (0), IN2 (1) or EN (2) of the half bridge that feeds `wheel`; 2 for an open input. */
uint8_t loom_level(const loom *loom, const uint8_t pins[LEADS], int wheel, int input);
#endif
