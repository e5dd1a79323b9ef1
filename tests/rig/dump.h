/* A value-change dump (IEEE 1364-2005, clause 18): the pins at the chip, what arrives for each wheel, and both wires as
 * the tap has them. Changes wait until nothing earlier can come. */
#ifndef DUMP_H
#define DUMP_H
#include <stdio.h>

#include "chip.h"
#include "loom.h"
#include "wire.h"

enum { CHANGES = 4096 };

typedef struct {
    ps at;
    uint8_t level;
    char code;
} change;

typedef struct {
    FILE *out;
    change waiting[CHANGES];
    int count;
    const wire *wires[2];
    uint64_t next[2]; /* edge of each wire */
    uint8_t chip[LEADS];
    uint8_t wheel[4][3];
    ps last;
    const loom *loom;
} dump;

void dump_open(dump *dump, const char *path, const loom *loom, const wire *to_drive, const wire *from_drive);
void dump_change(dump *dump, ps at, const uint8_t levels[LEADS]);
/* Everything up to `now` has happened. */
void dump_look(dump *dump, ps now);
void dump_close(dump *dump, ps at);
#endif
