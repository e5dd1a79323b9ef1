/* Milliseconds by timer 1 in CTC mode. Registers: data sheet, chapter 16-bit timer/counter 1. */
#include "tick.h"

#include <avr/interrupt.h>
#include <avr/io.h>
#include <avr/sleep.h>
#include <util/atomic.h>

static volatile uint16_t milliseconds;

ISR(TIMER1_COMPA_vect)
{
    milliseconds++;
}

void tick_start(void)
{
    TCCR1A = 0;
    OCR1A = F_CPU / 8 / 1000 - 1;
    TCCR1B = 1 << WGM12 | 1 << CS11;
    TIMSK1 = 1 << OCIE1A;
    sei();
}

uint16_t tick_now(void)
{
    uint16_t now;
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE) now = milliseconds;
    return now;
}

void tick_doze(void)
{
    set_sleep_mode(SLEEP_MODE_IDLE);
    sleep_mode();
}
