"""The self-check: formats against worked frames and published values, damage and lists against the received bytes.

Every frame of the formats below was worked out once by hand-written code apart from this folder's. What is not from
there says its source. The last check, PINNED, is this program's own output: it only shows that a
stream is the same under another Python version.
"""

import binascii
import collections
import hashlib
import types

import chance
import harm
import reader
import standing
import streams
import styles
import sums
import uart

# Printed in the tests of the general-purpose library rand_xoshiro for seed 1477776061723855037.
SPLITMIX = [1985237415132408290, 2979275885539914483, 13511426838097143398, 8488337342461049707, 15141737807933549159]
# For `123456789`; recomputed with the general-purpose libraries crccheck, anycrc and crcmod.
CHECKS = [(sums.xmodem, 0x31C3), (sums.fcs16, 0x906E), (sums.ladder_crc, 0xDF)]
# COBS bodies and code: worked examples after Cheshire & Baker, IEEE/ACM ToN 7(2) 1999 (read second-hand, the last one
# recalled); made again with the general-purpose library cobs (Python).
COBS = [("00", "0101"), ("0000", "010101"), ("11220033", "0311220233"), ("11223344", "0511223344"),
        ("11000000", "0211010101"), ("001100", "01021101")]
BAD_COBS = ["05112233", "0311", "0000"]
# RFC 1055: END and ESC inside a packet (recalled; the codes were read on a page that quotes it).
SLIP = [("c0", "dbdc"), ("db", "dbdd"), ("01c0db02", "01dbdcdbdd02"), ("dbdc", "dbdddc")]
# RFC 1662 4.2 (recalled).
STUFFED = [("7e", "7d5e"), ("7d", "7d5d"), ("7d5e", "7d5d5e")]


def cue(seq, panel, verb, f, s, t, gear):
    """The fields of a cue with a deadline of 300 ms."""
    return {"seq": seq, "panel": panel, "verb": verb, "f": f, "s": s, "t": t, "gear": gear, "deadline_ms": 300}


def stave(kind, seq, duties, deadline_ms):
    """The fields of a stave with flags 02."""
    return {"type": kind, "seq": seq, **dict(zip(styles.WHEELS, duties)), "deadline_ms": deadline_ms, "flags": 2,
            "gear": 2}


def wheels(seq, duties):
    """The fields of a payload of sequence and duties."""
    return {"seq": seq, **dict(zip(styles.WHEELS, duties))}


def ladder(duties):
    """The fields of a ladder."""
    return {f"{wheel}_permille": duty for wheel, duty in zip(styles.WHEELS, duties)}


