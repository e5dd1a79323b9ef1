/* The drive board: reads the wire, sets the wheels, stops them when the deadline has passed. */
#include <avr/wdt.h>

#include "bridge.h"
#include "orders.h"
#include "reader.h"
#include "tick.h"
#include "uart.h"

int main(void)
{
    bridge_start();
    tick_start();
    uart_start();
#ifdef FAULT_HANGS
    wdt_enable(WDTO_120MS);
#endif
    reader_start();
    for (;;) {
        int16_t byte;
        while ((byte = uart_take()) >= 0)
            reader_take(byte);
        if (orders_watch())
            reader_lapsed();
        reader_idle();
        wdt_reset();
        tick_doze();
    }
}
