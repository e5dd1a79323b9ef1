/* The loom. Half bridge n has the inputs 2n and 2n + 1 and the enable 8 + n; as built, half n feeds wheel n. */
#include "loom.h"

#include <string.h>

static const char *const leads[LEADS] = { "A1", "A2", "A3", "A4", "B1", "B2", "B3", "B4", "AE1", "AE2", "BE1", "BE2" };
static const char *const wheels[4] = { "FL", "FR", "RL", "RR" };

static int place_of(const char *name, const char *const names[], int count)
{
    for (int place = 0; place < count; place++)
        if (!strcmp(name, names[place]))
            return place;
    return -1;
}

static void swap(int *one, int *other)
{
    int kept = *one;
    *one = *other;
    *other = kept;
}

void loom_start(loom *loom)
{
    for (int lead = 0; lead < LEADS; lead++)
        loom->pin_of[lead] = lead;
    for (int wheel = 0; wheel < 4; wheel++)
        loom->half_of[wheel] = wheel;
}

int loom_cross(loom *loom, const char *one, const char *other)
{
    int a = place_of(one, leads, LEADS), b = place_of(other, leads, LEADS);
    if (a < 0 || b < 0)
        return 0;
    swap(&loom->pin_of[a], &loom->pin_of[b]);
    return 1;
}

int loom_open(loom *loom, const char *name)
{
    int lead = place_of(name, leads, LEADS);
    if (lead < 0)
        return 0;
    loom->pin_of[lead] = -1;
    return 1;
}

int loom_exchange(loom *loom, const char *one, const char *other)
{
    int a = place_of(one, wheels, 4), b = place_of(other, wheels, 4);
    if (a < 0 || b < 0)
        return 0;
    swap(&loom->half_of[a], &loom->half_of[b]);
    return 1;
}

uint8_t loom_level(const loom *loom, const uint8_t pins[LEADS], int wheel, int input)
{
    int half = loom->half_of[wheel];
    int pin = loom->pin_of[input == 2 ? INPUTS + half : 2 * half + input];
    return pin < 0 ? 2 : pins[pin];
}
