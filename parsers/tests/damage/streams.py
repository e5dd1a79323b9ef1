#!/usr/bin/env python3
"""Streams of drive orders with random damage, and a list of what of each frame arrived.

    streams.py STYLE --frames 5000 --seed 1 --p 0.05 --out FOLDER
    streams.py all   --frames 5000 --seed 1 --p 0.05 --out FOLDER
    streams.py --check

Python 3.8 or later (tried with 3.11), standard library only. The same arguments give the same bytes. It was written
from the formats alone, without sight of any decoder, so that it can bear witness about one.

LINK STYLES (n bytes; numbers in hex where no unit is given)

cue      `c<seq3> p<panel2> <verb> f<sddd> s<sddd> t<sddd> g<d> d<dd> #<CCCC>.` LF. 45 bytes. CRC-16: polynomial 1021,
         start 5A17, not reflected, no final XOR, over everything before `#`, in four upper-case hex digits.
         Verbs here: drv, hlt, one. Sequence 0-999.
plain    `<word>,<value>` LF: way,<one of eleven names>; pace,<0-255>; lamp,<0-255>. No check, no sequence.
ladder   A7 3C, length 09, payload 21 and four i16 little-endian in per mille (FL FR RL RR, -1000..1000), CRC-8/AUTOSAR
         over length and payload. 13 bytes. No sequence.
stave    F1 drive or F2 stop, sequence 00-DF, four duties + 100 (00-C8), deadline in 5 ms (00-C8), flags 00-3F (low two
         bits: gear), CRC-8 (polynomial 97, start 3C) over the eight bytes before it as two nibbles, FE. 11 bytes.
bead     COBS; 00 ends a frame. Body: 11, sequence, f s t as i8 (-100..100), deadline in 10 ms, CRC-16/IBM-SDLC
         little-endian.
slip     RFC 1055: C0 ends a frame (none before it), DB DC for C0, DB DD for DB. Body: sequence u8, FL FR RL RR i8
         (-100..100), CRC-16/XMODEM big-endian.
rfc1662  7E before and after each frame (two between frames; an empty frame is nothing). 7E and 7D are sent as 7D and
         the byte XOR 20; no other byte is escaped (as with a control character map of 0). No address, no control, no
         protocol field. Body: sequence and duties as slip, then FCS-16, low byte first (good register: F0B8).
fixed    8 bytes and no sync: sequence u8, FL FR RL RR i8 (-100..100), deadline u8, flags u8 below 40, sum-8 of the
         first seven.

FILES (each name begins with the style's)

.bin             The received stream: nothing but bytes. There is no time in it, so no receiver can use pauses.
.frames.jsonl    One line for each frame sent, in the order sent (two for a duplicate, one for a frame never sent).
  frame          Number of the order, from 0.
  copy           0, or 1 for the second of a duplicate.
  sent           The whole frame as sent, in hex, with its start and end bytes.
  offset, len    Where it stands in the .bin, start and end bytes included. For a frame that is not intact: from the
                 first to the last byte left of it, foreign bytes between them included; null and 0 when
                 nothing is left.
  content_offset, content_len
                 Present when intact is true or "at-risk": the same without lead (ladder A7 3C, rfc1662 7E) and without
                 end byte (LF, FE, 00, C0, 7E). A decoder that reports other bounds is best matched by these.
  intact         true: every byte of the frame stands there unchanged and side by side, its own end byte too, and all
                 that a receiver may require before it. A decoder must read it.
                 "at-risk": see risk. A decoder may read it or not, so count both ways.
                 false: it did not arrive. A decoder that reads it has accepted damage (but see .misread.jsonl).
  risk           Why at risk, [] otherwise (the words are below).
  damage         The kind of damage done to this frame, or null.
  fields         The values as sent: seq, panel, verb, gear, flags as on the wire; f s t and fl fr rl rr in per cent;
                 *_permille in thousandths; deadline_ms in milliseconds; fixed's deadline is raw (no unit stated);
                 plain has word and value (a name or a number).
  run            fixed only: whole frames directly before this one. For a receiver that wants K good frames in a row
                 before it believes the first.
.damage.jsonl    One line for each damage: frame, kind, offset (in the .bin), len (bytes of the .bin touched; 0 where
                 bytes are missing), and what was done: bits (turned, counted from the frame's first byte, lowest
                 bit first), lost (hex), inserted (hex), text, rate, low_stops (how many bytes had a low stop bit, that
                 is a framing error).
.misread.jsonl   What a strict reader of the format takes for a frame although none stands there: content_offset,
                 content_len, fields. The check, or the lack of one, lets it through, so it is no fault of a decoder.
                 What another decoder accepts beyond the intact, the at-risk and these is its own mistake, except
                 where the rover file is lenient on purpose (numbers by their leading digits).
.summary.json    The arguments, the stream's SHA-256, and counts: by class, by risk, by kind and class; `read` is how
                 many of each class the strict reader read.

WHAT A RECEIVER MAY REQUIRE, AND THE WORDS OF `risk`

stream-start     cue, plain, bead, slip, fixed: the first byte of the stream. A receiver that joins in mid-frame cannot
                 know that it is a start.
no-start         cue, plain, bead, slip: the byte before the frame is not an end byte, so it is glued to something. A
                 text receiver may find the `c` inside and prove it by the check, or refuse the whole line.
escaped-end      slip: DB stands before the C0 before the frame. RFC 1055's sample code then takes C0 as data.
no-end           cue, stave: all but the end byte stands there and the check agrees. Some close on `.` or on the next
                 marker, some refuse.
borrowed         By value the frame stands there, but one of its bytes is another's (rfc1662: the next frame's flag
                 serves as the lost one, as RFC 1662 allows; elsewhere an inserted byte equal to its neighbour).
claimed          ladder: an earlier sync in damaged bytes, with a length of at most 16, reaches into the frame, and its
                 check fails. A receiver that searches again from inside the claim reads the frame; one that throws the
                 claim away loses it.
impostor         ladder: the same, but its check agrees. fixed: see below.
unaligned        fixed: whole, but not directly behind a whole frame.
(stave, rfc1662) nothing before the frame is required.

FIXED LENGTH WITHOUT SYNC. A receiver can find its place only by the contents: try eight bytes; if duties, flags and sum
fit, take them and go on behind them, otherwise go one byte further. Eight random bytes fit with probability
(201/256)^4 x 1/4 x 1/256, about 1 in 2700, so a wrong start is rare but real. `unaligned` frames are the first after
each damage: the search reads them. `impostor`: eight bytes that begin one to seven bytes earlier fit too, and nothing
before them keeps the receiver in step, so the search takes those and may lose this frame. Eight zero bytes fit as
well, and text at 9600 baud is heard as zeros only: most of this style's misread list is that. A receiver that also
asks the sequence to count, or drops bytes with framing errors, is rid of them.

DAMAGE, one kind at a time, each frame with probability p, the kind uniformly: one-bit flip; two-bit flip; burst (2 to
16 neighbouring bits, first and last turned); byte lost; byte inserted (before any byte of the frame); cut short (1 to
n - 1 bytes left); glued (last byte lost: the end byte; for ladder and fixed the check byte); wrong-rate text (ASCII
text at 74880 or 9600 baud as a receiver at 115200 reads it, from a model of the bits; half the time it cuts the
frame, otherwise it stands before it); boot text (readable lines before the frame, half the time without a line end);
duplicate (sent twice); never sent (the sequence counts on).
"""

