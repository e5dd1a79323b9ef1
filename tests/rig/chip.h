/* One simulated ATmega328P: its program, its clock, its UART, its resets. Time is in picoseconds everywhere. */
#ifndef CHIP_H
#define CHIP_H
#include <stdint.h>
#include <sim_avr.h>
#include <avr_uart.h>

typedef int64_t ps;
#define MS ((ps)1000000000)
#define US ((ps)1000000)

typedef struct chip chip;
/* A byte begins to leave the chip. */
typedef void (*chip_sends)(chip *chip, ps at, uint8_t byte, void *param);

struct chip {
    avr_t *avr;
    avr_uart_t *uart;
    const char *name;
    uint32_t hertz;
    ps held_until; /* in reset until then */
    uint8_t reason; /* flag of MCUSR at the end of that reset */
    uint8_t was_reset; /* by its own watchdog, since this was last cleared */
    uint32_t overruns; /* bytes that found the receiver full */
    chip_sends sends;
    void *param;
};

void chip_load(chip *chip, const char *name, const char *elf, uint32_t hertz);
void chip_run(chip *chip, ps until);
/* Pulls the supply below the limit at `at` for `length`. */
void chip_brown_out(chip *chip, ps at, ps length);
void chip_receive(chip *chip, uint8_t byte, uint8_t framing_error);
/* When this chip's present cycle is. */
ps chip_now(const chip *chip);
/* How long one bit lasts by its own divisor. */
ps chip_bit(const chip *chip);
/* Samples its receiver takes of each bit. */
int chip_samples(const chip *chip);
#endif
