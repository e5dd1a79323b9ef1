"""What is written down of each case that is not all right: `ledger.txt`, one line a case, held against what was found.

A case that is not written down must be claimed (or have nothing to be found) with nothing false. One that is written down
must come out just so: where it has become better, its line is too pessimistic and must go. A false claim needs its reason
behind `#`, from what is known of such rovers; without one the line counts as a fault.
"""

import sys

sys.dont_write_bytecode = True

RIGHT = ("claimed", "nothing")


def line_of(outcome, wrong):
    """A case in words: what came of it, and what was falsely said."""
    false = sorted({name for name, severity, _, _ in wrong if severity != "note"})
    notes = sorted({name for name, severity, _, _ in wrong if severity == "note"})
    words = [outcome]
    words += ["false:" + ",".join(false)] if false else []
    words += ["notes:" + ",".join(notes)] if notes else []
    return " ".join(words)


def read(text):
    """({(fault, style, adapter): (words, reason)}, lines that cannot be read)."""
    rows, bad = {}, []
    for number, line in enumerate(text.splitlines(), 1):
        row, _, reason = line.partition("#")
        parts = row.split()
        if not parts:
            continue
        key, words = tuple(parts[:3]), " ".join(parts[3:])
        if len(parts) < 4 or key in rows:
            bad.append(f"ledger line {number}: `{line}` is not `FAULT STYLE ADAPTER OUTCOME`, or stands twice")
        elif ("false:" in words or "notes:" in words) and not reason.strip():
            bad.append(f"ledger line {number}: a false claim is written down without a reason")
        else:
            rows[key] = (words, reason.strip())
    return rows, bad


def differences(found, text):
    """What is not as it is written down, in words; empty where all is."""
    rows, out = read(text)
    for key, words in found.items():
        due = rows.get(key, (None, ""))[0]
        if due is None and words not in RIGHT:
            out.append(f"{' '.join(key)}: {words}; the ledger has no such line, so it was all right before")
        elif due is not None and words != due:
            hint = "take its line out" if words in RIGHT else "see whether it is better, then write it so"
            out.append(f"{' '.join(key)}: {words}; the ledger has `{due}`: {hint}")
    return out


def written(found, text):
    """The ledger anew: the remarks at its head and the reasons are kept."""
    rows, _ = read(text)
    head = [line for line in text.splitlines() if line.startswith("#")]
    out = head
    for key, words in found.items():
        if words not in RIGHT:
            reason = rows.get(key, ("", ""))[1]
            out.append(" ".join([*key, words]) + (f"  # {reason}" if reason else ""))
    return "\n".join(out) + "\n"


def check():
    """Held against itself: what is better, worse, twice, or without a reason is told."""
    text = "# head\na b 16ms missed\na c 16ms claimed false:late # why\n"
    as_written = {("a", "b", "16ms"): "missed", ("a", "c", "16ms"): "claimed false:late", ("d", "b", "1ms"): "claimed"}
    cases = (
        (as_written, text, 0),
        ({**as_written, ("a", "b", "16ms"): "claimed"}, text, 1),  # better
        ({**as_written, ("d", "b", "1ms"): "missed"}, text, 1),  # worse
        ({**as_written, ("d", "b", "1ms"): "nothing false:late"}, text, 1),
        (as_written, text.replace(" # why", ""), 2),  # no reason, so no line for a claim that is false
        (as_written, text + "a b 16ms missed\n", 1),  # twice
    )
    for place, (found, written_down, count) in enumerate(cases):
        told = differences(found, written_down)
        if len(told) != count:
            raise AssertionError(f"ledger case {place}: {told}")
    if differences(as_written, written(as_written, text)):
        raise AssertionError("a ledger that was just written is not as it was found")
    return len(cases)
