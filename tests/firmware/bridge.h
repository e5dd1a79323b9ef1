/* The two L298 drivers: direction inputs and enable of each wheel. */
#ifndef BRIDGE_H
#define BRIDGE_H
#include <stdint.h>

enum { FL, FR, RL, RR };

/* Inputs low before they become outputs; then pulse width on the enables. */
void bridge_start(void);
/* Duty of one wheel, -100 to +100 per cent, + rolls the rover towards its nose. */
void bridge_set(uint8_t wheel, int8_t duty);
#endif
