/* From a move of the body to the duty of four wheels. */
#ifndef MIXER_H
#define MIXER_H
#include <stdint.h>

/* f ahead, s to the left, t counter-clockwise, -100 to +100; gear 1 to 3. True when the sums were too large. */
uint8_t mixer_mix(int8_t f, int8_t s, int8_t t, uint8_t gear, int8_t duty[4]);
#endif
