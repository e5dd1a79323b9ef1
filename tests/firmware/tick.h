/* Milliseconds since the start, and waiting for the next one asleep. */
#ifndef TICK_H
#define TICK_H
#include <stdint.h>

void tick_start(void);
uint16_t tick_now(void);
/* Sleeps until any interrupt: a byte or the next millisecond. */
void tick_doze(void);
#endif
