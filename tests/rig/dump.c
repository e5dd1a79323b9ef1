/* A value-change dump (IEEE 1364-2005, clause 18). Levels: 0, 1, and z for a floating pin or an open lead. */
#include "dump.h"

#include <stdlib.h>
#include <string.h>

static const char *const names[4] = { "fl", "fr", "rl", "rr" };
static const char *const inputs[3] = { "in1", "in2", "en" };
static const char levels[] = "01z";

/* Identifier codes are printable characters: A to L at the chip, a to l at the wheels. */
static void scope(FILE *out, const char *name, char first)
{
    fprintf(out, "$scope module %s $end\n", name);
    for (int wheel = 0; wheel < 4; wheel++) {
        fprintf(out, "$scope module %s $end\n", names[wheel]);
        for (int input = 0; input < 3; input++)
            fprintf(out, "$var wire 1 %c %s $end\n", first + 3 * wheel + input, inputs[input]);
        fprintf(out, "$upscope $end\n");
    }
    fprintf(out, "$upscope $end\n");
}

void dump_open(dump *dump, const char *path, const loom *loom)
{
    dump->out = fopen(path, "w");
    if (!dump->out) {
        perror(path);
        exit(3);
    }
    dump->loom = loom;
    memset(dump->chip, 2, sizeof dump->chip);
    memset(dump->wheel, 2, sizeof dump->wheel);
    fprintf(dump->out, "$timescale 1 ns $end\n");
    scope(dump->out, "chip", 'A');
    scope(dump->out, "wheel", 'a');
    fprintf(dump->out, "$enddefinitions $end\n#0\n$dumpvars\n");
    for (int code = 0; code < LEADS; code++)
        fprintf(dump->out, "z%c\nz%c\n", 'A' + code, 'a' + code);
    fprintf(dump->out, "$end\n");
}

static void stamp(dump *dump, ps at)
{
    if (at / 1000 != dump->last / 1000)
        fprintf(dump->out, "#%lld\n", (long long)(at / 1000));
    dump->last = at;
}

static void set(dump *dump, ps at, uint8_t *kept, uint8_t level, char code)
{
    if (*kept == level)
        return;
    stamp(dump, at);
    *kept = level;
    fprintf(dump->out, "%c%c\n", levels[level], code);
}

void dump_change(dump *dump, ps at, const uint8_t pins[LEADS])
{
    if (at < dump->last)
        at = dump->last;
    for (int wheel = 0; wheel < 4; wheel++)
        for (int input = 0; input < 3; input++) {
            int lead = input == 2 ? INPUTS + wheel : 2 * wheel + input;
            int place = 3 * wheel + input;
            set(dump, at, &dump->chip[place], pins[lead], 'A' + place);
            set(dump, at, &dump->wheel[wheel][input], loom_level(dump->loom, pins, wheel, input), 'a' + place);
        }
}

void dump_close(dump *dump, ps at)
{
    stamp(dump, at);
    fclose(dump->out);
}
