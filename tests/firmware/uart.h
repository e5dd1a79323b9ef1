/* The UART: received bytes wait in a queue, bytes to send leave by interrupt. */
#ifndef UART_H
#define UART_H
#include <stdint.h>

/* UBRR0 at double speed: rate = clock / (8 * (DIVISOR + 1)). 16 gives 117,647 baud at 16 MHz, 2.1 % above 115,200. */
#ifndef DIVISOR
#define DIVISOR 16
#endif

void uart_start(void);
/* The oldest byte that waits, or -1. */
int16_t uart_take(void);
/* Waits for room in the queue, then leaves the byte to the interrupt. */
void uart_put(uint8_t byte);
void uart_text(const char *text);
/* True when every byte has left. */
uint8_t uart_idle(void);
#endif
