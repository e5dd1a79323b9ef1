/* What is done to the rover in one run, read from words such as `cross=A2,A3`. */
#include "options.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

const char *const options_help =
    "length=MS             how long the run lasts, 5000 without it\n"
    "command-clock=HZ      clock of the command board, drive-clock=HZ of the drive board; 16000000 without it\n"
    "tap-rate=BAUD         rate of the tap's receivers, 115200 without it\n"
    "adapter=MS            the tap's adapter hands its bytes over this often; at once without it\n"
    "live=1                pseudo-terminals at the pace of the wall clock, too; names on standard output\n"
    "one-wire=1            only wire > is tapped\n"
    "cut=MS                the lead of wire > breaks, before the tap; deaf=MS: behind it\n"
    "command-sags=MS       brown-out of the command board for 20 ms; drive-sags=MS of the drive board\n"
    "noise=N               bits turned over on wire >, per million; by-duty=1: only while an enable is high\n"
    "seed=N                of that noise\n"
    "cross=A2,A3           two leads at the drivers; open=A1 one of them; exchange=FL,FR two motor plugs\n";

static int two(loom *loom, const char *value, int (*act)(struct loom *, const char *, const char *))
{
    char one[8] = { 0 }, other[8] = { 0 };
    return sscanf(value, "%7[A-Z0-9],%7[A-Z0-9]", one, other) == 2 && act(loom, one, other);
}

static int take(options *options, const char *key, const char *value)
{
    double number = strtod(value, NULL); /* times may have a fraction */
    const struct {
        const char *key;
        ps *time;
        uint32_t *count;
        uint8_t *flag;
    } keys[] = {
        { "length", &options->length, 0, 0 },
        { "cut", &options->cut_at, 0, 0 },
        { "deaf", &options->deaf_at, 0, 0 },
        { "command-sags", &options->command_sags_at, 0, 0 },
        { "drive-sags", &options->drive_sags_at, 0, 0 },
        { "command-clock", 0, &options->command_hertz, 0 },
        { "drive-clock", 0, &options->drive_hertz, 0 },
        { "tap-rate", 0, &options->tap_rate, 0 },
        { "noise", 0, &options->noise, 0 },
        { "by-duty", 0, 0, &options->noise_by_duty },
        { "adapter", &options->adapter, 0, 0 },
        { "live", 0, 0, &options->live },
        { "one-wire", 0, 0, &options->one_wire },
    };
    for (unsigned place = 0; place < sizeof keys / sizeof *keys; place++) {
        if (strcmp(key, keys[place].key) || number <= 0)
            continue;
        if (keys[place].time)
            *keys[place].time = (ps)(number * MS);
        else if (keys[place].count)
            *keys[place].count = number;
        else
            *keys[place].flag = 1;
        return 1;
    }
    if (!strcmp(key, "seed"))
        return (options->seed = (uint64_t)number) != 0;
    if (!strcmp(key, "cross"))
        return two(&options->loom, value, loom_cross);
    if (!strcmp(key, "exchange"))
        return two(&options->loom, value, loom_exchange);
    return !strcmp(key, "open") && loom_open(&options->loom, value);
}

void options_read(options *options, int count, char **words)
{
    options->length = 5000 * MS;
    options->command_hertz = options->drive_hertz = 16000000;
    options->tap_rate = 115200;
    options->seed = 1;
    loom_start(&options->loom);
    for (int place = 0; place < count; place++) {
        char key[32] = { 0 }, value[32] = { 0 };
        if (sscanf(words[place], "%31[a-z-]=%31s", key, value) != 2 || !take(options, key, value)) {
            fprintf(stderr, "`%s` is no option of the rig:\n%s", words[place], options_help);
            exit(2);
        }
    }
}
