/* Why this board started: the flags of MCUSR as the start-up code found them. */
#ifndef REASON_H
#define REASON_H
#include <stdint.h>

extern uint8_t reason_flags;
/* In the words of the links: power, ext, sag, dog. */
const char *reason_word(void);
#endif
