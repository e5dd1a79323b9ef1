"""The kinds of damage, done to one frame.

A frame on its way is a list of pieces (value, place, same): `place` is the byte's place in the frame as sent, None
for a byte from elsewhere; `same` is False for a byte that changed. Each kind gives the pieces and what was done:
(index into the pieces, how many pieces, details).
"""

import uart

KINDS = ["one-bit flip", "two-bit flip", "burst", "byte lost", "byte inserted", "cut short", "glued",
         "wrong-rate text", "boot text", "duplicate", "never sent"]
BOOT_LINES = [b"GC2 rom 1.4 rst=0x0F(sag) strap=0b10110", b"load @3F40 len 6144 ok", b"eye ok heap 91k net up",
              b"GC2 rom 1.4 rst=0x01(power) strap=0b10110", b"GC2 0.9 ready"]
RATES = [74880, 9600]
LINK_RATE = 115200


def pieces(wire):
    """A frame as sent."""
    return [(value, place, True) for place, value in enumerate(wire)]


def foreign(data):
    """Bytes from elsewhere."""
    return [(value, None, False) for value in data]


def flipped(wire, bits):
    """The frame with these bits turned; bit 0 is the lowest of the first byte, as an 8N1 link sends it first."""
    changed = bytearray(wire)
    for bit in bits:
        changed[bit // 8] ^= 1 << bit % 8
    first, last = min(bits) // 8, max(bits) // 8
    whole = [(value, place, value == wire[place]) for place, value in enumerate(changed)]
    return whole, (first, last - first + 1, {"bits": sorted(bits)})


def one_bit(wire, chance):
    return flipped(wire, [chance.below(8 * len(wire))])


def two_bits(wire, chance):
    first, second = chance.below(8 * len(wire)), chance.below(8 * len(wire) - 1)
    return flipped(wire, [first, second + (second >= first)])


def burst(wire, chance):
    """2 to 16 neighbouring bits: the first and the last are turned, those between by chance."""
    length = chance.between(2, 16)
    start = chance.below(8 * len(wire) - length + 1)
    inner = [start + bit for bit in range(1, length - 1) if chance.below(2)]
    return flipped(wire, [start] + inner + [start + length - 1])


def byte_lost(wire, chance):
    at, whole = chance.below(len(wire)), pieces(wire)
    return whole[:at] + whole[at + 1:], (at, 0, {"lost": wire[at:at + 1].hex()})


def byte_inserted(wire, chance):
    """Before any byte of the frame, the first included."""
    at, whole, byte = chance.below(len(wire)), pieces(wire), chance.below(256)
    return whole[:at] + foreign([byte]) + whole[at:], (at, 1, {"inserted": f"{byte:02x}"})


def cut_short(wire, chance):
    keep = chance.between(1, len(wire) - 1)
    return pieces(wire)[:keep], (keep, 0, {"lost": wire[keep:].hex()})


def glued(wire, chance):
    """The last byte is lost: the end byte, or the check byte of a style that has no end byte."""
    return pieces(wire)[:-1], (len(wire) - 1, 0, {"lost": wire[-1:].hex()})


def wrong_rate(wire, chance):
    """Text at another rate: half the time it cuts the frame, half the time it stands before the whole frame."""
    rate, text = chance.one_of(RATES), chance.one_of(BOOT_LINES)
    start = chance.below(len(text) - 4)
    text = text[start:start + chance.between(4, 24)]
    heard = uart.heard(text, rate, LINK_RATE)
    noise = foreign(byte for byte, _ in heard)
    about = {"rate": rate, "text": text.decode(), "low_stops": sum(not stop for _, stop in heard)}
    if chance.below(2):
        return noise + pieces(wire), (0, len(noise), about)
    keep = chance.between(1, len(wire) - 1)
    return pieces(wire)[:keep] + noise, (keep, len(noise), {**about, "lost": wire[keep:].hex()})


def boot_text(wire, chance):
    """Whole readable lines before the whole frame; half the time the last one has no line end."""
    text = b"\r\n".join(chance.one_of(BOOT_LINES) for _ in range(chance.between(1, 3)))
    text += b"\r\n" if chance.below(2) else b" "
    return foreign(text) + pieces(wire), (0, len(text), {"text": text.decode()})


def never_sent(wire, chance):
    return [], (0, 0, {"lost": wire.hex()})


def duplicate(wire, chance):
    """The first of the two; the list has a line for each."""
    return pieces(wire), (len(wire), len(wire), {})


DEEDS = dict(zip(KINDS, [one_bit, two_bits, burst, byte_lost, byte_inserted, cut_short, glued, wrong_rate, boot_text,
                         duplicate, never_sent]))