GOLDEN = [
    ("cue", b"c042 p17 drv f+030 s-065 t+000 g2 d30 #A93D.\n", cue(42, 17, "drv", 30, -65, 0, 2)),
    ("cue", b"c043 p18 drv f+000 s+080 t+000 g2 d30 #3784.\n", cue(43, 18, "drv", 0, 80, 0, 2)),
    ("cue", b"c045 p20 drv f+060 s+000 t+018 g2 d30 #84D3.\n", cue(45, 20, "drv", 60, 0, 18, 2)),
    ("cue", b"c046 p21 drv f+100 s+100 t+040 g3 d30 #0492.\n", cue(46, 21, "drv", 100, 100, 40, 3)),
    ("cue", b"c047 p22 hlt f+000 s+000 t+000 g2 d30 #D49A.\n", cue(47, 22, "hlt", 0, 0, 0, 2)),
    ("plain", b"way,spin-port\n", {"word": "way", "value": "spin-port"}),
    ("plain", b"pace,180\n", {"word": "pace", "value": 180}),
    ("plain", b"lamp,40\n", {"word": "lamp", "value": 40}),
    ("ladder", bytes.fromhex("A73C09216C021AFF1AFF6C023F"), ladder([620, -230, -230, 620])),
    ("ladder", bytes.fromhex("A73C092100000000000000002D"), ladder([0] * 4)),
    ("stave", bytes.fromhex("F12AA24D4DA23C020400FE"), stave("drive", 42, [62, -23, -23, 62], 300)),
    ("stave", bytes.fromhex("F12B309898303C020E0BFE"), stave("drive", 43, [-52, 52, 52, -52], 300)),
    ("stave", bytes.fromhex("F12C646464643C02060BFE"), stave("drive", 44, [0] * 4, 300)),
    ("stave", bytes.fromhex("F12D7F977F973C020102FE"), stave("drive", 45, [27, 51, 27, 51], 300)),
    ("stave", bytes.fromhex("F2306464646400020704FE"), stave("stop", 48, [0] * 4, 0)),
    ("bead", bytes.fromhex("0511071EBF041E51D500"), {"seq": 7, "f": 30, "s": -65, "t": 0, "deadline_ms": 300}),
    ("bead", bytes.fromhex("0311080101041ECB1200"),
     {"seq": 8, "f": 0, "s": 0, "t": 0, "deadline_ms": 300}),
    # The next four have their checks from the standard library's binascii.crc_hqx; for FCS-16 each byte's bits, and the
    # result's, were turned round.
    ("slip", bytes.fromhex("DBDCDBDCDBDD000545DCC0"), wheels(0xC0, [-64, -37, 0, 5])),
    ("slip", bytes.fromhex("2A3EE9E93E83BEC0"), wheels(42, [62, -23, -23, 62])),
    ("rfc1662", bytes.fromhex("7E7D5E3EE9E93E4F2A7E"), wheels(0x7E, [62, -23, -23, 62])),
    ("rfc1662", bytes.fromhex("7E3A3EE9E93E7D5DC67E"), wheels(0x3A, [62, -23, -23, 62])),
    # Added by hand: 01 + 3E + E9 + E9 + 3E + 3C + 02 = 28D.
    ("fixed", bytes.fromhex("013EE9E93E3C028D"), {**wheels(1, [62, -23, -23, 62]), "deadline": 60, "flags": 2}),
]
PINNED = "eea79038eea2cf259849290435a796cb12e639c8d40d4a7e4888fe5573e82652"


def check_sources():
    """The generator and the checks against published values."""
    seeded = chance.Chance(1477776061723855037)
    assert [seeded.word() for _ in SPLITMIX] == SPLITMIX
    for crc, value in CHECKS:
        assert crc(b"123456789") == value, (crc, value)
    for length in range(64):
        data = bytes(seeded.below(256) for _ in range(length))
        assert sums.xmodem(data) == binascii.crc_hqx(data, 0)  # the standard library's CRC of this polynomial
        assert sums.cue_crc(data) == binascii.crc_hqx(data, 0x5A17)
    assert sums.fcs_register(b"123456789\x6E\x90") == 0xF0B8  # RFC 1662 C.2, good final register


def check_codes():
    """COBS, SLIP and RFC 1662, both ways."""
    for body, code in COBS:
        assert styles.cobs(bytes.fromhex(body)).hex() == code, body
        assert styles.uncobs(bytes.fromhex(code)).hex() == body, code
    for code in BAD_COBS:
        assert styles.uncobs(bytes.fromhex(code)) is None, code
    for body, code in SLIP:
        assert styles.slip_stuffed(bytes.fromhex(body)).hex() == code, body
        assert styles.unstuff(bytes.fromhex(code), 0xDB, {0xDC: 0xC0, 0xDD: 0xDB}).hex() == body, code
    for body, code in STUFFED:
        assert styles.rfc1662_stuffed(bytes.fromhex(body)).hex() == code, body
        assert styles.unstuff(bytes.fromhex(code), 0x7D, {0x5E: 0x7E, 0x5D: 0x7D}).hex() == body, code


