/* The drive board's reader of the plain line: <word>,<value> LF. No check, no answers; numbers are taken leniently,
 * unknown words ignored, and an order is obeyed for ever. */
#ifdef LINK_PLAIN
#include <string.h>

#include "orders.h"
#include "reader.h"
#include "tick.h"
#include "uart.h"

static char line[48];
static uint8_t length;
static uint8_t pace = 140;
static const char *way = "rest";

/* Signs FL FR RL RR: FL = x - y - w, FR = x + y + w, RL = x + y - w, RR = x - y + w. */
static const struct {
    const char *word;
    int8_t sign[4];
} ways[] = {
    { "ahead", { 1, 1, 1, 1 } },
    { "astern", { -1, -1, -1, -1 } },
    { "port", { -1, 1, 1, -1 } },
    { "starboard", { 1, -1, -1, 1 } },
    { "ahead-port", { 0, 1, 1, 0 } },
    { "ahead-starboard", { 1, 0, 0, 1 } },
    { "astern-port", { -1, 0, 0, -1 } },
    { "astern-starboard", { 0, -1, -1, 0 } },
    { "spin-port", { -1, 1, -1, 1 } },
    { "spin-starboard", { 1, -1, 1, -1 } },
    { "rest", { 0, 0, 0, 0 } },
};

static uint8_t lenient(const char *text)
{
    uint16_t number = 0;
    while (*text >= '0' && *text <= '9' && number < 1000)
        number = number * 10 + (*text++ - '0');
    return number > 255 ? 255 : number;
}

static void apply(void)
{
    int8_t duty[4];
    int8_t size = (pace * 100u + 127) / 255;
    for (uint8_t row = 0; row < sizeof ways / sizeof *ways; row++) {
        if (strcmp(way, ways[row].word))
            continue;
        for (uint8_t wheel = 0; wheel < 4; wheel++)
            duty[wheel] = ways[row].sign[wheel] * size;
        orders_obey(duty, 0);
    }
}

static void take_line(void)
{
    char *value = strchr(line, ',');
    if (!value)
        return;
    *value++ = 0;
    if (!strcmp(line, "pace")) {
        pace = lenient(value);
    } else if (!strcmp(line, "way")) {
        for (uint8_t row = 0; row < sizeof ways / sizeof *ways; row++)
            if (!strcmp(value, ways[row].word))
                way = ways[row].word;
    } else {
        return;
    }
    apply();
}

#ifdef FAULT_READS_UNTIL_END_MARK
/* Blocks until the end mark or for a second; what has come by then is taken for a line. */
void reader_take(uint8_t byte)
{
    uint16_t begun = tick_now();
    int16_t next = byte;
    while (next != '\n' && (uint16_t)(tick_now() - begun) < 1000) {
        if (next >= 0 && length < sizeof line - 1)
            line[length++] = next;
        next = uart_take();
        if (next < 0)
            tick_doze();
    }
    line[length] = 0;
    take_line();
    length = 0;
}
#else
void reader_take(uint8_t byte)
{
    if (byte != '\n') {
        if (length < sizeof line - 1)
            line[length++] = byte;
        return;
    }
    line[length] = 0;
    take_line();
    length = 0;
}
#endif

void reader_start(void)
{
}

void reader_idle(void)
{
}

void reader_lapsed(void)
{
}
#endif
