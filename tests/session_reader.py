"""A second reader of session files, made from logs/FORMAT.md alone. Standard library only.

    python3 session_reader.py FILE          every input and every torn line, one JSON object a line
    python3 session_reader.py --write FILE  a session of its own, for the other reader

It shares no code with wheeltap: `tests/session_format.rs` holds both against each other.
"""

import json
import sys

TABLE = []
for value in range(256):
    for _ in range(8):
        value = (value >> 1) ^ (0x82F63B78 if value & 1 else 0)
    TABLE.append(value)


def crc32c(data):
    value = 0xFFFFFFFF
    for byte in data:
        value = (value >> 8) ^ TABLE[(value ^ byte) & 0xFF]
    return value ^ 0xFFFFFFFF


# RFC 3720, appendix B.4, and the check value of CRC-32C.
assert crc32c(bytes(32)) == 0x8A9136AA and crc32c(b"123456789") == 0xE3069283

LARGEST = 2305843009213693
HEX = b"0123456789ABCDEF"


class Torn(Exception):
    pass


def plain(byte, spaces):
    return (0x20 if spaces else 0x21) <= byte <= 0x7E and byte != 0x5C


def unescape(text, spaces=True):
    out, at = bytearray(), 0
    while at < len(text):
        byte = text[at]
        if byte == 0x5C:
            digits = text[at + 1 : at + 3]
            if len(digits) != 2 or any(digit not in HEX for digit in digits):
                raise Torn("broken escape")
            byte = int(digits, 16)
            if plain(byte, spaces):
                raise Torn("needless escape")
            at += 3
        else:
            if not plain(byte, spaces):
                raise Torn("byte not escaped")
            at += 1
        out.append(byte)
    return bytes(out)


def escape(data, spaces=True):
    return b"".join(bytes([byte]) if plain(byte, spaces) else b"\\%02X" % byte for byte in data)


def sealed(body):
    return body + b" %08X\n" % crc32c(body)


def number(text, most=2**64 - 1):
    if not text or any(digit not in b"0123456789" for digit in text) or (len(text) > 1 and text[:1] == b"0"):
        raise Torn("no number")
    if int(text) > most:
        raise Torn("too large")
    return int(text)


def time(text):
    return number(text, LARGEST)


def wire(text):
    if text not in (b">", b"<"):
        raise Torn("no wire")
    return text.decode()


def rate(text):
    return None if text == b"-" else number(text, 2**32 - 1)


def word(text):
    return string(unescape(text, spaces=False))


def last(text):
    return string(unescape(text))


def string(data):
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError:
        raise Torn("no UTF-8") from None


FIELDS = {
    b"session": (word, word, word, last),
    b"part": (number, time, number, number),
    b"about": (last,),
    b"link": (wire, rate, word, time, last),
    b"rover": (last,),
    b"file": (last,),
    b"taught": (last,),
    b"taught-line": (last,),
    b"taught-end": (number,),
    b">": (time, time, number, unescape),
    b"<": (time, time, number, unescape),
    b"tick": (time,),
    b"note": (time, last),
    b"gone": (time, wire, last),
    b"back": (time, wire),
    b"lost": (time, wire, number),
    b"wall": (time, last),
    b"end": (time, number, number, number),
}
HEAD = (b"session", b"part", b"about", b"link", b"rover", b"file", b"taught", b"taught-line", b"taught-end")
TAUGHT = (b"taught", b"taught-line", b"taught-end")


def parse(line):
    body, tail = line[:-9], line[-9:]
    if len(line) < 9 or tail[:1] != b" " or any(digit not in HEX for digit in tail[1:]):
        raise Torn("no check")
    if int(tail[1:], 16) != crc32c(body):
        raise Torn("wrong check")
    name, _, rest = body.partition(b" ")
    if name not in FIELDS:
        return name, None
    kinds = FIELDS[name]
    free = kinds[-1] in (last, unescape)
    parts = rest.split(b" ", len(kinds) - 1 if free else -1) if b" " in body else []
    if len(parts) != len(kinds):
        raise Torn("fields")
    return name, [kind(part) for kind, part in zip(kinds, parts)]


def lines(data):
    byte = 0
    parts = data.split(b"\n")
    for index, text in enumerate(parts, 1):
        if index < len(parts) or text:
            yield index, byte, text
        byte += len(text) + 1


