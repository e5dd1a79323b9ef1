/* The tap: two receivers at a rate of its own, and the plain log of what they heard. */
#ifndef TAP_H
#define TAP_H
#include <stdio.h>

#include "wire.h"

typedef struct {
    receiver receiver;
    char symbol; /* > or < */
    ps first, last; /* of the read that is open: its first and last byte complete */
    ps handed; /* when it came to the program */
    int length;
    uint8_t bytes[62]; /* what one USB packet of such an adapter carries */
    uint32_t framing_errors;
    int live; /* where each read goes as it ends, or -1 */
    uint32_t rate; /* baud */
    ps adapter; /* grid of its reads, or 0 */
    FILE *truth; /* every byte as it comes, with its time */
} tap;

void tap_start(tap *tap, const wire *wire, char symbol, FILE *truth);
/* Looks at the wire. Without an adapter a pause of half a millisecond ends a read. */
void tap_look(tap *tap, ps now);
void tap_finish(tap *tap);
/* Writes all reads of both taps in the order of their times. */
void tap_write(const char *path, uint32_t rate, ps adapter);
#endif
