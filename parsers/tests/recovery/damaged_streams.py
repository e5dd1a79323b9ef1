"""Damaged streams of eight links, and the list of what arrived intact.

Written from the formats alone. It shares nothing with the decoder: its own checks (bit by bit), its own encodings,
its own chance. Nothing but Python's standard library.

    python3 damaged_streams.py LINK DAMAGE FRAMES SEED

writes to standard output, in this order: the count of bytes (8 bytes, low byte first), the bytes, the count of frames
that arrived intact (8 bytes), then for each its place and its length (8 bytes each), without the marks at its ends that two frames may share or that
an idle line may bring once more (7E, C0, the zero of COBS, LF).

What counts as intact: every bit of the frame from its first byte to its last arrived as it was sent, nothing stands
inside it, and it is followed by its own end mark where the link has one. The frame after a lost or hit end mark
counts: its check tells where it begins.

Damages: clean, bits (a bit turned over in one frame of twenty), lost (a byte missing), added (a byte more), cut (the
frame ends early and the next follows), boot (text of the sender's chip at another rate, as garbage and as text),
twice (a frame sent twice), gaps (frames missing whole), all (each of these in its turn).
"""

import random
import struct
import sys


def crc(data, width, poly, start, reflect, final):
    """Bit by bit, most significant first, as in a text book."""
    top, mask, reg = 1 << (width - 1), (1 << width) - 1, start
    for byte in data:
        bits = range(8) if reflect else range(7, -1, -1)
        for bit in bits:
            one = (byte >> bit & 1) ^ (1 if reg & top else 0)
            reg = (reg << 1 & mask) ^ (poly if one else 0)
    if reflect:
        reg = int(format(reg, "0%db" % width)[::-1], 2)
    return reg ^ final


assert crc(b"123456789", 16, 0x1021, 0xFFFF, True, 0xFFFF) == 0x906E
assert crc(b"123456789", 16, 0x1021, 0xFFFF, False, 0) == 0x29B1
assert crc(b"123456789", 8, 0x2F, 0xFF, False, 0xFF) == 0xDF


def cobs(body):
    out, block = bytearray(), bytearray()
    for byte in body:
        if byte == 0:
            out += bytes([len(block) + 1]) + block
            block = bytearray()
        else:
            block.append(byte)
    return bytes(out + bytes([len(block) + 1]) + block + b"\0")


def slip(body):
    return body.replace(b"\xDB", b"\xDB\xDD").replace(b"\xC0", b"\xDB\xDC") + b"\xC0"


def stuffed(body):
    return b"\x7E" + body.replace(b"\x7D", b"\x7D\x5D").replace(b"\x7E", b"\x7D\x5E") + b"\x7E"


def cue(draw, seq):
    verb = draw.choice(["drv", "drv", "drv", "one", "hlt"])
    f, s, t = (draw.randint(-100, 100) for _ in range(3))
    line = "c%03d p%02d %s f%+04d s%+04d t%+04d g%d d%02d " % (
        seq % 1000, seq * 7 % 100, verb, f, s, t, draw.randint(1, 3), draw.randint(0, 99))
    return ("%s#%04X.\n" % (line, crc(line.encode(), 16, 0x1021, 0x5A17, False, 0))).encode()


def starred(draw, seq):
    line = "D,%s,%d" % (draw.choice("NFBLR"), draw.randint(-100, 100))
    check = 0
    for byte in line.encode():
        check ^= byte
    return ("%s*%02X\n" % (line, check)).encode()


def stave(draw, seq):
    body = bytes([0xF1, seq % 224] + [draw.randint(0, 200) for _ in range(5)] + [draw.randint(0, 63)])
    check = crc(body, 8, 0x97, 0x3C, False, 0)
    return body + bytes([check >> 4, check & 15, 0xFE])


def payload(draw, seq):
    body = struct.pack("<BBbbbB", 0x11, seq % 256, *(draw.randint(-100, 100) for _ in range(3)), draw.randint(0, 255))
    return body + struct.pack("<H", crc(body, 16, 0x1021, 0xFFFF, True, 0xFFFF))


def ladder(draw, seq):
    body = struct.pack("<BBhhhh", 9, 0x21, *(draw.randint(-1000, 1000) for _ in range(4)))
    return b"\xA7\x3C" + body + bytes([crc(body, 8, 0x2F, 0xFF, False, 0xFF)])


