/* Numbers as text, and back. */
#include "text.h"

char *text_number(char *at, uint16_t number, uint8_t digits)
{
    for (uint8_t place = digits; place--; number /= 10)
        at[place] = '0' + number % 10;
    return at + digits;
}

char *text_signed(char *at, int16_t number)
{
    *at = number < 0 ? '-' : '+';
    return text_number(at + 1, number < 0 ? -number : number, 3);
}

char *text_hex(char *at, uint16_t number, uint8_t digits)
{
    for (uint8_t place = digits; place--; number >>= 4)
        at[place] = "0123456789ABCDEF"[number & 15];
    return at + digits;
}

char *text_word(char *at, const char *word)
{
    while (*word)
        *at++ = *word++;
    return at;
}

int16_t text_read(const char *at, uint8_t digits)
{
    int16_t number = 0;
    while (digits--) {
        if (*at < '0' || *at > '9')
            return -1;
        number = number * 10 + (*at++ - '0');
    }
    return number;
}

uint8_t text_read_hex(const char *at, uint16_t *number)
{
    *number = 0;
    for (uint8_t place = 0; place < 4; place++, at++) {
        uint8_t value = *at >= '0' && *at <= '9' ? *at - '0' : *at >= 'A' && *at <= 'F' ? *at - 'A' + 10 : 16;
        if (value > 15)
            return 0;
        *number = *number << 4 | value;
    }
    return 1;
}
