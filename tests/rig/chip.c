/* One simulated ATmega328P. Links libsimavr (GPL version 3): a program for tests, never part of wheeltap.
 *
 * What the library does otherwise than the chip, and is corrected here:
 * - it counts eleven bits a byte: ten are 8N1;
 * - it hands a received byte over one byte time late, and keeps 64: the chip keeps two and one in its shift register
 *   (data sheet, chapter USART0, receive buffer);
 * - asleep it jumps to its next timer: a timer of ours comes every ten microseconds;
 * - a low level at PD2 or PD3 costs a timer a cycle: strict level triggering is switched off, after every reset. */
#include "chip.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sim_elf.h>
#include <sim_io.h>

/* In no header of the library. */
void avr_extint_set_strict_lvl_trig(avr_t *avr, uint8_t number, uint8_t strict);

static void quiet(avr_t *avr, const int level, const char *format, va_list list)
{
    (void)avr;
    if (level <= LOG_ERROR)
        vfprintf(stderr, format, list);
}

static void no_sleep(avr_t *avr, avr_cycle_count_t cycles)
{
    (void)avr;
    (void)cycles;
}

static ps at_cycle(const chip *chip, avr_cycle_count_t cycle)
{
    return (ps)((unsigned __int128)cycle * 1000000000000u / chip->hertz);
}

static avr_cycle_count_t cycle_at(const chip *chip, ps at)
{
    return (avr_cycle_count_t)((unsigned __int128)at * chip->hertz / 1000000000000u);
}

ps chip_now(const chip *chip)
{
    return at_cycle(chip, chip->avr->cycle);
}

static avr_cycle_count_t bit_cycles(const chip *chip)
{
    const uint8_t *data = chip->avr->data;
    unsigned divisor = (data[chip->uart->ubrrl.reg] | (data[chip->uart->ubrrh.reg] & 15) << 8) + 1;
    return divisor * chip_samples(chip);
}

static avr_cycle_count_t byte_cycles(const chip *chip)
{
    return 10 * bit_cycles(chip);
}

ps chip_bit(const chip *chip)
{
    return at_cycle(chip, bit_cycles(chip));
}

int chip_samples(const chip *chip)
{
    return avr_regbit_get(chip->avr, chip->uart->u2x) ? 8 : 16;
}

static void byte_out(avr_irq_t *irq, uint32_t value, void *param)
{
    chip *chip = param;
    (void)irq;
    chip->sends(chip, chip_now(chip), value, chip->param);
}

/* Comes again and again, so that sleep never goes past it; a reset drops it. */
static avr_cycle_count_t heartbeat(avr_t *avr, avr_cycle_count_t when, void *param)
{
    (void)param;
    return when + avr->frequency / 100000;
}

static void after_reset(chip *chip)
{
    avr_extint_set_strict_lvl_trig(chip->avr, 0, 0);
    avr_extint_set_strict_lvl_trig(chip->avr, 1, 0);
    avr_cycle_timer_register(chip->avr, 1, heartbeat, NULL);
}

void chip_load(chip *chip, const char *name, const char *elf, uint32_t hertz)
{
    elf_firmware_t firmware;
    memset(&firmware, 0, sizeof firmware);
    avr_global_logger_set(quiet);
    if (elf_read_firmware(elf, &firmware)) {
        fprintf(stderr, "%s: this is no program for the %s board\n", elf, name);
        exit(2);
    }
    chip->name = name;
    chip->hertz = hertz;
    chip->avr = avr_make_mcu_by_name("atmega328p");
    avr_init(chip->avr);
    avr_load_firmware(chip->avr, &firmware);
    chip->avr->frequency = hertz;
    chip->avr->sleep = no_sleep;
    uint32_t flags = 0;
    avr_ioctl(chip->avr, AVR_IOCTL_UART_SET_FLAGS('0'), &flags);
    avr_io_t *io = chip->avr->io_port;
    while (io && strcmp(io->kind, "uart"))
        io = io->next;
    chip->uart = (avr_uart_t *)io;
    avr_irq_t *out = avr_io_getirq(chip->avr, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_OUTPUT);
    avr_irq_register_notify(out, byte_out, chip);
    after_reset(chip);
}

static void release(chip *chip)
{
    chip->held_until = 0;
    avr_reset(chip->avr);
    avr_regbit_clear(chip->avr, chip->avr->reset_flags.porf);
    if (chip->reason)
        avr_regbit_set(chip->avr, chip->avr->reset_flags.borf);
    after_reset(chip);
}

void chip_run(chip *chip, ps until)
{
    avr_t *avr = chip->avr;
    avr_cycle_count_t target = cycle_at(chip, until);
    if (chip->held_until) {
        if (until < chip->held_until) {
            avr->cycle = target;
            return;
        }
        release(chip);
    }
    if (avr->cycle >= target)
        return;
    while (avr->cycle < target) {
        avr_run_t before = avr->run;
        chip->uart->cycles_per_byte = byte_cycles(chip);
        int state = avr_run(avr);
        if (state == cpu_Crashed || state == cpu_Done) {
            fprintf(stderr, "the program of the %s board stopped by itself\n", chip->name);
            exit(3);
        }
        /* The library swaps its run function for one call to reset after a watchdog. */
        if (before != avr->run && avr->cycle && avr_regbit_get(avr, avr->reset_flags.wdrf)) {
            chip->was_reset = 1;
            after_reset(chip);
        }
    }
}

void chip_brown_out(chip *chip, ps at, ps length)
{
    chip->held_until = at + length;
    chip->reason = 1;
    for (int reg = 0x20; reg <= chip->avr->ioend; reg++)
        chip->avr->data[reg] = 0; /* all registers at their reset value: every pin an input */
}

void chip_receive(chip *chip, uint8_t byte, uint8_t framing_error)
{
    avr_uart_t *uart = chip->uart;
    if (chip->held_until)
        return;
    unsigned waiting = (uart->input.write - uart->input.read) & (uart_fifo_fifo_size - 1);
    if (waiting >= 3) {
        chip->overruns++;
        avr_regbit_set(chip->avr, uart->dor);
        return;
    }
    uart->cycles_per_byte = 1;
    avr_irq_t *in = avr_io_getirq(chip->avr, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_INPUT);
    avr_raise_irq(in, byte | (framing_error ? UART_INPUT_FE : 0));
    uart->cycles_per_byte = byte_cycles(chip);
}
