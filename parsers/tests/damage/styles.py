"""The eight link styles: how a frame is written (`make`) and, strictly, read (`parse`).

A frame on the wire is `lead` + content + `end`. `parse` takes the content and gives its fields, or None.
"""

import re

import sums

WAYS = ["ahead", "astern", "port", "starboard", "ahead-port", "ahead-starboard", "astern-port", "astern-starboard",
        "spin-port", "spin-starboard", "rest"]
WHEELS = ["fl", "fr", "rl", "rr"]
CUE = re.compile(rb"c(\d{3}) p(\d{2}) (drv|hlt|one) f([+-]\d{3}) s([+-]\d{3}) t([+-]\d{3}) g(\d) d(\d{2}) "
                 rb"#([0-9A-F]{4})\.")
PLAIN = re.compile(rb"(way|pace|lamp),([a-z-]+|\d{1,3})")


def signed(byte):
    """A byte as an i8."""
    return byte - 256 if byte > 127 else byte


def duties(chance):
    """Four duties, -100 to 100; one frame in five is rest."""
    return [0] * 4 if chance.below(5) == 0 else [chance.between(-100, 100) for _ in WHEELS]


def within(values, limit):
    """Whether every value is from -limit to limit."""
    return all(-limit <= value <= limit for value in values)


class Style:
    """What all styles share."""

    name, lead, end, sequence = "", b"", b"", 256

    def wire(self, content):
        """The whole frame as sent."""
        return self.lead + content + self.end


class Cue(Style):
    """Checked text."""

    name, end, sequence = "cue", b"\n", 1000

    def make(self, chance, number):
        verb = "drv" if chance.below(20) < 17 else chance.one_of(["hlt", "hlt", "one"])
        f, s, t = (chance.between(-100, 100) for _ in range(3))
        f, s, t = {"drv": (f, s, t), "hlt": (0, 0, 0), "one": (1 + abs(f) % 4, s, 0)}[verb]
        head = (f"c{number:03d} p{chance.below(100):02d} {verb} f{f:+04d} s{s:+04d} t{t:+04d} "
                f"g{chance.between(1, 3)} d{chance.below(100):02d} ").encode()
        return head + b"#%04X." % sums.cue_crc(head)

    def parse(self, content):
        found = CUE.fullmatch(content)
        if not found or int(found[9], 16) != sums.cue_crc(content[:content.index(b"#")]):
            return None
        f, s, t, gear = (int(found[part]) for part in (4, 5, 6, 7))
        if not within((f, s, t), 100) or not 1 <= gear <= 3:
            return None
        return {"seq": int(found[1]), "panel": int(found[2]), "verb": found[3].decode(), "f": f, "s": s, "t": t,
                "gear": gear, "deadline_ms": int(found[8]) * 10}


class Plain(Style):
    """Text without a check."""

    name, end, sequence = "plain", b"\n", 0

    def make(self, chance, number):
        word = chance.one_of(["way"] * 7 + ["pace"] * 2 + ["lamp"])
        return f"{word},{chance.one_of(WAYS) if word == 'way' else chance.below(256)}".encode()

    def parse(self, content):
        found = PLAIN.fullmatch(content)
        if not found:
            return None
        word, value = found[1].decode(), found[2].decode()
        if word == "way":
            return {"word": word, "value": value} if value in WAYS else None
        return {"word": word, "value": int(value)} if value.isdigit() and int(value) <= 255 else None


class Ladder(Style):
    """Sync and length."""

    name, lead, sequence = "ladder", b"\xA7\x3C", 0

    def make(self, chance, number):
        rest = chance.below(5) == 0
        body = b"\x09\x21" + b"".join((0 if rest else chance.between(-1000, 1000)).to_bytes(2, "little", signed=True)
                                      for _ in WHEELS)
        return body + bytes([sums.ladder_crc(body)])

    def parse(self, content):
        if len(content) != 11 or content[:2] != b"\x09\x21" or sums.ladder_crc(content[:-1]) != content[-1]:
            return None
        values = [int.from_bytes(content[at:at + 2], "little", signed=True) for at in range(2, 10, 2)]
        return {f"{wheel}_permille": value for wheel, value in zip(WHEELS, values)} if within(values, 1000) else None


class Stave(Style):
    """Markers."""

    name, end, sequence = "stave", b"\xFE", 224

    def make(self, chance, number):
        stop = chance.below(10) == 0
        body = [0xF2 if stop else 0xF1, number] + [duty + 100 for duty in ([0] * 4 if stop else duties(chance))]
        body = bytes(body + [0 if stop else chance.below(201), chance.below(16) * 4 + chance.between(1, 3)])
        crc = sums.stave_crc(body)
        return body + bytes([crc >> 4, crc & 15])

    def parse(self, content):
        body, crc = content[:8], sums.stave_crc(content[:8])
        if len(content) != 10 or body[:1] not in (b"\xF1", b"\xF2") or content[8:] != bytes([crc >> 4, crc & 15]):
            return None
        if body[1] > 0xDF or max(body[2:7]) > 200 or body[7] > 63:
            return None
        named = {wheel: value - 100 for wheel, value in zip(WHEELS, body[2:6])}
        return {"type": "drive" if body[0] == 0xF1 else "stop", "seq": body[1], **named, "deadline_ms": body[6] * 5,
                "flags": body[7], "gear": body[7] & 3}