def check_golden():
    """Worked frames read as they should; with one bit turned a checked one is refused."""
    for name, wire, fields in GOLDEN:
        style = styles.STYLES[name]
        content = wire[len(style.lead):len(wire) - len(style.end)]
        assert style.parse(content) == fields, (wire, style.parse(content))
        for bit in range(8 * len(content)) if name != "plain" else []:
            turned = bytearray(content)
            turned[bit // 8] ^= 1 << bit % 8
            assert style.parse(bytes(turned)) is None, (wire, bit)


def check_uart():
    """Same rate: the text itself. Half the rate: `U` worked by hand. 9600 at 115200: every low stretch one 00."""
    assert uart.heard(b"GC2 rom", 115200, 115200) == [(byte, True) for byte in b"GC2 rom"]
    # Sender's bits 0 1 0 1 0 1 0 1 0 1, each seen twice: 0 01100110 and a low stop; from the next fall 0 01100111 1.
    assert uart.heard(b"U", 57600, 115200) == [(0x66, False), (0xE6, True)]
    # Low stretches of `U`: five.
    assert uart.heard(b"U", 9600, 115200) == [(0, False)] * 5


def judged(name, *parts):
    """(offset, risks or False) of each golden frame among these parts: foreign bytes, or the frame's pieces."""
    style = styles.STYLES[name]
    stream = streams.Stream(style)
    for part in parts:
        if isinstance(part, bytes):
            stream.data += part
        else:
            stream.add(0, 0, b"", None, part)
            stream.copies[-1]["wire"] = golden_wire(name)
    standing.judge(bytes(stream.data), style, stream.copies)
    return [copy["intact"] and (copy["offset"], *copy["risk"]) for copy in stream.copies]


def golden_wire(name):
    """The first golden frame of a style."""
    return next(wire for style, wire, _ in GOLDEN if style == name)


def check_risks():
    """Each word of risk on a stream made by hand, and the frame that is safe behind it."""
    whole = {name: harm.pieces(golden_wire(name)) for name in styles.STYLES}
    for name in ("cue", "plain", "bead", "slip"):
        size, frame = len(whole[name]), whole[name]
        assert judged(name, frame, frame) == [(0, "stream-start"), (size,)]
        assert judged(name, b"x", frame, frame) == [(1, "no-start"), (size + 1,)]
    size = len(whole["slip"])
    assert judged("slip", b"\xDB\xC0", whole["slip"], whole["slip"]) == [(2, "escaped-end"), (size + 2,)]
    assert judged("cue", b"\n", whole["cue"][:-1], whole["cue"]) == [(1, "no-end"), (45, "no-start")]
    assert judged("plain", b"\n", whole["plain"][:-1], whole["plain"]) == [False, (14, "no-start")]
    assert judged("stave", b"x", whole["stave"][:-1], whole["stave"]) == [(1, "no-end"), (11,)]
    assert judged("rfc1662", whole["rfc1662"][:-1], whole["rfc1662"]) == [(0, "borrowed"), (9,)]
    assert judged("rfc1662", whole["rfc1662"], whole["rfc1662"][1:]) == [(0,), (9, "borrowed")]
    assert judged("rfc1662", whole["rfc1662"][:-1], b"x") == [False]


def check_steps():
    """The same for the two styles that find a frame by its own bytes."""
    steps, rungs = harm.pieces(golden_wire("fixed")), harm.pieces(golden_wire("ladder"))
    assert judged("fixed", steps, b"x", steps, steps) == [(0, "stream-start"), (9, "unaligned"), (17,)]
    # 77 + 01 + 3E + E9 + E9 + 3E + 3C = 302, and 02 stands where its sum-8 would: eight bytes that fit, one too early.
    assert judged("fixed", b"\x77", steps, steps) == [(1, "unaligned", "impostor"), (9,)]
    assert judged("ladder", b"xx", rungs, rungs) == [(2,), (15,)]
    assert judged("ladder", b"\xA7\x3C\x05", rungs, rungs) == [(3, "claimed"), (16,)]
    assert judged("ladder", b"\xA7\x3C\x30", rungs, rungs) == [(3,), (16,)]  # longer than any frame
    # A claim that ends inside the frame: payload xx A7, check 3C. One xx of 256 makes the check agree.
    found = [judged("ladder", bytes([0xA7, 0x3C, 2, byte]), rungs)[0] for byte in range(256)]
    assert collections.Counter(found) == {(4, "claimed"): 255, (4, "impostor"): 1}


def check_damage(style, stream, lines):
    """Each damage against the bytes: turned bits, missing and foreign bytes add up to the stream's length."""
    first = {line["frame"]: line for line in reversed(lines)}
    length = sum(len(line["sent"]) // 2 for line in lines)
    for damage in stream.damage:
        line = first[damage["frame"]]
        sent = bytes.fromhex(line["sent"])
        if "bits" in damage:
            got = stream.data[line["offset"]:line["offset"] + len(sent)]
            turned = [bit for bit in range(8 * len(sent)) if (sent[bit // 8] ^ got[bit // 8]) >> bit % 8 & 1]
            assert turned == damage["bits"], damage
        length -= len(damage.get("lost", "")) // 2
        length += damage["len"] if "text" in damage or "inserted" in damage else 0
    assert length == len(stream.data)
    kinds = collections.Counter(damage["kind"] for damage in stream.damage)
    assert sorted(kinds) == sorted(harm.KINDS) and min(kinds.values()) > 30, kinds


def check_lists(style, stream, lines):
    """What is listed as standing stands there; what is intact the strict reader reads, with the same fields."""
    got = {(offset, length): fields for offset, length, fields in reader.read(stream.data, style)}
    last = -1
    for line in lines:
        sent = bytes.fromhex(line["sent"])
        assert style.parse(sent[len(style.lead):len(sent) - len(style.end)]) == line["fields"] is not None
        if not line["intact"]:
            continue
        assert line["offset"] > last, "two frames in one place"
        last = line["offset"]
        assert stream.data[last:last + line["len"]] == sent[:line["len"]]
        assert len(sent) - line["len"] == ("no-end" in line["risk"])
        if line["intact"] is True or line["risk"] in (["unaligned"], ["claimed"]):
            assert got.get((line["content_offset"], line["content_len"])) == line["fields"], line


def check_classes(lines):
    """Damage that always breaks a frame never leaves it intact; damage around a frame never breaks it."""
    for line in lines:
        if line["damage"] in ("one-bit flip", "two-bit flip", "burst", "byte lost", "cut short", "glued", "never sent"):
            assert line["intact"] is not True, line
        if line["damage"] in (None, "boot text", "duplicate"):
            assert line["intact"], line
        assert line["damage"] != "never sent" or line["offset"] is None


def check_streams():
    """All of the above for every style and three seeds; then the same bytes once more."""
    whole = hashlib.sha256()
    for style in styles.STYLES.values():
        for seed in range(3):
            stream = streams.generate(style, 3000, seed, 0.3)
            lines = [streams.frame_line(style, copy) for copy in stream.copies]
            check_damage(style, stream, lines)
            check_lists(style, stream, lines)
            check_classes(lines)
            whole.update(stream.data)
        assert streams.generate(style, 3000, 2, 0.3).data == stream.data
        assert streams.generate(style, 3000, 3, 0.3).data != stream.data
    assert whole.hexdigest() == PINNED, whole.hexdigest()


def check_asserts():
    """Checks that cannot fail are no checks: python -O would skip every one of these."""
    if not __debug__:
        raise SystemExit("the checks need assertions: run python without -O")


def check():
    """Run every check; 0 when all hold."""
    for name, part in list(globals().items()):
        if name.startswith("check_") and isinstance(part, types.FunctionType) and not part.__code__.co_argcount:
            part()
            print(f"{name[6:]}: holds")
    return 0