def summed(draw, seq):
    """Seven bytes, always; nothing tells where one begins but the ranges and the sum."""
    body = bytes([seq % 256] + [draw.randint(0, 200) for _ in range(4)] + [draw.randint(0, 3)])
    return body + bytes([sum(body) & 255])


LINKS = {
    "cue": cue,
    "starred": starred,
    "stave": stave,
    "bead": lambda draw, seq: cobs(payload(draw, seq)),
    "slipped": lambda draw, seq: slip(payload(draw, seq)),
    "stuffed": lambda draw, seq: stuffed(payload(draw, seq)),
    "ladder": ladder,
    "summed": summed,
}

# Bytes at the front and at the back that are marks, by link.
MARKS = {"cue": (0, 1), "starred": (0, 1), "bead": (0, 1), "slipped": (0, 1), "stuffed": (1, 1)}


def survives(link, frame, hit, kind, at):
    """Where the whole of the frame stands in `hit` all the same, as (place, length) without marks; else None."""
    front, back = MARKS.get(link, (0, 0))
    inner = frame[front:len(frame) - back]
    if kind in ("lost", "cut") and link == "stuffed":
        # One flag may end a frame and begin the next.
        if at == 0 and kind == "lost":
            return 0, len(inner)
        if at == len(frame) - 1:
            return 1, len(inner)
    if kind == "added" and back and at == len(frame) - 1 and hit[at] == frame[-1]:
        # The end mark twice: the second ends nothing.
        return front, len(inner)
    if kind == "bits" and link == "starred":
        # A hex digit of the other case is the same digit; the cue line takes upper case alone.
        digits = range(len(frame) - 3, len(frame) - 1)
        if at in digits and hit[at:at + 1].lower() == frame[at:at + 1].lower():
            return front, len(inner)
    return None


BOOT = [
    b"ets Jul 29 2019 12:21:46\r\n\r\nrst:0x1 (POWERON_RESET),boot:0x13 (SPI_FAST_FLASH_BOOT)\r\n",
    b"GC2 rom 1.4 rst=0x0F(sag) strap=0b10110\r\nload @3F40 len 6144 ok\r\n",
]


def boot(draw):
    """Text at the link's rate, or what another rate makes of it; it ends with a line end, as boot text does."""
    text = draw.choice(BOOT)
    if draw.random() < 0.5:
        return text
    return bytes(draw.choice(b"\xFF\xFE\xF8\xE0\x80\x78\x1E\x86\x66\x98") for _ in text[:40]) + b"\r\n"


def main(link, damage, count, seed):
    draw = random.Random("%s %s %d" % (link, damage, seed))
    kinds = ["bits", "lost", "added", "cut", "boot", "twice", "gaps"] if damage == "all" else [damage]
    wire, intact, seq, hit = bytearray(), [], 0, 0
    front, back = MARKS.get(link, (0, 0))

    def send(frame):
        intact.append((len(wire) + front, len(frame) - front - back))
        wire.extend(frame)

    for number in range(count):
        seq += 1
        frame = LINKS[link](draw, seq)
        if damage == "clean" or number % 20 != 10:
            send(frame)
            continue
        kind = kinds[hit % len(kinds)]
        hit += 1
        at = draw.randrange(len(frame))
        if kind == "boot":
            wire += boot(draw)
            send(frame)
        elif kind == "twice":
            send(frame)
            send(frame)
        elif kind == "gaps":
            seq += draw.randint(1, 5)
        else:
            damaged = frame[:at]
            if kind == "bits":
                damaged += bytes([frame[at] ^ 1 << draw.randrange(8)]) + frame[at + 1:]
            elif kind == "lost":
                damaged += frame[at + 1:]
            elif kind == "added":
                at = max(at, 1)
                damaged = frame[:at] + bytes([draw.randrange(256)]) + frame[at:]
            whole = survives(link, frame, damaged, kind, at)
            if whole:
                intact.append((len(wire) + whole[0], whole[1]))
            wire += damaged
    out = sys.stdout.buffer
    out.write(struct.pack("<Q", len(wire)) + bytes(wire) + struct.pack("<Q", len(intact)))
    for place, length in intact:
        out.write(struct.pack("<QQ", place, length))


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2], int(sys.argv[3]), int(sys.argv[4]))
