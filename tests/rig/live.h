/* The tap as two pseudo-terminals, at the pace of the wall clock. */
#ifndef LIVE_H
#define LIVE_H
#include "chip.h"

typedef struct {
    int masters[2]; /* wires > and < */
    int kept[2]; /* their other ends, kept open: a write fails while nobody has them open */
    int64_t begun_ns;
} live;

/* Opens both, prints their names, and waits for a line on standard input. */
void live_start(live *live);
/* Waits until the wall clock has come to the run's time. */
void live_pace(const live *live, ps now);
/* The rate that has been set at the other end, baud. */
uint32_t live_rate(const live *live, int place);
/* A whole read at once: a computer that is busy elsewhere must not put a pause inside it. */
void live_put(int master, const uint8_t *bytes, int length);
/* Says `done` and keeps the terminals open until standard input ends. */
void live_finish(const live *live);
#endif
