/* The checks of the links, bit by bit: slow, short, and unlike a table that someone else made. */
#include "check.h"

uint16_t check_cue(const uint8_t *bytes, uint8_t count)
{
    uint16_t sum = 0x5A17;
    while (count--) {
        sum ^= (uint16_t)*bytes++ << 8;
        for (uint8_t bit = 0; bit < 8; bit++)
            sum = sum & 0x8000 ? sum << 1 ^ 0x1021 : sum << 1;
    }
    return sum;
}

uint8_t check_stave(const uint8_t *bytes, uint8_t count)
{
    uint8_t sum = 0x3C;
    while (count--) {
        sum ^= *bytes++;
        for (uint8_t bit = 0; bit < 8; bit++)
            sum = sum & 0x80 ? sum << 1 ^ 0x97 : sum << 1;
    }
    return sum;
}
