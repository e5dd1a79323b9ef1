/* The levels of the drive board's pins, from its registers and timers: an enable that is joined to its timer follows
 * the timer, any other output follows PORT, an input floats. Pins as in the firmware's table of half bridges; register
 * addresses: ATmega328P data sheet, register summary. */
#include "pins.h"

#include <string.h>
#include <avr_ioport.h>
#include <avr_timer.h>
#include <sim_io.h>

typedef struct {
    uint8_t port, bit; /* data address of PORTx; DDRx lies one below */
    uint8_t control, joined; /* TCCRnA and its COM bit; 0 for none */
    char timer;
    int compare;
} pin;

enum { PORT_B = 0x25, PORT_C = 0x28, PORT_D = 0x2B, TCCR0A = 0x44, TCCR2A = 0xB0 };

static const pin table[LEADS] = {
    { PORT_C, 0, 0, 0, 0, 0 }, { PORT_C, 1, 0, 0, 0, 0 }, { PORT_C, 2, 0, 0, 0, 0 }, { PORT_C, 3, 0, 0, 0, 0 },
    { PORT_C, 4, 0, 0, 0, 0 }, { PORT_C, 5, 0, 0, 0, 0 }, { PORT_B, 0, 0, 0, 0, 0 }, { PORT_B, 1, 0, 0, 0, 0 },
    { PORT_D, 6, TCCR0A, 1 << 7, '0', 0 }, { PORT_D, 5, TCCR0A, 1 << 5, '0', 1 },
    { PORT_B, 3, TCCR2A, 1 << 7, '2', 0 }, { PORT_D, 3, TCCR2A, 1 << 5, '2', 1 },
};

static uint8_t level(const pins *pins, int lead)
{
    const uint8_t *data = pins->chip->avr->data;
    const pin *pin = &table[lead];
    if (!(data[pin->port - 1] >> pin->bit & 1))
        return 2;
    if (pin->joined && data[pin->control] & pin->joined)
        return pins->timer[lead - INPUTS];
    return data[pin->port] >> pin->bit & 1;
}

void pins_look(pins *pins)
{
    uint8_t now[LEADS];
    for (int lead = 0; lead < LEADS; lead++)
        now[lead] = level(pins, lead);
    if (!memcmp(now, pins->levels, LEADS))
        return;
    memcpy(pins->levels, now, LEADS);
    pins->changes(pins->param, chip_now(pins->chip), now);
}

static void port_event(avr_irq_t *irq, uint32_t value, void *param)
{
    (void)irq;
    (void)value;
    pins_look(param);
}

static void timer_event(avr_irq_t *irq, uint32_t value, void *param)
{
    pins *pins = param;
    for (int enable = 0; enable < 4; enable++) {
        const pin *pin = &table[INPUTS + enable];
        avr_irq_t *own = avr_io_getirq(pins->chip->avr, AVR_IOCTL_TIMER_GETIRQ(pin->timer),
                                       TIMER_IRQ_OUT_COMP + pin->compare);
        if (own == irq)
            pins->timer[enable] = value & 1;
    }
    pins_look(pins);
}

void pins_start(pins *pins, chip *chip, pins_change changes, void *param)
{
    memset(pins, 0, sizeof *pins);
    memset(pins->levels, 2, LEADS);
    pins->chip = chip;
    pins->changes = changes;
    pins->param = param;
    for (const char *port = "BCD"; *port; port++) {
        avr_irq_t *irq = avr_io_getirq(chip->avr, AVR_IOCTL_IOPORT_GETIRQ(*port), IOPORT_IRQ_PIN_ALL);
        avr_irq_register_notify(irq, port_event, pins);
    }
    for (int enable = 0; enable < 4; enable++) {
        const pin *pin = &table[INPUTS + enable];
        avr_irq_t *irq = avr_io_getirq(chip->avr, AVR_IOCTL_TIMER_GETIRQ(pin->timer), TIMER_IRQ_OUT_COMP + pin->compare);
        avr_irq_register_notify(irq, timer_event, pins);
    }
}
