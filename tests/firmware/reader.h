/* What the drive board does with the bytes of one link. */
#ifndef READER_H
#define READER_H
#include <stdint.h>

/* The board is up: says so where the link has words for it. */
void reader_start(void);
void reader_take(uint8_t byte);
/* Once a millisecond or oftener. */
void reader_idle(void);
/* The deadline ran out with a wheel turning. */
void reader_lapsed(void);
#endif
