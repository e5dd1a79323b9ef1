/* The command board: says that it is up, then plays the script down the wire. */
#include "reason.h"
#include "script.h"
#include "text.h"
#include "tick.h"
#include "uart.h"
#include "writer.h"

#ifndef EVERY_MS
#define EVERY_MS 50
#endif

static void wait(uint16_t ms)
{
    uint16_t begun = tick_now();
    while ((uint16_t)(tick_now() - begun) < ms)
        tick_doze();
}

static void start_up_text(void)
{
    char flags[3] = { 0 };
    text_hex(flags, reason_flags & 15, 2);
    uart_text("GC2 rom 1.4 rst=0x");
    uart_text(flags);
    uart_text("(");
    uart_text(reason_word());
    uart_text(") strap=0b10110\r\n");
    uart_text("load @3F40 len 6144 ok\r\n");
    wait(150);
    uart_text("eye ok heap 91k net up ");
#ifndef FAULT_GLUED_START
    uart_text("\r\n");
#endif
    wait(50);
}

static uint16_t count;

static void order(const move *now, uint8_t panel)
{
#ifdef FAULT_SEQUENCE_GAP /* now and then three numbers are used up with nothing sent */
    if (count % 40 == 20)
        count += 3;
#endif
    writer_send(now, count++, panel);
}

int main(void)
{
    static uint8_t panel;
    tick_start();
    uart_start();
    start_up_text();
    uint8_t place = 0;
    uint16_t begun = tick_now(), due = begun;
    order(&script[0], panel++);
    for (;;) {
        uint8_t changed = 0;
        tick_doze();
        if (place + 1 < script_length && (uint16_t)(tick_now() - begun) >= script[place].ms) {
            begun += script[place++].ms;
            changed = 1;
        }
        if ((uint16_t)(tick_now() - due) >= EVERY_MS) {
            due += EVERY_MS;
            if (writer_repeats)
                changed = 1;
        } else if (writer_repeats) {
            changed = 0; /* a change waits for the next repetition */
        }
        if (!changed)
            continue;
        order(&script[place], panel++);
#ifdef FAULT_TWO_SENDERS /* a second panel is heard as well: its own count, and it wants rest */
        static const move rest = { 0, 0, 0, 2, 0, "way,rest" };
        static uint8_t other = 60;
        wait(10);
        order(&rest, other++);
#endif
    }
}