class Bead(Style):
    """COBS and CRC-16."""

    name, end = "bead", b"\0"

    def make(self, chance, number):
        turn = [0] * 3 if chance.below(5) == 0 else [chance.between(-100, 100) for _ in range(3)]
        body = bytes([0x11, number] + [value & 255 for value in turn] + [chance.below(256)])
        return cobs(body + sums.fcs16(body).to_bytes(2, "little"))

    def parse(self, content):
        body = uncobs(content)
        if body is None or len(body) != 8 or body[0] != 0x11 or sums.fcs_register(body) != 0xF0B8:
            return None
        turn = [signed(byte) for byte in body[2:5]]
        return {"seq": body[1], **dict(zip("fst", turn)), "deadline_ms": body[5] * 10} if within(turn, 100) else None


class Slip(Style):
    """SLIP (RFC 1055): END C0 after each frame, none before it."""

    name, end = "slip", b"\xC0"

    def make(self, chance, number):
        body = payload(chance, number)
        body += sums.xmodem(body).to_bytes(2, "big")
        return slip_stuffed(body)

    def parse(self, content):
        body = unstuff(content, 0xDB, {0xDC: 0xC0, 0xDD: 0xDB})
        return None if body is None or len(body) != 7 or sums.xmodem(body) else wheels(body)


class Rfc1662(Style):
    """RFC 1662 byte stuffing: a flag 7E before and after each frame; only 7E and 7D are escaped."""

    name, lead, end = "rfc1662", b"\x7E", b"\x7E"

    def make(self, chance, number):
        body = payload(chance, number)
        body += sums.fcs16(body).to_bytes(2, "little")
        return rfc1662_stuffed(body)

    def parse(self, content):
        body = unstuff(content, 0x7D, {byte ^ 0x20: byte for byte in range(256)})
        return None if body is None or len(body) != 7 or sums.fcs_register(body) != 0xF0B8 else wheels(body)


class Fixed(Style):
    """Eight bytes, no sync."""

    name = "fixed"

    def make(self, chance, number):
        body = payload(chance, number) + bytes([chance.below(256), chance.below(64)])
        return body + bytes([sums.sum8(body)])

    def parse(self, content):
        if len(content) != 8 or sums.sum8(content[:7]) != content[7] or content[6] > 63:
            return None
        fields = wheels(content)
        return fields and {**fields, "deadline": content[5], "flags": content[6]}


def payload(chance, number):
    """Sequence u8 and four duties i8."""
    return bytes([number] + [duty & 255 for duty in duties(chance)])


def wheels(body):
    """The fields of that payload, or None when a duty is out of range."""
    values = [signed(byte) for byte in body[1:5]]
    return {"seq": body[0], **dict(zip(WHEELS, values))} if within(values, 100) else None


def slip_stuffed(body):
    """RFC 1055: END and ESC inside a body."""
    return body.replace(b"\xDB", b"\xDB\xDD").replace(b"\xC0", b"\xDB\xDC")


def rfc1662_stuffed(body):
    """RFC 1662 4.2: flag and escape inside a body."""
    return body.replace(b"\x7D", b"\x7D\x5D").replace(b"\x7E", b"\x7D\x5E")


def unstuff(content, escape, meanings):
    """Take the escapes out; None for an escape that means nothing or ends the content."""
    body, at = bytearray(), 0
    while at < len(content):
        byte = content[at]
        if byte == escape:
            at += 1
            byte = meanings.get(content[at]) if at < len(content) else None
            if byte is None:
                return None
        body.append(byte)
        at += 1
    return bytes(body)


def cobs(body):
    """COBS without its closing zero, for bodies of up to 254 bytes."""
    return b"".join(bytes([len(block) + 1]) + block for block in body.split(b"\0"))


def uncobs(content):
    """The body, or None when a code byte points past the end or a zero stands inside."""
    blocks, at = [], 0
    if not content or 0 in content:
        return None
    while at < len(content):
        code = content[at]
        if at + code > len(content):
            return None
        blocks.append(content[at + 1:at + code])
        at += code
    return b"\0".join(blocks)


STYLES = {style.name: style for style in (Cue(), Plain(), Ladder(), Stave(), Bead(), Slip(), Rfc1662(), Fixed())}
