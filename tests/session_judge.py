"""Judges from outside what a recorder kept. Standard library only; it reads with session_reader.py.

    python3 session_judge.py SESSION TORN WIRE WRITTEN AT_LEAST AT_MOST ...

SESSION is the file the recorder left, TORN how many damaged lines it may hold. For each WIRE (> or <), WRITTEN is a file
with every byte that was put on it, in order; the recorder had read between AT_LEAST and AT_MOST of them when it ended.

It prints one JSON object: by wire, how many bytes are kept, said to be lost, and missing at the end of AT_MOST. Exit code 1
and a sentence when the session is bad: altered bytes, bytes missing of which no line speaks, too many damaged lines, more
than was read, or less than AT_LEAST.
"""

import json
import sys

from session_reader import Torn, lines, parse, read


def said_lost(data):
    """Bytes that `lost` lines speak of, by wire."""
    said = {">": 0, "<": 0}
    for _, _, text in lines(data):
        try:
            kind, values = parse(text)
        except Torn:
            continue
        if kind == b"lost":
            said[values[1]] += values[2]
    return said


def base_of(written, reads):
    """Where in `written` the session begins: every read stands at its own offset from there. The first bytes may have
    fallen out of the port as it was opened."""
    first = bytes.fromhex(reads[0]["hex"])
    base = written.find(first)
    while base >= 0:
        begin = base - reads[0]["offset"]
        if begin >= 0 and all(written.startswith(bytes.fromhex(one["hex"]), begin + one["offset"]) for one in reads):
            return begin
        base = written.find(first, base + 1)
    return None


def judge_wire(found, said, wire, written, at_least, at_most):
    reads = [one for one in found if one.get("read") == wire]
    lost = sum(one["count"] for one in found if one.get("lost") == wire)
    if lost > said:
        return None, f"wire {wire}: {lost - said} bytes are missing of which no line speaks"
    kept = sum(len(one["hex"]) // 2 for one in reads)
    base = base_of(written, reads) if reads else 0
    if base is None:
        return None, f"wire {wire}: what is kept does not stand in what was written"
    end = base + kept + lost
    if end > at_most:
        return None, f"wire {wire}: {end} bytes are accounted for and only {at_most} were read"
    if end < at_least:
        return None, f"wire {wire}: {at_least} bytes were to be accounted for and only {end} are"
    return {"kept": kept, "lost": lost, "missing": at_most - end}, None


def judge(session, torn, wires):
    found = read(session)
    said = said_lost(session)
    damaged = [one["torn"] for one in found if "torn" in one]
    if len(damaged) > torn:
        return None, f"{len(damaged)} damaged lines: {damaged[:9]}"
    result = {"torn": len(damaged)}
    for wire, written, at_least, at_most in wires:
        result[wire], fault = judge_wire(found, said[wire], wire, written, at_least, at_most)
        if fault:
            return None, fault
    return result, None


if __name__ == "__main__":
    words = sys.argv[1:]
    with open(words[0], "rb") as file:
        recorded = file.read()
    asked = []
    for at in range(2, len(words), 4):
        with open(words[at + 1], "rb") as file:
            asked.append((words[at], file.read(), int(words[at + 2]), int(words[at + 3])))
    verdict, why = judge(recorded, int(words[1]), asked)
    if why:
        print(f"{words[0]}: {why}", file=sys.stderr)
        sys.exit(1)
    print(json.dumps(verdict))
