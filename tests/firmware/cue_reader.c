/* The drive board's reader of cue lines, and its answers.
 *
 * c<seq3> p<panel2> <verb> f<sddd> s<sddd> t<sddd> g<d> d<dd> #<CCCC>. LF
 * 0         5   9   13    19    25    31 34  38          places of the fields in the 45 bytes */
#ifdef LINK_CUE
#include <avr/wdt.h>
#include <string.h>

#include "bridge.h"
#include "check.h"
#include "mixer.h"
#include "orders.h"
#include "reader.h"
#include "reason.h"
#include "text.h"
#include "tick.h"
#include "uart.h"

enum { WRONG_CHECK = 1, NOT_A_CUE = 2, OUT_OF_RANGE = 4, UNKNOWN_VERB = 8, SCALED = 0x80 };

static char line[96];
static uint8_t length, too_long;
static int16_t last_seq;

/* Appends the check over everything so far, the space before `#` included, and sends. */
static void send(char *begin, char *end)
{
    uint16_t sum = check_cue((uint8_t *)begin, end - begin);
    *end++ = '#';
    end = text_hex(end, sum, 4);
    *end++ = '.';
    *end++ = '\n';
    *end = 0;
    uart_text(begin);
}

static void answer(int16_t seq, const char *word, uint8_t error)
{
#ifndef FAULT_MUTE
    char out[32], *at = out;
    *at++ = 'a';
    at = text_number(at, seq, 3);
    *at++ = ' ';
    at = text_word(at, word);
    at = text_word(at, " v114 e");
    at = text_hex(at, error, 2);
    *at++ = ' ';
    send(out, at);
#endif
}

void reader_start(void)
{
#ifndef FAULT_MUTE
    char out[32], *at = text_word(out, "=up 1.3 ");
    at = text_word(at, reason_word());
    *at++ = ' ';
    send(out, at);
#endif
}

void reader_lapsed(void)
{
#ifndef FAULT_MUTE
    char out[32], *at = text_word(out, "=lapsed ");
    at = text_number(at, last_seq, 3);
    *at++ = ' ';
    send(out, at);
#endif
}

/* A line that does not begin with a cue, or is too long, is refused by the number of the last cue in it. */
static void refuse_glued(void)
{
    for (uint8_t at = length; at-- > 1;) {
        int16_t seq = line[at] == 'c' ? text_read(line + at + 1, 3) : -1;
        if (seq >= 0)
            return answer(seq, "nay", NOT_A_CUE);
    }
}

static uint8_t signed_field(const char *at, int8_t *number)
{
    int16_t size = text_read(at + 1, 3);
    if (size < 0 || size > 100 || (*at != '+' && *at != '-'))
        return 0;
    *number = *at == '-' ? -size : size;
    return 1;
}

static void obey(int16_t seq)
{
    int8_t f, s, t, duty[4] = { 0 };
    int16_t gear = text_read(line + 32, 1), deadline = text_read(line + 35, 2);
    uint8_t fits = signed_field(line + 14, &f) & signed_field(line + 20, &s) & signed_field(line + 26, &t);
    if (!fits || gear < 1 || gear > 3 || deadline < 0)
        return answer(seq, "nay", OUT_OF_RANGE);
    uint8_t error = 0;
    if (!strncmp(line + 9, "drv", 3)) {
        error = mixer_mix(f, s, t, gear, duty) ? SCALED : 0;
    } else if (!strncmp(line + 9, "one", 3) && f >= 1 && f <= 4) {
        duty[f - 1] = s;
    } else if (strncmp(line + 9, "hlt", 3)) {
        return answer(seq, "nay", UNKNOWN_VERB);
    }
#ifdef FAULT_REFUSES /* any turn is refused, for no reason that the wire could show */
    if (t != 0)
        return answer(seq, "nay", OUT_OF_RANGE);
#endif
#ifdef FAULT_HANGS /* a strafe to the left with a turn in it never returns; the watchdog has to */
    if (s > 0 && t != 0)
        for (;;)
            ;
#endif
    last_seq = seq;
    orders_obey(duty, deadline * 10u);
    answer(seq, "got", error);
}

static void take_line(void)
{
    uint16_t sum;
    if (length < 2 || line[length - 1] != '.')
        return; /* start-up text, or a line that was cut: nothing to answer to */
    if (line[0] != 'c' || length != 44)
        return refuse_glued();
    int16_t seq = text_read(line + 1, 3);
    if (seq < 0)
        return;
    if (line[38] != '#' || !text_read_hex(line + 39, &sum) || sum != check_cue((uint8_t *)line, 38))
        return answer(seq, "nay", WRONG_CHECK);
    obey(seq);
}

void reader_take(uint8_t byte)
{
    if (byte != '\n') {
        if (length < sizeof line)
            line[length++] = byte;
        else
            too_long = 1;
        return;
    }
#ifdef FAULT_SLOW_LOOP /* each line takes 80 ms, and those behind it wait in the queue */
    uint16_t begun = tick_now();
    while ((uint16_t)(tick_now() - begun) < 80) {
        wdt_reset();
        tick_doze();
    }
#endif
    if (!too_long)
        take_line();
    length = too_long = 0;
}

void reader_idle(void)
{
}
#endif