def read(data):
    """Inputs in order, then the torn lines."""
    found, torn, desk = [], [], []
    newest, whole, clean, head = 0, 0, True, True
    due, doubt = {">": 0, "<": 0}, {">": False, "<": False}
    rover, taught, counted = None, None, False

    ended, linked = False, set()

    def name(index, byte):
        nonlocal clean
        clean = False
        if not torn or torn[-1]["torn"] != index:
            torn.append({"torn": index, "byte": byte})

    def unclosed():
        # A taught file that has not ended: where they are counted its end is missing, otherwise it counts.
        if taught is None:
            return rover
        if counted:
            name(*taught[2])
            return rover
        return taught[:2]

    for index, byte, text in lines(data):
        try:
            kind, values = parse(text)
            if kind == b"session" and index > 1:
                raise Torn("second session")
            at = values[0] if values is not None and kind not in HEAD + (b"note",) else None
            if at is not None:
                if at < newest:
                    raise Torn("time descends")
                newest = at
        except Torn:
            name(index, byte)
            doubt = {">": True, "<": True}
            continue
        if ended and kind not in (b"note",) + TAUGHT:
            name(index, byte)
        if kind == b"end":
            ended = True
            if values[1] != whole and clean:
                name(index, byte)
        whole += 1
        if kind in (b">", b"<"):
            side = kind.decode()
            _, _, offset, data_read = values
            if side not in linked:
                name(index, byte)
                linked.add(side)
            if offset < due[side]:
                name(index, byte)
                continue
            if offset > due[side]:
                if not doubt[side]:
                    name(index, byte)
                found.append({"lost": side, "count": offset - due[side]})
            doubt[side] = False
            due[side] = offset + len(data_read)
            found.append({"read": side, "t": values[0], "offset": offset, "hex": data_read.hex()})
        elif kind == b"lost":
            due[values[1]] += values[2]
            found.append({"lost": values[1], "count": values[2]})
        elif kind == b"part":
            newest, due = values[1], {">": values[2], "<": values[3]}
        elif kind == b"link":
            linked.add(values[0])
        elif kind == b"session":
            minor = (values[0].split(".") + [""])[1]
            counted = minor.isdecimal() and int(minor) >= 3
        elif kind == b"rover":
            rover = [values[0], []]
        elif kind == b"file" and rover is not None:
            rover[1].append(values[0])
        elif kind == b"taught":
            rover = unclosed()
            taught = [values[0], [], (index, byte)]
        elif kind == b"taught-line":
            if taught is None:
                if counted:
                    name(index, byte)
                taught = [None, [], (index, byte)]
            taught[1].append(values[0])
        elif kind == b"taught-end":
            if taught is None or len(taught[1]) != values[0]:
                name(index, byte)
            elif taught[0] is not None:
                rover = taught[:2]
            taught = None
        elif kind == b"note":
            desk.append((len(found), values))
            found.append({"note": values[1], "t": values[0]})
        elif kind in (b"gone", b"back"):
            found.append({kind.decode(): values[1], "t": values[0]})
        elif kind == b"tick":
            found.append({"tick": values[0]})
    rover = unclosed()
    torn.sort(key=lambda one: one["torn"])
    if rover is not None:
        found.insert(0, {"rover": rover[0], "text": "\n".join(rover[1])})
    return found + torn


def write():
    """A session of every kind of line, with bytes of every value."""
    every = bytes(range(256))
    out = [
        b"session 1.1 another\\20program 7 2026-05-02T09:30:00.250000+02:00",
        b"part 2 1000000 100 50",
        b"about " + escape("written by another program \u2014 \\ and LF \n".encode()),
        b"link > 115200 8N1 17000 " + escape(b" a port "),
        b"link < - 8N1 0 ",
        b"rover " + escape(b"one rover.toml"),
        b"file " + escape(b"name = \"x\"\t"),
        b"file ",
        b"> 1000000 4000 100 " + escape(every),
        b"< 1000001 0 50 " + escape(b"  "),
        b"later 5 a word of a later minor version",
        b"tick 1000002",
        b"lost 1000003 > 9",
        b"> 1000004 1 365 " + escape(b"\\\n"),
        b"note 999999 " + escape("RL h\u00e4ngt".encode()),
        b"gone 1000005 < " + escape(b"hung up"),
        b"back 1000006 <",
        b"wall 1000007 2026-05-02T09:30:01.250007+02:00",
    ]
    return b"".join(sealed(line) for line in out + [b"end 1000008 18 258 2"])


if __name__ == "__main__":
    if sys.argv[1] == "--write":
        with open(sys.argv[2], "wb") as file:
            file.write(write())
    else:
        with open(sys.argv[1], "rb") as file:
            for one in read(file.read()):
                print(json.dumps(one))
