"""The link styles, written from their description and held against golden frames: see `golden`.

Axes: f forward, s slide to the left, t turn counter-clockwise from above. Wheels FL FR RL RR.
"""

GEARS = {1: 0.40, 2: 0.65, 3: 1.00}
STYLES = ("plain-line", "letter-line", "cue-line", "stave", "bead", "ladder")
RATE = {style: 115200 for style in STYLES}
RATE["letter-line"] = 117647  # a 16 MHz controller's nearest to 115200 at double speed
TEXT = ("plain-line", "letter-line", "cue-line")
COUNTED = {"cue-line": 1000, "stave": 224, "bead": 256}  # a sequence, and where it wraps
ANSWERED = ("cue-line", "stave")  # one answer for each order
TWO_WIRES = ("cue-line", "stave", "letter-line")

PLAIN_WAYS = {
    (0, 0, 0): "rest", (1, 0, 0): "ahead", (-1, 0, 0): "astern", (0, 1, 0): "port", (0, -1, 0): "starboard",
    (1, 1, 0): "ahead-port", (1, -1, 0): "ahead-starboard", (-1, 1, 0): "astern-port",
    (-1, -1, 0): "astern-starboard", (0, 0, 1): "spin-port", (0, 0, -1): "spin-starboard",
}
LETTERS = {(0, 0, 0): "N", (1, 0, 0): "A", (-1, 0, 0): "Z", (0, 1, 0): "P", (0, -1, 0): "K", (0, 0, 1): "U", (0, 0, -1): "O"}


def crc(data, width, polynomial, start, reflect=False, final=0):
    """Any CRC up to 32 bits, bit by bit."""
    value, top, every = start, 1 << (width - 1), (1 << width) - 1
    for byte in data:
        if reflect:
            byte = int(f"{byte:08b}"[::-1], 2)
        value ^= byte << (width - 8)
        for _ in range(8):
            value = ((value << 1) ^ polynomial if value & top else value << 1) & every
    if reflect:
        value = int(f"{value:0{width}b}"[::-1], 2)
    return value ^ final


_TABLES = {}


def quick_crc(data, width, polynomial, start):
    """The same without reflection, by a table made from `crc`."""
    key = (width, polynomial)
    if key not in _TABLES:
        _TABLES[key] = [crc(bytes([byte]), width, polynomial, 0) for byte in range(256)]
    table, value, every = _TABLES[key], start, (1 << width) - 1
    for byte in data:
        value = ((value << 8) ^ table[((value >> (width - 8)) ^ byte) & 255]) & every
    return value


def wheels(f, s, t, gear):
    """Duty of FL FR RL RR in per cent: mixed, scaled by the largest, geared, rounded."""
    raw = (f - s - t, f + s + t, f + s - t, f - s + t)
    peak = max(100, *(abs(duty) for duty in raw))
    return tuple(round_half(duty * 100 / peak * GEARS[gear]) for duty in raw)


def round_half(value):
    """To the nearest whole number, halves away from zero."""
    return int(value + 0.5) if value >= 0 else -int(-value + 0.5)


def cue_check(body):
    """` #CCCC.` LF for a body that ends in a space."""
    return body + f"#{quick_crc(body.encode(), 16, 0x1021, 0x5A17):04X}.\n"


def cue(seq, panel, vec, gear, deadline_ms, verb="drv"):
    """One order of the cue line."""
    f, s, t = vec
    return cue_check(f"c{seq:03d} p{panel:02d} {verb} f{f:+04d} s{s:+04d} t{t:+04d} g{gear} d{deadline_ms // 10:02d} ").encode()


def cue_answer(seq, word, volts, error):
    """One answer of the cue line; volts in tenths."""
    return cue_check(f"a{seq:03d} {word} v{volts:03d} e{error:02X} ").encode()


def cue_lapsed(seq):
    """The drive board says that the deadline ran out."""
    return cue_check(f"=lapsed {seq:03d} ").encode()


def cue_up(firmware, reason):
    """The drive board says hello."""
    return cue_check(f"=up {firmware} {reason} ").encode()


