/* The levels of the drive board's twelve pins, with the instant of every change. */
#ifndef PINS_H
#define PINS_H
#include "chip.h"
#include "loom.h"

typedef void (*pins_change)(void *param, ps at, const uint8_t levels[LEADS]);

typedef struct {
    chip *chip;
    uint8_t levels[LEADS]; /* 0, 1, or 2 for a pin that is an input */
    uint8_t timer[4]; /* what the timer puts out for each enable */
    pins_change changes;
    void *param;
} pins;

void pins_start(pins *pins, chip *chip, pins_change changes, void *param);
/* Reads the registers anew: a reset changes pins without an event. */
void pins_look(pins *pins);
#endif
