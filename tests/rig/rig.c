/* The rig: a command board and a drive board side by side, the wires between them bit by bit, a tap, a loom.
 *
 * Links libsimavr, which is under the GPL, version 3. This program is built for tests and run as a process of its own;
 * nothing of it is linked into or shipped with wheeltap.
 *
 *     rig COMMAND.elf DRIVE.elf FOLDER [option...]
 *
 * writes into FOLDER: tap.jsonl (plain log of the tap), pins.vcd (IEEE 1364), truth.txt (what was sent, byte by byte,
 * and what was done to the rover). Time is the simulation's own. Same arguments, same files. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "chip.h"
#include "dump.h"
#include "live.h"
#include "loom.h"
#include "noise.h"
#include "options.h"
#include "pins.h"
#include "tap.h"
#include "wire.h"

/* How far the chips run in turn. A bit at 115,200 baud lasts 8.7 us. */
#define QUANTUM (10 * US)

typedef struct {
    options options;
    chip command, drive;
    wire to_drive, from_drive;
    receiver at_command, at_drive;
    tap taps[2];
    live live;
    noise noise;
    loom loom;
    pins pins;
    dump dump;
    uint8_t motor_on;
    FILE *truth;
} rig;

static void sends(chip *chip, ps at, uint8_t byte, void *param)
{
    rig *rig = param;
    int down = chip == &rig->command;
    ps bit = chip_bit(chip);
    ps begins = wire_send(down ? &rig->to_drive : &rig->from_drive, at, byte, bit);
    fprintf(rig->truth, "sent %c %lld %02X\n", down ? '>' : '<', (long long)((begins + 10 * bit) / 1000), byte);
}

static void at_drive(void *param, ps at, uint8_t byte, uint8_t framing_error)
{
    rig *rig = param;
    if (!rig->options.deaf_at || at < rig->options.deaf_at)
        chip_receive(&rig->drive, byte, framing_error);
}

static void at_command(void *param, ps at, uint8_t byte, uint8_t framing_error)
{
    rig *rig = param;
    (void)at;
    chip_receive(&rig->command, byte, framing_error);
}

static void pins_changed(void *param, ps at, const uint8_t levels[LEADS])
{
    rig *rig = param;
    rig->motor_on = levels[8] == 1 || levels[9] == 1 || levels[10] == 1 || levels[11] == 1;
    dump_change(&rig->dump, at, levels);
}

static void receiver_start(receiver *receiver, const wire *wire, receiver_takes takes, rig *rig)
{
    receiver->wire = wire;
    receiver->level = 1;
    receiver->takes = takes;
    receiver->param = rig;
}

static void start(rig *rig, char **files)
{
    char path[4096];
    snprintf(path, sizeof path, "%s/truth.txt", files[2]);
    rig->truth = fopen(path, "w");
    if (!rig->truth) {
        perror(path);
        exit(3);
    }
    snprintf(path, sizeof path, "%s/pins.vcd", files[2]);
    rig->loom = rig->options.loom;
    dump_open(&rig->dump, path, &rig->loom, &rig->to_drive, &rig->from_drive);
    chip_load(&rig->command, "command", files[0], rig->options.command_hertz);
    chip_load(&rig->drive, "drive", files[1], rig->options.drive_hertz);
    rig->command.sends = rig->drive.sends = sends;
    rig->command.param = rig->drive.param = rig;
    wire_start(&rig->to_drive);
    wire_start(&rig->from_drive);
    rig->to_drive.cut_at = rig->options.cut_at;
    rig->noise = (noise){ rig->options.seed, rig->options.noise, rig->options.noise_by_duty ? &rig->motor_on : NULL, 0 };
    rig->to_drive.noise = rig->options.noise ? &rig->noise : NULL;
    receiver_start(&rig->at_drive, &rig->to_drive, at_drive, rig);
    receiver_start(&rig->at_command, &rig->from_drive, at_command, rig);
    tap_start(&rig->taps[0], &rig->to_drive, '>', rig->truth);
    tap_start(&rig->taps[1], &rig->from_drive, '<', rig->truth);
    rig->taps[0].adapter = rig->taps[1].adapter = rig->options.adapter;
    rig->taps[0].rate = rig->taps[1].rate = rig->options.tap_rate;
    pins_start(&rig->pins, &rig->drive, pins_changed, rig);
}

static void sag(rig *rig, chip *chip, wire *wire, ps *due, ps now)
{
    if (!*due || now < *due)
        return;
    fprintf(rig->truth, "brown-out %s %lld\n", chip->name, (long long)(*due / 1000));
    chip_brown_out(chip, now, 20 * MS);
    wire_break_off(wire, now);
    *due = 0;
}

static void step(rig *rig, ps now)
{
    chip_run(&rig->command, now);
    chip_run(&rig->drive, now);
    sag(rig, &rig->command, &rig->to_drive, &rig->options.command_sags_at, now);
    sag(rig, &rig->drive, &rig->from_drive, &rig->options.drive_sags_at, now);
    if (rig->drive.was_reset) {
        fprintf(rig->truth, "watchdog drive %lld\n", (long long)(now / 1000));
        wire_break_off(&rig->from_drive, now);
        rig->drive.was_reset = 0;
    }
    pins_look(&rig->pins);
    receiver_look(&rig->at_drive, now, chip_bit(&rig->drive), chip_samples(&rig->drive));
    receiver_look(&rig->at_command, now, chip_bit(&rig->command), chip_samples(&rig->command));
    tap_look(&rig->taps[0], now);
    if (!rig->options.one_wire)
        tap_look(&rig->taps[1], now);
    dump_look(&rig->dump, now);
}

int main(int count, char **words)
{
    static rig rig;
    if (count < 4) {
        fprintf(stderr, "use: rig COMMAND.elf DRIVE.elf FOLDER [option...]\n%s", options_help);
        return 2;
    }
    options_read(&rig.options, count - 4, words + 4);
    start(&rig, words + 1);
    if (rig.options.live) {
        live_start(&rig.live);
        for (int place = 0; place < 2; place++)
            rig.taps[place].live = rig.live.masters[place];
    }
    ps now = 0;
    while (now < rig.options.length) {
        step(&rig, now += QUANTUM);
        if (!rig.options.live)
            continue;
        live_pace(&rig.live, now);
        for (int place = 0; now % MS == 0 && place < 2; place++)
            rig.taps[place].rate = live_rate(&rig.live, place);
    }
    for (int place = 0; place < 2; place++)
        tap_finish(&rig.taps[place]);
    char path[4096];
    snprintf(path, sizeof path, "%s/tap.jsonl", words[3]);
    tap_write(path, rig.options.tap_rate, rig.options.adapter);
    dump_close(&rig.dump, now);
    fprintf(rig.truth, "noise %u\n", rig.noise.hits);
    fprintf(rig.truth, "framing-errors %u %u\n", rig.taps[0].framing_errors, rig.taps[1].framing_errors);
    fprintf(rig.truth, "overruns %u %u\n", rig.command.overruns, rig.drive.overruns);
    fprintf(rig.truth, "end %lld\n", (long long)(now / 1000));
    int failed = fclose(rig.truth);
    if (rig.options.live)
        live_finish(&rig.live);
    return failed ? 3 : 0;
}
