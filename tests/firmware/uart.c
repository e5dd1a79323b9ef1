/* The UART: received bytes wait in a queue, bytes to send leave by interrupt. Registers: data sheet, chapter USART0. */
#include "uart.h"

#include <avr/interrupt.h>
#include <avr/io.h>

/* A power of two below 256, so that an index wraps by a mask. */
#define ROOM 128u

static volatile uint8_t heard[ROOM], heard_in, heard_out;
static volatile uint8_t said[ROOM], said_in, said_out;

void uart_start(void)
{
    UBRR0 = DIVISOR;
    UCSR0A = 1 << U2X0;
    UCSR0C = 1 << UCSZ01 | 1 << UCSZ00; /* 8N1 */
    UCSR0B = 1 << RXEN0 | 1 << TXEN0 | 1 << RXCIE0;
}

ISR(USART_RX_vect)
{
    uint8_t byte = UDR0;
    uint8_t next = (heard_in + 1) & (ROOM - 1);
    if (next != heard_out) {
        heard[heard_in] = byte;
        heard_in = next;
    }
}

ISR(USART_UDRE_vect)
{
    if (said_in == said_out) {
        UCSR0B &= ~(1 << UDRIE0);
        return;
    }
    UDR0 = said[said_out];
    said_out = (said_out + 1) & (ROOM - 1);
}

int16_t uart_take(void)
{
    if (heard_in == heard_out)
        return -1;
    uint8_t byte = heard[heard_out];
    heard_out = (heard_out + 1) & (ROOM - 1);
    return byte;
}

void uart_put(uint8_t byte)
{
    uint8_t next = (said_in + 1) & (ROOM - 1);
    while (next == said_out)
        ;
    said[said_in] = byte;
    said_in = next;
    UCSR0B |= 1 << UDRIE0;
}

void uart_text(const char *text)
{
    while (*text)
        uart_put(*text++);
}

uint8_t uart_idle(void)
{
    return said_in == said_out;
}
