/* The moves that the command board plays, one after the other. */
#ifndef SCRIPT_H
#define SCRIPT_H
#include <stdint.h>

typedef struct {
    int8_t f, s, t; /* ahead, left, counter-clockwise */
    uint8_t gear;
    uint16_t ms;
    const char *word; /* plain line: what stands on the wire in place of numbers */
} move;

extern const move script[];
extern const uint8_t script_length;
#endif