def stave(kind, seq, values, deadline_ms, flags):
    """Eleven bytes; values are four payload bytes as they stand on the wire."""
    body = bytes([kind, seq, *values, deadline_ms // 5, flags])
    check = quick_crc(body, 8, 0x97, 0x3C)
    return body + bytes([check >> 4, check & 15, 0xFE])


def stave_duties(kind, seq, duties, deadline_ms, gear):
    """The same from four duties in per cent."""
    return stave(kind, seq, [duty + 100 for duty in duties], deadline_ms, gear)


def cobs(body):
    """Consistent overhead byte stuffing (Cheshire and Baker, 1999), for bodies under 254 bytes, with the closing zero."""
    out = bytearray()
    for block in body.split(b"\0"):
        out += bytes([len(block) + 1]) + block
    return bytes(out) + b"\0"


def bead(seq, vec, deadline_ms):
    """One order of the bead."""
    body = bytes([0x11, seq, *(value & 255 for value in vec), deadline_ms // 10])
    return cobs(body + crc(body, 16, 0x1021, 0xFFFF, True, 0xFFFF).to_bytes(2, "little"))


def ladder(duties):
    """One order of the ladder; duties in per cent."""
    body = bytes([9, 0x21]) + b"".join(round_half(duty * 10).to_bytes(2, "little", signed=True) for duty in duties)
    return b"\xa7\x3c" + body + bytes([quick_crc(body, 8, 0x2F, 0xFF) ^ 0xFF])


def lettered(kind, letter, duty):
    """`D` order or `S` report of the letter line."""
    body = f"{kind},{letter},{duty}"
    check = 0
    for byte in body.encode():
        check ^= byte
    return f"{body}*{check:02X}\n".encode()


GOLDEN = (
    # Computed beforehand and apart from this file, for the description of each style.
    (lambda: cue(42, 17, (30, -65, 0), 2, 300), b"c042 p17 drv f+030 s-065 t+000 g2 d30 #A93D.\n"),
    (lambda: cue(46, 21, (100, 100, 40), 3, 300), b"c046 p21 drv f+100 s+100 t+040 g3 d30 #0492.\n"),
    (lambda: cue(47, 22, (0, 0, 0), 2, 300, "hlt"), b"c047 p22 hlt f+000 s+000 t+000 g2 d30 #D49A.\n"),
    (lambda: cue_answer(42, "got", 111, 0), b"a042 got v111 e00 #E253.\n"),
    (lambda: cue_answer(43, "nay", 104, 2), b"a043 nay v104 e02 #A482.\n"),
    (lambda: cue_lapsed(45), b"=lapsed 045 #5D83.\n"),
    (lambda: stave_duties(0xF1, 0x2A, (62, -23, -23, 62), 300, 2), bytes.fromhex("F12AA24D4DA23C020400FE")),
    (lambda: stave_duties(0xF2, 0x30, (0, 0, 0, 0), 0, 2), bytes.fromhex("F23064646464000207 04FE")),
    (lambda: bead(7, (30, -65, 0), 300), bytes.fromhex("0511071EBF041E51D500")),
    (lambda: bead(8, (0, 0, 0), 300), bytes.fromhex("03110801 01041ECB1200")),
    (lambda: ladder((62, -23, -23, 62)), bytes.fromhex("A73C09216C021AFF1AFF6C023F")),
    (lambda: ladder((0, 0, 0, 0)), bytes.fromhex("A73C092100000000000000002D")),
    # From the sample logs of the two-chip bench, made by compiled firmware.
    (lambda: lettered("D", "A", 60), b"D,A,60*03\n"),
    (lambda: lettered("S", "A", 60), b"S,A,60*14\n"),
    (lambda: wheels(30, -65, 0, 2), (62, -23, -23, 62)),
    (lambda: wheels(60, 0, 18, 2), (27, 51, 27, 51)),
    (lambda: wheels(100, 100, 40, 3), (-17, 100, 67, 17)),
    # Check values of the catalogue of parametrised CRC algorithms, for the digits 1 to 9.
    (lambda: crc(b"123456789", 16, 0x1021, 0xFFFF, True, 0xFFFF), 0x906E),
    (lambda: crc(b"123456789", 8, 0x2F, 0xFF, False, 0xFF), 0xDF),
)


def golden():
    """How many golden frames come out right; raises at the first that does not."""
    for place, (make, wanted) in enumerate(GOLDEN):
        made = make()
        if made != wanted:
            raise AssertionError(f"golden frame {place}: made {made!r}, wanted {wanted!r}")
    return len(GOLDEN)


if __name__ == "__main__":
    print(f"{golden()} golden frames right")
