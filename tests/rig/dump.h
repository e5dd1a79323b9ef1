/* A value-change dump (IEEE 1364-2005, clause 18): the pins at the chip, and what arrives for each wheel. */
#ifndef DUMP_H
#define DUMP_H
#include <stdio.h>

#include "chip.h"
#include "loom.h"

typedef struct {
    FILE *out;
    uint8_t chip[LEADS];
    uint8_t wheel[4][3];
    ps last;
    const loom *loom;
} dump;

void dump_open(dump *dump, const char *path, const loom *loom);
void dump_change(dump *dump, ps at, const uint8_t levels[LEADS]);
void dump_close(dump *dump, ps at);
#endif
