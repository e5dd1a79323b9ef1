/* Cue lines: c<seq3> p<panel2> <verb> f<sddd> s<sddd> t<sddd> g<d> d<dd> #<CCCC>. LF */
#ifdef LINK_CUE
#include "check.h"
#include "text.h"
#include "uart.h"
#include "writer.h"

#ifdef FAULT_SEND_ON_CHANGE
const uint8_t writer_repeats = 0;
#else
const uint8_t writer_repeats = 1;
#endif

void writer_send(const move *now, uint16_t count, uint8_t panel)
{
    char out[48], *at = out;
    *at++ = 'c';
    at = text_number(at, count % 1000, 3);
    at = text_word(at, " p");
    at = text_number(at, panel % 100, 2);
    at = text_word(at, " drv f");
    at = text_signed(at, now->f);
    at = text_word(at, " s");
    at = text_signed(at, now->s);
    at = text_word(at, " t");
    at = text_signed(at, now->t);
    at = text_word(at, " g");
    at = text_number(at, now->gear, 1);
    at = text_word(at, " d30 ");
    uint16_t sum = check_cue((uint8_t *)out, at - out);
    *at++ = '#';
    at = text_hex(at, sum, 4);
    *at++ = '.';
#ifdef FAULT_LEFTOVER_CR
    *at++ = '\r';
#endif
#ifdef FAULT_NO_END_MARK /* every 16th line */
    if (count % 16 != 15)
#endif
        *at++ = '\n';
    *at = 0;
    uart_text(out);
}
#endif
