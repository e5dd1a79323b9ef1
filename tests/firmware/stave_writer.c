/* Staves: type, sequence, FL FR RL RR + 100, deadline in 5 ms, gear, check as two nibbles, FE. */
#ifdef LINK_STAVE
#include "check.h"
#include "mixer.h"
#include "uart.h"
#include "writer.h"

#ifdef FAULT_SEND_ON_CHANGE
const uint8_t writer_repeats = 0;
#else
const uint8_t writer_repeats = 1;
#endif

void writer_send(const move *now, uint16_t count, uint8_t panel)
{
    int8_t duty[4];
    mixer_mix(now->f, now->s, now->t, now->gear, duty);
    uint8_t out[11] = { 0xF1, count % 224 };
    for (uint8_t wheel = 0; wheel < 4; wheel++)
        out[2 + wheel] = duty[wheel] + 100;
    out[6] = 60;
    out[7] = now->gear;
    uint8_t sum = check_stave(out, 8);
    out[8] = sum >> 4;
    out[9] = sum & 15;
    out[10] = 0xFE;
    for (uint8_t at = 0; at < 11; at++)
        uart_put(out[at]);
    (void)panel;
}
#endif
