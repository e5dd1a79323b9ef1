/* What is done to the rover in one run. */
#ifndef OPTIONS_H
#define OPTIONS_H
#include "chip.h"
#include "loom.h"

typedef struct {
    ps length;
    uint32_t command_hertz, drive_hertz;
    uint32_t tap_rate;
    uint8_t one_wire, live;
    ps adapter; /* it hands its bytes over on this grid; 0: at once */
    ps cut_at, deaf_at, command_sags_at, drive_sags_at;
    uint32_t noise; /* chance of each bit on wire >, per million */
    uint8_t noise_by_duty;
    uint64_t seed;
    loom loom;
} options;

extern const char *const options_help;
/* Ends the program with a message when a word is not known. */
void options_read(options *options, int count, char **words);
#endif
