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

void dump_open(dump *dump, const char *path, const loom *loom, const wire *to_drive, const wire *from_drive)
{
    dump->out = fopen(path, "w");
    if (!dump->out) {
        perror(path);
        exit(3);
    }
    dump->loom = loom;
    dump->wires[0] = to_drive;
    dump->wires[1] = from_drive;
    memset(dump->chip, 2, sizeof dump->chip);
    memset(dump->wheel, 2, sizeof dump->wheel);
    fprintf(dump->out, "$timescale 1 ns $end\n");
    scope(dump->out, "chip", 'A');
    scope(dump->out, "wheel", 'a');
    fprintf(dump->out, "$scope module tap $end\n$var wire 1 > to_drive $end\n$var wire 1 < from_drive $end\n");
    fprintf(dump->out, "$upscope $end\n$enddefinitions $end\n#0\n$dumpvars\n1>\n1<\n");
    dump->next[0] = dump->next[1] = 1; /* the first edge of a wire is its level at rest */
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

static void add(dump *dump, ps at, uint8_t level, char code)
{
    if (dump->count == CHANGES) {
        fprintf(stderr, "too many changes at once\n");
        exit(3);
    }
    /* Kept in the order of their times, equal ones as they came. */
    int place = dump->count++;
    for (; place > 0 && dump->waiting[place - 1].at > at; place--)
        dump->waiting[place] = dump->waiting[place - 1];
    dump->waiting[place] = (change){ at, level, code };
}

static void set(dump *dump, ps at, uint8_t *kept, uint8_t level, char code)
{
    if (*kept == level)
        return;
    *kept = level;
    add(dump, at, level, code);
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

void dump_look(dump *dump, ps now)
{
    for (int place = 0; place < 2; place++) {
        const wire *wire = dump->wires[place];
        for (; dump->next[place] < wire->count && wire->edges[dump->next[place] % EDGES].at <= now; dump->next[place]++) {
            edge edge = wire->edges[dump->next[place] % EDGES];
            add(dump, edge.at, edge.level, "><"[place]);
        }
    }
    int done = 0;
    for (; done < dump->count && dump->waiting[done].at <= now; done++) {
        stamp(dump, dump->waiting[done].at);
        fprintf(dump->out, "%c%c\n", levels[dump->waiting[done].level], dump->waiting[done].code);
    }
    memmove(dump->waiting, dump->waiting + done, (dump->count - done) * sizeof *dump->waiting);
    dump->count -= done;
}

void dump_close(dump *dump, ps at)
{
    dump_look(dump, at);
    stamp(dump, at);
    fclose(dump->out);
}
