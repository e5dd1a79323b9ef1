/* Noise on a wire: bits turned over by a seeded chance (xorshift64*, S. Vigna, ACM TOMS 42(4), 2016, from memory). */
#include "noise.h"

int noise_hits(noise *noise, ps at)
{
    (void)at;
    noise->state ^= noise->state >> 12;
    noise->state ^= noise->state << 25;
    noise->state ^= noise->state >> 27;
    uint32_t chance = (noise->state * 2685821657736338717u >> 32) % 1000000;
    int hit = chance < noise->per_million && (!noise->while_on || *noise->while_on);
    noise->hits += hit;
    return hit;
}
