"""Text sent at one rate, as a receiver at another rate reads it, bit by bit (8N1, idle high, low bit first).

The receiver waits for a falling edge, samples the middle of each of the eight data bits, samples the stop bit, and
hands the byte on whether the stop bit was high or not; then it waits for the line to be high and to fall again.
So at 9600 baud, heard at 115200, every low stretch outlasts a whole character and gives one 00 with a low stop bit.
Receivers that start anew within a low line, or drop bytes with a low stop bit, hear something else.
Time is counted in whole units, so nothing is rounded: a sender's bit lasts 2 * receiver rate units, a receiver's bit
2 * sender rate units.
"""


def line_levels(text):
    """The level of every sender's bit: one idle bit, then ten bits a character, then idle."""
    levels = [1]
    for byte in text:
        levels += [0] + [byte >> bit & 1 for bit in range(8)] + [1]
    return levels + [1]


def heard(text, sender_rate, receiver_rate):
    """The bytes a receiver makes of `text`, as (byte, stop bit was high)."""
    levels, long, short = line_levels(text), 2 * receiver_rate, 2 * sender_rate

    def level(time):
        return levels[min(time // long, len(levels) - 1)]

    got, index = [], 1
    while index < len(levels):
        if not (levels[index - 1] == 1 and levels[index] == 0):
            index += 1
            continue
        middle = index * long + short // 2
        byte = sum(level(middle + short * (bit + 1)) << bit for bit in range(8))
        stop = middle + short * 9
        got.append((byte, level(stop) == 1))
        index = max(index + 1, stop // long + 1)
    return got
