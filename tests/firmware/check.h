/* The checks of the links. */
#ifndef CHECK_H
#define CHECK_H
#include <stdint.h>

/* Cue line: CRC-16, polynomial 0x1021, start 0x5A17, not reflected. */
uint16_t check_cue(const uint8_t *bytes, uint8_t count);
/* Stave: CRC-8, polynomial 0x97, start 0x3C. */
uint8_t check_stave(const uint8_t *bytes, uint8_t count);
#endif
