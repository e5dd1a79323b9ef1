"""A strict reader of each style: what somebody who knows only the format can take from the received bytes.

It serves two ends: every frame listed as intact must be read here too (golden.py), and what it reads that nobody sent
is damage that no reader could tell from a frame (the `misread` list).
"""

import standing


def delimited(stream, end):
    """(offset, content) of everything between end bytes; what follows the last one is not finished."""
    start = 0
    while (stop := stream.find(end, start)) >= 0:
        yield start, stream[start:stop]
        start = stop + 1


def staves(stream):
    """A start marker, nine bytes below F0, FE."""
    for start, byte in enumerate(stream):
        content = stream[start:start + 10]
        if byte in (0xF1, 0xF2) and stream[start + 10:start + 11] == b"\xFE" and max(content[1:]) < 0xF0:
            yield start, content


def ladders(stream, style):
    """A sync, a length, and a check that agrees; after a sync that fails the search goes on at its second byte."""
    start = stream.find(style.lead)
    while start >= 0:
        span = stream[start + 2:start + 3]
        span = stream[start + 2:start + 4 + span[0]] if span else b""
        whole = len(span) > 1 and len(span) == span[0] + 2 and span[0] <= standing.LONGEST_LADDER_PAYLOAD
        whole = whole and standing.ladder_passes(span)
        if whole:
            yield start + 2, span
        start = stream.find(style.lead, start + (2 + len(span) if whole else 1))


def windows(stream, style):
    """Eight bytes that pass, then the next eight; after eight that fail, one byte further."""
    start = 0
    while start + 8 <= len(stream):
        passes = style.parse(stream[start:start + 8])
        if passes:
            yield start, stream[start:start + 8]
        start += 8 if passes else 1


def candidates(stream, style):
    """(offset, content) of all that may be a frame."""
    if style.name == "stave":
        return staves(stream)
    if style.name == "ladder":
        return ladders(stream, style)
    return windows(stream, style) if style.name == "fixed" else delimited(stream, style.end)


def read(stream, style):
    """(content offset, content length, fields) of every frame read."""
    for offset, content in candidates(stream, style):
        fields = style.parse(content)
        if fields:
            yield offset, len(content), fields
