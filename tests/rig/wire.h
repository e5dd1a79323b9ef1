/* A wire as levels over time: a sender's edges at its own rate, receivers that sample at theirs. */
#ifndef WIRE_H
#define WIRE_H
#include <stdint.h>

#include "chip.h"
#include "noise.h"

enum { EDGES = 4096 };

typedef struct {
    ps at;
    uint8_t level;
} edge;

typedef struct {
    edge edges[EDGES]; /* a ring; every receiver is far closer than this */
    uint64_t count;
    ps free_at; /* the byte on the wire is complete */
    uint8_t level; /* after the last edge */
    ps cut_at; /* no edge arrives from then on; 0: never */
    noise *noise; /* may be none */
} wire;

void wire_start(wire *wire);
/* A byte, 8N1, from `at` on or when the one before is complete; when its first edge left. */
ps wire_send(wire *wire, ps at, uint8_t byte, ps bit);
/* The sender is gone: the pull-up takes the wire high at once. */
void wire_break_off(wire *wire, ps at);

/* Takes a byte that a receiver has made of the levels. */
typedef void (*receiver_takes)(void *param, ps at, uint8_t byte, uint8_t framing_error);

typedef struct {
    const wire *wire;
    uint64_t next; /* edge */
    uint8_t level;
    uint8_t receiving;
    int bit; /* 0 start, 1 to 8 data, 9 stop */
    ps begun; /* its first low sample */
    uint8_t byte;
    receiver_takes takes;
    void *param;
} receiver;

/* Looks at the wire up to `now`; one bit lasts `bit`, of which it takes 8 or 16 samples. */
void receiver_look(receiver *receiver, ps now, ps bit, int samples);
#endif
