/* A wire as levels over time.
 *
 * The receiver is that of the ATmega328P data sheet, chapter USART0, asynchronous data recovery (from memory): samples
 * 8, 9 and 10 of 16, or 4, 5 and 6 of 8, decide each bit by majority; a start bit that is not low was none; a high-to-low
 * edge after the middle such sample of the stop bit begins the next byte, as that chapter's formula for the fastest
 * sender has it. */
#include "wire.h"

#include <stdio.h>
#include <stdlib.h>

void wire_start(wire *wire)
{
    wire->edges[0] = (edge){ 0, 1 };
    wire->count = 1;
    wire->level = 1;
}

static void put(wire *wire, ps at, uint8_t level)
{
    if (wire->cut_at && at >= wire->cut_at)
        level = 1;
    if (level == wire->level)
        return;
    wire->edges[wire->count++ % EDGES] = (edge){ at, level };
    wire->level = level;
}

ps wire_send(wire *wire, ps at, uint8_t byte, ps bit)
{
    ps begins = at > wire->free_at ? at : wire->free_at;
    uint16_t bits = byte << 1 | 1 << 9;
    for (int place = 0; place < 10; place++) {
        uint8_t level = bits >> place & 1;
        if (wire->noise && noise_hits(wire->noise, begins + place * bit))
            level = !level;
        put(wire, begins + place * bit, level);
    }
    put(wire, begins + 10 * bit, 1);
    wire->free_at = begins + 10 * bit;
    return begins;
}

void wire_break_off(wire *wire, ps at)
{
    while (wire->count > 1 && wire->edges[(wire->count - 1) % EDGES].at > at)
        wire->count--;
    wire->level = wire->edges[(wire->count - 1) % EDGES].level;
    put(wire, at, 1);
    wire->free_at = at;
}

/* The level at an instant; instants must ascend. */
static uint8_t level_at(receiver *receiver, ps at)
{
    while (receiver->next < receiver->wire->count && receiver->wire->edges[receiver->next % EDGES].at <= at)
        receiver->level = receiver->wire->edges[receiver->next++ % EDGES].level;
    return receiver->level;
}

static int find_start(receiver *receiver, ps now, ps sample)
{
    const wire *wire = receiver->wire;
    while (receiver->next < wire->count && wire->edges[receiver->next % EDGES].at <= now) {
        edge edge = wire->edges[receiver->next++ % EDGES];
        uint8_t before = receiver->level;
        receiver->level = edge.level;
        if (!before || edge.level)
            continue;
        receiver->begun = (edge.at + sample - 1) / sample * sample; /* the receiver's own sample clock */
        receiver->receiving = 1;
        receiver->bit = 0;
        receiver->byte = 0;
        return 1;
    }
    return 0;
}

/* Takes the bit that is due; false when the byte is over. */
static int take_bit(receiver *receiver, ps first, ps sample)
{
    int high = level_at(receiver, first) + level_at(receiver, first + sample);
    /* An edge behind the middle sample of the stop bit may begin the next byte: it is left for that. */
    uint64_t next = receiver->next;
    uint8_t middle = receiver->level;
    high += level_at(receiver, first + 2 * sample);
    uint8_t level = high >= 2;
    int bit = receiver->bit++;
    if (bit == 0)
        return !level;
    if (bit < 9) {
        receiver->byte |= level << (bit - 1);
        return 1;
    }
    receiver->next = next;
    receiver->level = middle;
    receiver->takes(receiver->param, first + 2 * sample, receiver->byte, !level);
    return 0;
}

void receiver_look(receiver *receiver, ps now, ps bit, int samples)
{
    if (bit <= 0)
        return;
    ps sample = bit / samples;
    if (receiver->wire->count - receiver->next > EDGES) {
        fprintf(stderr, "a receiver fell behind the wire\n");
        exit(3);
    }
    for (;;) {
        if (!receiver->receiving && !find_start(receiver, now, sample))
            return;
        ps first = receiver->begun + (receiver->bit * samples + samples / 2 - 1) * sample;
        if (first + 2 * sample > now)
            return;
        receiver->receiving = take_bit(receiver, first, sample);
    }
}
