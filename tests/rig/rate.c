/* Linux keeps the rate as a number, usual or not: `struct termios2`. Its header and <termios.h> exclude each other. */
#include "rate.h"

#include <asm/termbits.h>
#include <sys/ioctl.h>

uint32_t rate_of(int terminal)
{
    struct termios2 mode;
    return ioctl(terminal, TCGETS2, &mode) ? 0 : mode.c_ospeed;
}
