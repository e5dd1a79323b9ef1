/* How the command board puts a move on the wire. */
#ifndef WRITER_H
#define WRITER_H
#include <stdint.h>

#include "script.h"

/* `count` numbers the orders from 0; `panel` the messages of the control panel. */
void writer_send(const move *now, uint16_t count, uint8_t panel);
/* True when an order of this link is repeated while nothing changes. */
extern const uint8_t writer_repeats;
#endif
