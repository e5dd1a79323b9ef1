/* Noise on a wire: bits turned over by a seeded chance, always or while a motor is driven. */
#ifndef NOISE_H
#define NOISE_H
#include <stdint.h>

#include "chip.h"

typedef struct {
    uint64_t state;
    uint32_t per_million; /* chance of each bit */
    const uint8_t *while_on; /* only while this is not 0; may be none */
    uint32_t hits;
} noise;

int noise_hits(noise *noise, ps at);
#endif
