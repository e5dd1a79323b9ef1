/* The two L298 drivers.
 *
 * wheel  driver  IN1  IN2  EN
 * FL     A       PC0  PC1  PD6 = OC0A   mounted mirrored
 * FR     A       PC2  PC3  PD5 = OC0B
 * RL     B       PC4  PC5  PB3 = OC2A   mounted mirrored
 * RR     B       PB0  PB1  PD3 = OC2B
 *
 * L298, figure 6: EN high and IN1 high, IN2 low is one way; the other way round the other; both equal brakes.
 * Fast PWM at 16 MHz / 64 / 256 = 977 Hz; OCR = n is high for n + 1 of 256 counts, so 0 and full are set without the
 * timer (data sheet, chapter 8-bit timer/counter 0, fast PWM mode). */
#include "bridge.h"

#include <avr/io.h>

typedef struct {
    volatile uint8_t *in_port;
    uint8_t in1, in2;
    volatile uint8_t *en_port;
    uint8_t en;
    volatile uint8_t *compare, *control;
    uint8_t joined; /* the COM bit that joins the pin to the timer */
    uint8_t mirrored;
} half_bridge;

static const half_bridge wheels[4] = {
#ifdef FAULT_PAIR_EXCHANGED /* the table has the inputs of FL the wrong way round */
    { &PORTC, 1 << PC1, 1 << PC0, &PORTD, 1 << PD6, &OCR0A, &TCCR0A, 1 << COM0A1, 1 },
#else
    { &PORTC, 1 << PC0, 1 << PC1, &PORTD, 1 << PD6, &OCR0A, &TCCR0A, 1 << COM0A1, 1 },
#endif
    { &PORTC, 1 << PC2, 1 << PC3, &PORTD, 1 << PD5, &OCR0B, &TCCR0A, 1 << COM0B1, 0 },
    { &PORTC, 1 << PC4, 1 << PC5, &PORTB, 1 << PB3, &OCR2A, &TCCR2A, 1 << COM2A1, 1 },
    { &PORTB, 1 << PB0, 1 << PB1, &PORTD, 1 << PD3, &OCR2B, &TCCR2A, 1 << COM2B1, 0 },
};

void bridge_start(void)
{
    PORTC = 0;
    PORTB &= ~(1 << PB0 | 1 << PB1 | 1 << PB3);
    PORTD &= ~(1 << PD3 | 1 << PD5 | 1 << PD6);
    DDRC |= 0x3F;
    DDRB |= 1 << PB0 | 1 << PB1 | 1 << PB3;
    DDRD |= 1 << PD3 | 1 << PD5 | 1 << PD6;
    TCCR0A = 1 << WGM01 | 1 << WGM00;
    TCCR0B = 1 << CS01 | 1 << CS00; /* / 64 */
    TCCR2A = 1 << WGM21 | 1 << WGM20;
    TCCR2B = 1 << CS22; /* / 64 */
}

static void direction(const half_bridge *half, int8_t duty)
{
    uint8_t on = (duty > 0) == half->mirrored ? half->in2 : half->in1;
    if (duty == 0)
        on = 0;
    *half->in_port = (*half->in_port & ~(half->in1 | half->in2)) | on;
}

static void width(const half_bridge *half, uint8_t per_cent)
{
#ifdef FAULT_DUTY_SCALE /* per cent written where counts of 255 are due */
    uint8_t counts = per_cent;
#else
    uint16_t counts = (per_cent * 256u + 50) / 100;
#endif
    if (counts == 0 || counts > 255) {
        *half->control &= ~half->joined;
        if (counts)
            *half->en_port |= half->en;
        else
            *half->en_port &= ~half->en;
        return;
    }
    *half->compare = counts - 1;
    *half->control |= half->joined;
}

void bridge_set(uint8_t wheel, int8_t duty)
{
    const half_bridge *half = &wheels[wheel];
    direction(half, duty);
    width(half, duty < 0 ? -duty : duty);
}