import argparse
import collections
import hashlib
import json
import pathlib
import sys

sys.dont_write_bytecode = True

import chance as chances  # noqa: E402
import harm  # noqa: E402
import reader  # noqa: E402
import standing  # noqa: E402
import styles  # noqa: E402


class Stream:
    """A stream as it grows."""

    def __init__(self, style):
        self.style, self.data, self.copies, self.damage = style, bytearray(), [], []

    def add(self, frame, copy, content, kind, parts):
        """The pieces of one frame arrive."""
        base = len(self.data)
        self.data += bytes(value for value, _, _ in parts)
        own = [(base + index, place, same) for index, (_, place, same) in enumerate(parts) if place is not None]
        self.copies.append({"frame": frame, "copy": copy, "wire": self.style.wire(content), "own": own, "damage": kind,
                            "fields": self.style.parse(content)})
        return base

    def send(self, frame, content, kind, chance):
        """One frame, with its damage if any."""
        wire = self.style.wire(content)
        if kind is None:
            self.add(frame, 0, content, None, harm.pieces(wire))
            return
        parts, (index, length, about) = harm.DEEDS[kind](wire, chance)
        base = self.add(frame, 0, content, kind, parts)
        if kind == "duplicate":
            self.add(frame, 1, content, kind, harm.pieces(wire))
        self.damage.append({"frame": frame, "kind": kind, "offset": base + index, "len": length, **about})


