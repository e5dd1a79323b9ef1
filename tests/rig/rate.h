/* The rate of a terminal. */
#ifndef RATE_H
#define RATE_H
#include <stdint.h>

/* Baud, as whoever has it open has set it; 0 where that cannot be told. */
uint32_t rate_of(int terminal);
#endif
