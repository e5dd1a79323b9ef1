/* Why this board started. MCUSR is read and cleared, and the watchdog stopped, before anything else can run: data
 * sheet, chapter system control and reset, MCUSR and WDTCSR. */
#include "reason.h"

#include <avr/io.h>
#include <avr/wdt.h>

uint8_t reason_flags __attribute__((section(".noinit")));

__attribute__((naked, used, section(".init3"))) void reason_keep(void)
{
    reason_flags = MCUSR;
    MCUSR = 0;
    wdt_disable();
}

const char *reason_word(void)
{
    if (reason_flags & 1 << WDRF)
        return "dog";
    if (reason_flags & 1 << BORF)
        return "sag";
    if (reason_flags & 1 << EXTRF)
        return "ext";
    return "power";
}