def generate(style, frames, seed, part):
    """The whole stream, judged. Orders and damage draw from two seeds, so p does not change the orders."""
    orders, damage, stream = chances.Chance(2 * seed), chances.Chance(2 * seed + 1), Stream(style)
    for frame in range(frames):
        content = style.make(orders, frame % style.sequence if style.sequence else 0)
        kind = damage.one_of(harm.KINDS) if damage.hits(part) else None
        stream.send(frame, content, kind, damage)
    stream.data = bytes(stream.data)
    standing.judge(stream.data, style, stream.copies)
    return stream


def frame_line(style, copy):
    """One line of the frame list."""
    line = {key: copy[key] for key in ("frame", "copy", "offset", "len", "intact", "risk", "damage")}
    if copy["intact"]:
        end = 0 if "no-end" in copy["risk"] else len(style.end)
        line.update(content_offset=copy["offset"] + len(style.lead), content_len=copy["len"] - len(style.lead) - end)
    if "run" in copy:
        line["run"] = copy["run"]
    return {**line, "sent": copy["wire"].hex(), "fields": copy["fields"]}


def misread(style, stream, lines):
    """What the strict reader took that nobody sent, and how many of each class it read."""
    places = {(line["content_offset"], line["content_len"]): line for line in lines if line["intact"]}
    wrong, counts = [], collections.Counter()
    for offset, length, fields in reader.read(stream.data, style):
        line = places.get((offset, length))
        if line and line["fields"] == fields:
            counts[str(line["intact"])] += 1
        else:
            wrong.append({"content_offset": offset, "content_len": length, "fields": fields})
    return wrong, counts


def summary(stream, lines, wrong, counts):
    """The counts."""
    by_kind = collections.defaultdict(collections.Counter)
    for line in lines:
        by_kind[line["damage"] or "none"][str(line["intact"])] += 1
    return {"bytes": len(stream.data), "sha256": hashlib.sha256(stream.data).hexdigest(),
            "classes": collections.Counter(str(line["intact"]) for line in lines),
            "risks": collections.Counter(risk for line in lines for risk in line["risk"]),
            "kinds": by_kind, "read": counts, "misread": len(wrong)}


def write_lines(path, lines):
    """A JSON Lines file."""
    path.write_bytes("".join(json.dumps(line) + "\n" for line in lines).encode("ascii"))


def produce(style, args):
    """The five files of one style."""
    stream = generate(style, args.frames, args.seed, args.p)
    lines = [frame_line(style, copy) for copy in stream.copies]
    wrong, counts = misread(style, stream, lines)
    about = {"style": style.name, "frames": args.frames, "seed": args.seed, "p": args.p,
             **summary(stream, lines, wrong, counts)}
    out = pathlib.Path(args.out)
    out.mkdir(parents=True, exist_ok=True)
    (out / f"{style.name}.bin").write_bytes(stream.data)
    write_lines(out / f"{style.name}.frames.jsonl", lines)
    write_lines(out / f"{style.name}.damage.jsonl", stream.damage)
    write_lines(out / f"{style.name}.misread.jsonl", wrong)
    (out / f"{style.name}.summary.json").write_bytes((json.dumps(about, indent=1) + "\n").encode("ascii"))
    print(json.dumps(about))


def arguments():
    """The command line."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n", 1)[0],
                                     epilog="The formats stand at the head of this file.")
    parser.add_argument("style", nargs="?", choices=[*styles.STYLES, "all"])
    parser.add_argument("--frames", type=int, default=5000, help="frames to send")
    parser.add_argument("--seed", type=int, default=1, help="0 or more")
    parser.add_argument("--p", type=float, default=0.05, help="probability of damage for each frame, 0 to 1")
    parser.add_argument("--out", help="folder for the files")
    parser.add_argument("--check", action="store_true", help="check the formats, the damage and the lists")
    args = parser.parse_args()
    if not args.check and not (args.style and args.out):
        parser.error("give a style and --out FOLDER, or --check")
    if args.frames < 1 or args.seed < 0 or not 0 <= args.p <= 1:
        parser.error("--frames is 1 or more, --seed 0 or more, --p 0 to 1")
    return args


def main():
    """Check, or make the files."""
    args = arguments()
    if args.check:
        import golden
        return golden.check()
    for style in styles.STYLES.values() if args.style == "all" else [styles.STYLES[args.style]]:
        produce(style, args)
    return 0


if __name__ == "__main__":
    sys.exit(main())
