/* The order in force: the wheels' duties, and until when. */
#ifndef ORDERS_H
#define ORDERS_H
#include <stdint.h>

extern int8_t orders_duty[4];

/* Obeys from now on; `deadline_ms` 0 means for ever. */
void orders_obey(const int8_t duty[4], uint16_t deadline_ms);
/* Stops the wheels when the deadline has passed; true when it did so just now with a wheel turning. */
uint8_t orders_watch(void);
#endif
