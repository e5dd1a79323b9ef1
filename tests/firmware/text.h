/* Numbers as text, and back. */
#ifndef TEXT_H
#define TEXT_H
#include <stdint.h>

/* Writes `digits` decimal digits and returns the place behind them. */
char *text_number(char *at, uint16_t number, uint8_t digits);
/* A sign always, then three digits. */
char *text_signed(char *at, int16_t number);
char *text_hex(char *at, uint16_t number, uint8_t digits);
char *text_word(char *at, const char *word);
/* Reads exactly `digits` digits; -1 when something else stands there. */
int16_t text_read(const char *at, uint8_t digits);
/* Four hex digits, upper case; false when something else stands there. */
uint8_t text_read_hex(const char *at, uint16_t *number);
#endif
