"""What of each frame stands in the received stream, and what a receiver may need from the bytes before it."""

import sums

LONGEST_LADDER_PAYLOAD = 16
PROVED_WITHOUT_END = {"cue", "stave"}
NEEDS_END_BEFORE = {"cue", "plain", "bead", "slip"}


def runs_whole(own, first, last):
    """Where places first..last-1 of the frame stand unchanged and side by side; None when they do not."""
    kept = [(offset, place) for offset, place, same in own if same and first <= place < last]
    if [place for _, place in kept] != list(range(first, last)) or kept[-1][0] - kept[0][0] != last - first - 1:
        return None
    return kept[0][0]


def borrowed(stream, own, wire):
    """Where the frame stands by value although one byte of it is another's; None when it does not."""
    if len(own) < len(wire) - 1:
        return None
    for start in (own[0][0], own[0][0] - 1, own[0][0] + 1):
        if start >= 0 and stream[start:start + len(wire)] == wire:
            return start
    return None


def find(stream, style, own, wire):
    """(offset, length, risks) of what stands whole, or None."""
    whole = runs_whole(own, 0, len(wire)) if own else None
    if whole is not None:
        return whole, len(wire), []
    start = borrowed(stream, own, wire) if own else None
    if start is not None:
        return start, len(wire), ["borrowed"]
    if own and style.name in PROVED_WITHOUT_END:
        start = runs_whole(own, 0, len(wire) - len(style.end))
        if start is not None:
            return start, len(wire) - len(style.end), ["no-end"]
    return None


def end_before(stream, style, offset):
    """Risks of a framing that knows a frame's start only by the end of what came before."""
    if offset == 0:
        return ["stream-start"]
    if stream[offset - 1:offset] != style.end:
        return ["no-start"]
    return ["escaped-end"] if style.name == "slip" and stream[offset - 2:offset - 1] == b"\xDB" else []


def claimed(stream, style, offset):
    """Risks of the ladder: an earlier sync whose length reaches into this frame."""
    risks = set()
    for start in range(max(0, offset - LONGEST_LADDER_PAYLOAD - 3), offset - 2):
        length = stream[start + 2]
        if stream[start:start + 2] == style.lead and length <= LONGEST_LADDER_PAYLOAD and start + length + 4 > offset:
            span = stream[start + 2:start + 4 + length]
            risks.add("impostor" if ladder_passes(span) else "claimed")
    return sorted(risks)


def ladder_passes(span):
    """Whether a length, payload and check agree."""
    return sums.ladder_crc(span[:-1]) == span[-1]


def overlapped(stream, style, offset):
    """Fixed length: whether eight bytes that begin one to seven bytes earlier pass as a frame."""
    return any(style.parse(bytes(stream[start:start + 8])) for start in range(max(0, offset - 7), offset))


class Alignment:
    """Fixed length without sync: who is in step, frame after frame."""

    def __init__(self):
        self.end, self.settled, self.run = 0, True, -1

    def risks(self, stream, style, offset, length):
        """Risks of the next whole frame; `run` is then how many whole frames stand directly before it."""
        side_by_side = offset == self.end
        risks = ["stream-start"] if offset == 0 else [] if side_by_side else ["unaligned"]
        self.run = self.run + 1 if side_by_side else 0
        self.settled = (side_by_side and self.settled) or not overlapped(stream, style, offset)
        self.end = offset + length
        return risks if self.settled else risks + ["impostor"]


def judge(stream, style, copies):
    """Set offset, length, intact and risks of every copy, in the order sent."""
    alignment = Alignment()
    for copy in copies:
        found = find(stream, style, copy["own"], copy["wire"])
        own = copy["own"]
        if found is None:
            span = (own[0][0], own[-1][0] - own[0][0] + 1) if own else (None, 0)
            copy.update(offset=span[0], len=span[1], intact=False, risk=[])
            continue
        offset, length, risks = found
        if style.name in NEEDS_END_BEFORE:
            risks = risks + end_before(stream, style, offset)
        if style.name == "ladder":
            risks = risks + claimed(stream, style, offset)
        if style.name == "fixed":
            risks = risks + alignment.risks(stream, style, offset, length)
            copy["run"] = alignment.run
        copy.update(offset=offset, len=length, intact="at-risk" if risks else True, risk=risks)
