/* The tap as two pseudo-terminals. Timing belongs to the simulation's own clock; here only bytes are judged. */
#define _GNU_SOURCE
#include "live.h"

#include "rate.h"

#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <termios.h>
#include <time.h>
#include <unistd.h>

static int64_t wall(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * 1000000000 + now.tv_nsec;
}

static void open_one(live *live, int place)
{
    struct termios raw;
    int master = posix_openpt(O_RDWR | O_NOCTTY);
    if (master < 0 || grantpt(master) || unlockpt(master)) {
        perror("pseudo-terminal");
        exit(3);
    }
    int kept = open(ptsname(master), O_RDWR | O_NOCTTY);
    if (kept < 0 || tcgetattr(kept, &raw)) {
        perror(ptsname(master));
        exit(3);
    }
    cfmakeraw(&raw);
    tcsetattr(kept, TCSANOW, &raw);
    printf("%s\n", ptsname(master));
    live->masters[place] = master;
    live->kept[place] = kept;
}

void live_start(live *live)
{
    open_one(live, 0);
    open_one(live, 1);
    fflush(stdout);
    if (getchar() == EOF)
        exit(2);
    live->begun_ns = wall();
}

void live_pace(const live *live, ps now)
{
    int64_t due = live->begun_ns + now / 1000;
    if (due - wall() < 1000000)
        return;
    struct timespec until = { due / 1000000000, due % 1000000000 };
    clock_nanosleep(CLOCK_MONOTONIC, TIMER_ABSTIME, &until, NULL);
}

uint32_t live_rate(const live *live, int place)
{
    return rate_of(live->kept[place]);
}

void live_put(int master, const uint8_t *bytes, int length)
{
    if (write(master, bytes, length) != length) {
        perror("pseudo-terminal");
        exit(3);
    }
}

void live_finish(const live *live)
{
    (void)live;
    printf("done\n");
    fflush(stdout);
    while (getchar() != EOF)
        ;
}
