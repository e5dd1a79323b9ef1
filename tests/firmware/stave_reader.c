/* The drive board's reader of staves: eleven bytes, of which only markers lie above EF; and its reports.
 *
 * type, sequence, FL FR RL RR + 100, deadline in 5 ms, flags with the gear, check as two nibbles, FE */
#ifdef LINK_STAVE
#include "check.h"
#include "orders.h"
#include "reader.h"
#include "reason.h"
#include "tick.h"
#include "uart.h"

enum { DRIVE = 0xF1, STOP = 0xF2, REPORT = 0xF3, HELLO = 0xF4, END = 0xFE };

static uint8_t frame[11], length, sequence, deadline;

static void send(uint8_t out[11])
{
#ifndef FAULT_MUTE
    uint8_t sum = check_stave(out, 8);
    out[8] = sum >> 4;
    out[9] = sum & 15;
    out[10] = END;
    for (uint8_t at = 0; at < 11; at++)
        uart_put(out[at]);
#endif
}

void reader_start(void)
{
    uint8_t out[11] = { HELLO, 0, 1, 4, reason_flags & 15 };
    send(out);
}

static void report(void)
{
    uint8_t out[11] = { REPORT, sequence };
    for (uint8_t wheel = 0; wheel < 4; wheel++)
        out[2 + wheel] = orders_duty[wheel] + 100;
    out[6] = deadline;
    send(out);
}

static void take_frame(void)
{
    static const int8_t rest[4];
    int8_t duty[4];
    if (frame[8] != check_stave(frame, 8) >> 4 || frame[9] != (check_stave(frame, 8) & 15))
        return;
    for (uint8_t wheel = 0; wheel < 4; wheel++) {
        if (frame[2 + wheel] > 200)
            return;
        duty[wheel] = frame[2 + wheel] - 100;
    }
    sequence = frame[1];
    deadline = frame[6];
    orders_obey(frame[0] == STOP ? rest : duty, deadline * 5u);
}

void reader_take(uint8_t byte)
{
    if (byte == DRIVE || byte == STOP)
        length = 0;
    else if (!length)
        return;
    frame[length++] = byte;
    if (length == 11 && byte == END)
        take_frame();
    if (length == 11 || byte >= 0xF5)
        length = 0;
}

void reader_idle(void)
{
    static uint16_t before;
    if ((uint16_t)(tick_now() - before) < 100)
        return;
    before = tick_now();
    report();
}

void reader_lapsed(void)
{
    report();
}
#endif
