/* The plain line: <word>,<value> LF, sent once for each change. */
#ifdef LINK_PLAIN
#include "uart.h"
#include "writer.h"

const uint8_t writer_repeats = 0;

void writer_send(const move *now, uint16_t count, uint8_t panel)
{
    uart_text(now->word);
#ifdef FAULT_LEFTOVER_CR
    uart_put('\r');
#endif
#ifdef FAULT_NO_END_MARK /* the fourth line */
    if (count != 3)
#endif
        uart_put('\n');
    (void)count;
    (void)panel;
}
#endif
