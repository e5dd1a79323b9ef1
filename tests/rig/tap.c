/* The tap. One line a read. Without an adapter `t_us` is when its last byte was complete and `e_us` just before its
 * first one was. Behind an adapter bytes wait for its timer or a full packet; the program looks once a millisecond, so
 * `e_us` is one before `t_us`, and the latency is the timer and one millisecond for the frame of its bus. */
#include "tap.h"

#include "live.h"

#include <stdlib.h>
#include <string.h>

typedef struct {
    ps first, last;
    uint64_t order;
    char symbol;
    int length;
    uint8_t bytes[62];
} read_line;

static read_line *reads;
static uint64_t count, room;

static void close_read(tap *tap)
{
    if (!tap->length)
        return;
    if (tap->live >= 0)
        live_put(tap->live, tap->bytes, tap->length);
    if (count == room) {
        room = room ? room * 2 : 1024;
        reads = realloc(reads, room * sizeof *reads);
        if (!reads)
            exit(3);
    }
    read_line *line = &reads[count];
    *line = (read_line){ tap->first, tap->last, count, tap->symbol, tap->length, { 0 } };
    if (tap->adapter) {
        line->last = tap->handed;
        line->first = tap->handed - MS;
    }
    memcpy(line->bytes, tap->bytes, tap->length);
    count++;
    tap->length = 0;
}

static void takes(void *param, ps at, uint8_t byte, uint8_t framing_error)
{
    tap *tap = param;
    tap->framing_errors += framing_error;
    fprintf(tap->truth, "tap %c %lld %02X\n", tap->symbol, (long long)(at / 1000), byte);
    if (!tap->length)
        tap->first = at;
    tap->last = at;
    tap->bytes[tap->length++] = byte;
    tap->handed = at;
    if (tap->length == sizeof tap->bytes)
        close_read(tap);
}

void tap_start(tap *tap, const wire *wire, char symbol, FILE *truth)
{
    memset(tap, 0, sizeof *tap);
    tap->receiver.wire = wire;
    tap->receiver.level = 1;
    tap->receiver.takes = takes;
    tap->receiver.param = tap;
    tap->symbol = symbol;
    tap->truth = truth;
    tap->live = -1;
}

void tap_look(tap *tap, ps now)
{
    if (tap->rate)
        receiver_look(&tap->receiver, now, 1000000000000 / tap->rate, 16);
    tap->handed = now;
    if (tap->length && (tap->adapter ? now % tap->adapter == 0 : now - tap->last > MS / 2))
        close_read(tap);
}

void tap_finish(tap *tap)
{
    close_read(tap);
}

static int by_time(const void *a, const void *b)
{
    const read_line *x = a, *y = b;
    if (x->last / US != y->last / US)
        return x->last < y->last ? -1 : 1;
    return x->order < y->order ? -1 : 1;
}

void tap_write(const char *path, uint32_t rate, ps adapter)
{
    FILE *out = fopen(path, "w");
    if (!out) {
        perror(path);
        exit(3);
    }
    qsort(reads, count, sizeof *reads, by_time);
    ps latency = adapter ? adapter + MS : 0;
    fprintf(out, "{\"latency_us\":%lld,\"rate\":%u}\n", (long long)(latency / US), rate);
    for (uint64_t place = 0; place < count; place++) {
        const read_line *line = &reads[place];
        fprintf(out, "{\"t_us\":%lld,\"e_us\":%lld,\"wire\":\"%c\",\"hex\":\"", (long long)((line->last + US - 1) / US),
                (long long)(line->first / US) - 1, line->symbol);
        for (int at = 0; at < line->length; at++)
            fprintf(out, "%02X", line->bytes[at]);
        fprintf(out, "\"}\n");
    }
    fclose(out);
}
