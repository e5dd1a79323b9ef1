"""Holds a program against the witness: `score.py PROGRAM` decodes every fault on every style and compares with the truth.

One row a fault and style:
    claimed   what must be found was found, as often as it happened where the number can be known, at the right time
    vague     a true word that names what was seen, not its cause, though the evidence for the cause is on the wire
    missed    nothing of it was said
    cannot    the program itself says that this link does not allow it to be judged
    false     cases with a finding that is not true of this drive (danger, fault or doubt), or whose verdict looks first in
              another place than the fault's (`verdict`; the places stand in look.py)
    notes     the same, as a mere note
A case is one seed through one adapter.
"""

import argparse
import collections
import concurrent.futures
import json
import math
import pathlib
import subprocess
import sys

sys.dont_write_bytecode = True

import faults
import ledger
import links
import look

# Finding ids to meanings (listed in truth.py), with the reason, from the program's own words. An id stands for the meanings
# of its row; a row with words applies only where they stand in `says` or `do`. The first row that fits counts.
MEANINGS = (
    # id, words, meanings, reason
    ("*", "without the CR before its LF", ("carriage-return",), "do: each would be right without the CR before its LF"),
    ("silent-while-moving", "", ("silent-moving",), "orders stopped coming while a wheel was meant to turn"),
    ("lapse", "", ("lapse",), "the deadline ran out while a wheel was meant to turn; causes are listed, none is named"),
    ("sends-on-change", "", ("send-on-change",), "the command board sends only when something changes"),
    ("late", "", ("late",), "an order came late"),
    ("bunched", "", ("bunched",), "orders late, then at once"),
    ("panel-gap", "", ("panel-loss",), "messages of the control panel never reached the command board"),
    ("two-panels", "went back", ("panel-order",), "the panel's own counter went back: says no more than that"),
    ("two-panels", "", ("two-panels",), "two series of the panel's counter"),
    ("sequence-gap", "", ("sequence-gap",), "sequence numbers are missing with nothing damaged between"),
    ("sequence-order", "", ("twice",), "a sequence number came again or out of turn"),
    ("double-sends", "", ("twice",), "the same order came twice within a moment"),
    ("duty-flood", "", ("flood",), "the duty control flooded the line"),
    ("reset-brown-out", "", ("reset-supply",), "a board was reset by a sagging supply"),
    ("reset-watchdog", "", ("reset-watchdog",), "a board hung and was reset by its watchdog"),
    ("glued-at-start", "", ("glued",), "the first order glued to the start-up text"),
    ("refused-intact", "", ("refused-intact",), "the drive board refused an order that stood intact on the wire"),
    ("answer-missing", "", ("no-answer",), "an order was not answered within two seconds"),
    ("answer-growing", "", ("answer-growing",), "answers fell further and further behind"),
    ("answer-late", "", ("answer-late",), "an answer took certainly longer than usual"),
    ("reports-stopped", "", ("no-answer",), "the drive board fell silent while orders went on"),
    ("reset", "", ("reset-other",), "a board started anew, no cause stated"),
    ("text-between", "", ("text-between",), "text stood between sound orders"),
    ("moves-at-start", "", ("leap",), "a start of the command board began with a move"),
    ("creep", "", ("creep",), "the same small order stood where a rest was due"),
    ("volts-low", "", ("volts-low",), "the pack was under its limit while a wheel was meant to turn"),
    ("noise-with-duty", "", ("noise-with-duty",), "orders are hit while wheels turn, and hardly at rest"),
    ("clock-off", "", ("clock",), "only the highest bits are wrong: the sender's clock is some per cent fast"),
    ("wrong-rate", "", ("wrong-rate",), "tap and sender differ in rate"),
    ("no-end-mark", "", ("no-end-mark",), "orders are whole but for their end mark"),
    ("answer-one-second", "", ("answer-second",), "answered a constant second after the last byte"),
    ("tap-asleep", "", ("tap-asleep",), "the tap was asleep"),
    ("adapter-grid", "", ("tap-grid",), "arrivals lie on the adapter's own grid"),
    ("low-duty", "", ("low-duty",), "a move never asked for more than a few per cent: asks whether wheels turned"),
    ("start-fails", "", ("boot-loop",), "a board could not start its program"),
    ("no-rest-between", "", ("no-rest",), "a move followed a move with no rest between"),
    ("out-of-range", "", ("out-of-range",), "a number is out of range"),
    ("nothing-fits", "", ("unreadable",), "not one frame is known to the rover file: file, rate or ground"),
    ("nothing-would-stop-it", "", ("standing",), "true of every link whose drive board obeys for ever"),
    ("bad-check", "", ("damage",), "the check is wrong; causes are listed, none is named"),
    ("truncated", "", ("damage",), "a frame was cut short"),
    ("overlong", "", ("damage",), "a frame is too long"),
    ("glued", "", ("damage", "glued"), "something else began inside a frame"),
    ("unknown-word", "", ("damage",), "the rover file does not know this word"),
    ("unknown-code", "", ("damage",), "the rover file does not know this code"),
    ("nearly-an-order", "", ("damage",), "a line that would be an order but for one byte"),
    ("not-a-number", "", ("damage",), "no number where one is due"),
    ("noise", "", ("damage",), "bytes that are neither frame nor text"),
)

# What the program says it cannot judge on a link, and the meanings this covers (from `looks_for`).
NOT_JUDGED = {
    "silent-while-moving": ("silent-moving",),
    "lapse": ("lapse", "send-on-change"),
    "late": ("late", "bunched"),
    "sequence-gap": ("sequence-gap", "twice"),
    "panel-gap": ("panel-loss", "panel-order"),
}

# True of every drive here as a mere note: the computer now and then looks away for 20 to 60 ms, every adapter has its grid,
# and how much was asked for stands in the orders. As a fault each of them would accuse the rover of the tap's doing.
TRUE_NOTES = {"tap-asleep", "tap-grid", "low-duty"}
EARLY_US = 1_500_000
SOUND_S = 300


def meanings_of(finding):
    """The meanings of one finding; an id that no row knows stands for itself, and so counts as false."""
    if "wheel" in finding:
        return ("wheel:" + finding["wheel"],)
    words = finding["says"] + " " + finding["do"]
    for name, needle, meanings, _ in MEANINGS:
        if name in ("*", finding["id"]) and needle in words:
            if name != "*" or needle:
                return meanings
    return ("unmapped:" + finding["id"],)


def decode(program, style, log):
    """(findings, summary) of one log; a program that fails is a fault of its own and stops the score."""
    ran = subprocess.run(
        [program, "decode", "-", "--rover", style, "--json"], input="\n".join(log) + "\n", capture_output=True, text=True, check=False,
    )
    if ran.returncode not in (0, 1):
        raise SystemExit(f"{program} decode --rover {style} ended with {ran.returncode}: {ran.stderr[:400]}")
    rows = [json.loads(line) for line in ran.stdout.splitlines() if line.startswith(('{"kind":"finding"', '{"kind":"summary"'))]
    return [row for row in rows if row["kind"] == "finding"], rows[-1]


def timely(finding, truth):
    """Its place in time overlaps what happened."""
    if truth["span_us"] is None:
        return False
    first, last = truth["span_us"]
    return finding["last_us"] >= first - EARLY_US and finding["first_us"] <= last + truth["slack_us"]


def fits(finding, must, truth):
    """Says what must be said, at the right time, loud enough."""
    loud = finding["severity"] != "note" or not must["severe"]
    return loud and timely(finding, truth) and set(meanings_of(finding)) & set(must["one_of"])


def outcome_of(must, findings, summary, truth):
    """claimed, count (claimed, but not as often as it happened), vague, missed or cannot; for one thing to be found."""
    found = [finding for finding in findings if fits(finding, must, truth)]
    if found:
        counted = sum(finding["count"] for finding in found)
        wrong = must["count"] and not must["count"][0] <= counted <= must["count"][1]
        return "count" if wrong else "claimed"
    if any(set(meanings_of(finding)) & set(must["vague"]) for finding in findings):
        return "vague"
    judged_not = {meaning for row in summary["not_judged"] for meaning in NOT_JUDGED.get(row["id"], ())}
    return "cannot" if judged_not & set(must["one_of"]) else "missed"


def false_claims(findings, truth):
    """Findings that are not true of this drive; those about another time too."""
    allowed = set(truth["allowed"])
    out = []
    for finding in findings:
        meanings = set(meanings_of(finding))
        if "standing" in meanings or (finding["severity"] == "note" and meanings & TRUE_NOTES):
            continue
        if not meanings & allowed or not timely(finding, truth):
            out.append(finding)
    return out


def judge(task):
    """One case: everything the table needs."""
    program, fault, style, adapter, seed, seconds = task
    log, truth = faults.make(fault, style, adapter, seed, seconds)
    findings, summary = decode(program, style, log)
    outcomes = [outcome_of(must, findings, summary, truth) for must in truth["must"]]
    wrong = [(finding["id"], finding["severity"], finding["count"], finding["says"]) for finding in false_claims(findings, truth)]
    layer = look.astray(fault, summary["verdict"])
    if layer:
        wrong.append(("verdict", "fault", 1, f"where to look: {layer} first"))
    return task, truth["must"], outcomes, wrong


def judge_sound(task):
    """One sound drive: the sender's jitter and what was falsely said."""
    program, fault, style, adapter, seed, seconds = task
    log, truth = faults.make(fault, style, adapter, seed, seconds)
    findings, _ = decode(program, style, log)
    return truth["jitter_us"], adapter, [(f["id"], f["severity"], f["count"]) for f in false_claims(findings, truth)]


def tasks(program, seeds, only, styles):
    """Every case."""
    for fault, (_, possible) in faults.FAULTS.items():
        if only and fault not in only:
            continue
        for style in possible:
            if styles and style not in styles:
                continue
            for adapter in faults.adapters(fault):
                for seed in seeds:
                    yield (program, fault, style, adapter, seed, None)


WORST = ("missed", "vague", "count", "cannot", "claimed")


def outcome_of_case(outcomes):
    """The worst of what must be found in one case."""
    return next((word for word in WORST if word in outcomes), "nothing")


def row_of(results):
    """Counts of one fault and style; a case counts once, by the worst of what must be found in it."""
    counts = collections.Counter()
    for _, _, outcomes, wrong in results:
        counts["cases"] += 1
        counts[outcome_of_case(outcomes)] += 1
        counts["false"] += any(severity != "note" for _, severity, _, _ in wrong)
        counts["notes"] += any(severity == "note" for _, severity, _, _ in wrong)
    return counts


COLUMNS = ("cases", "nothing", "claimed", "count", "vague", "missed", "cannot", "false", "notes")


def table(results, out):
    """Prints the one table and the sums."""
    groups = collections.OrderedDict()
    for result in results:
        groups.setdefault(result[0][1:4], []).append(result)
    print(f"{'fault':16} {'style':12} {'adapter':10}" + "".join(f"{name:>9}" for name in COLUMNS) + "  false ids", file=out)
    whole = collections.Counter()
    for (fault, style, adapter), members in groups.items():
        counts = row_of(members)
        whole.update(counts)
        ids = collections.Counter(name for _, _, _, wrong in members for name, _, _, _ in wrong)
        named = " ".join(f"{name}:{times}" for name, times in sorted(ids.items()))
        print(f"{fault:16} {style:12} {adapter:10}" + "".join(f"{counts[name] or '.':>9}" for name in COLUMNS) + "  " + named, file=out)
    print(f"{'all':40}" + "".join(f"{whole[name]:>9}" for name in COLUMNS), file=out)
    print("nothing: nothing is wrong in these, so nothing must be found. count: found, but another number of times.", file=out)
    return whole


def details(results, out):
    """For each row that is not all right: what was missed and what was false, with the command that makes the case."""
    seen = set()
    for (_, fault, style, adapter, seed, _), musts, outcomes, wrong in results:
        for must, outcome in zip(musts, outcomes):
            key = (fault, style, outcome, tuple(must["one_of"]))
            if outcome in ("missed", "vague", "count") and key not in seen:
                seen.add(key)
                print(f"{outcome}: {' or '.join(must['one_of'])}; faults.py {fault} {style} {seed} --adapter {adapter}", file=out)
        for name, severity, count, says in wrong:
            key = (fault, style, name)
            if key not in seen:
                seen.add(key)
                print(f"false {severity} {name}: {says}; faults.py {fault} {style} {seed} --adapter {adapter}", file=out)


def healthy(program, hours, styles, pool, out):
    """Simulated sound hours of each style: false dangers and faults, and what their number proves."""
    rows, whole = collections.OrderedDict(), 0
    for style in styles:
        count = max(1, round(hours * 3600 / SOUND_S))
        made = [(program, "none", style, ("16ms", "1ms")[n % 2], 900_000 + n, SOUND_S) for n in range(count)]
        for jitter, adapter, wrong in pool.map(judge_sound, made, chunksize=2):
            for key in (style, f"jitter {jitter / 1000:.1f} ms, {adapter}", "all"):
                tally = rows.setdefault(key, collections.Counter())
                tally["drives"] += 1
                for name, severity, times in wrong:
                    tally[severity] += times
                    tally["id " + name] += times
                    whole += severity in ("danger", "fault")
    print(f"{'sound drives':22} {'hours':>7} {'dangers':>8} {'faults':>7} {'doubts':>7} {'notes':>6}  dangers and faults an hour", file=out)
    for key in [*styles, *sorted(key for key in rows if key.startswith("jitter")), "all"]:
        print(sound_row(key, rows[key]), file=out)
    return whole


def sound_row(key, tally):
    """One row: what was counted, and what it proves."""
    span, events = tally["drives"] * SOUND_S / 3600, tally["danger"] + tally["fault"]
    bound = f"0 seen: at most 3/{span:.1f} = {3 / span:.2f} (95 %)"
    if events:
        bound = f"{events / span:.1f} seen, at most {upper(events) / span:.1f} (95 %)"
    named = " ".join(f"{name[3:]}:{times}" for name, times in sorted(tally.items()) if name.startswith("id "))
    return f"{key:22} {span:7.1f} {tally['danger']:8} {tally['fault']:7} {tally['doubt']:7} {tally['note']:6}  {bound}  {named}"


def upper(events):
    """95 % upper bound of a Poisson mean after so many events, by bisection; 0 events give 3.0."""
    low, high = float(events), events + 10.0 + 5 * events**0.5
    for _ in range(60):
        middle = (low + high) / 2
        total = sum(math.exp(k * math.log(middle) - middle - math.lgamma(k + 1)) for k in range(events + 1))
        low, high = (middle, high) if total > 0.05 else (low, middle)
    return high


def main(arguments):
    """Exit code 1 when anything was missed, vague, miscounted or false."""
    reader = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    reader.add_argument("program")
    reader.add_argument("--seeds", type=int, default=1, help="how many seeds a case; 1 is the quick form")
    reader.add_argument("--first", type=int, default=1, help="the first seed")
    reader.add_argument("--fault", action="append", choices=list(faults.FAULTS))
    reader.add_argument("--style", action="append", choices=list(links.STYLES))
    reader.add_argument("--healthy", type=float, metavar="HOURS", help="instead: so many sound hours of each style")
    reader.add_argument("--details", action="store_true", help="also what was missed or false, and the command that makes it")
    reader.add_argument("--jobs", type=int, default=2)
    reader.add_argument("--part", type=int, default=1, metavar="N", help="only each Nth case; 1 is all of them")
    reader.add_argument("--ledger", type=pathlib.Path, help="hold each case against what is written down; exit code 1 where it differs")
    reader.add_argument("--write", action="store_true", help="write the ledger anew; needs all cases")
    told = reader.parse_args(arguments)
    links.golden()
    with concurrent.futures.ProcessPoolExecutor(told.jobs) as pool:
        if told.healthy:
            return 1 if healthy(told.program, told.healthy, told.style or links.STYLES, pool, sys.stdout) else 0
        seeds = range(told.first, told.first + told.seeds)
        every = list(tasks(told.program, seeds, told.fault, told.style))[::told.part]
        results = list(pool.map(judge, every, chunksize=4))
    whole = table(results, sys.stdout)
    if told.details:
        details(results, sys.stdout)
    if told.ledger:
        found = {task[1:4]: ledger.line_of(outcome_of_case(outcomes), wrong) for task, _, outcomes, wrong in results}
        if told.write:
            told.ledger.write_text(ledger.written(found, told.ledger.read_text()))
        wrong = ledger.differences(found, told.ledger.read_text())
        print("\n".join(wrong) if wrong else f"{len(found)} cases are as {told.ledger.name} has them")
        return 1 if wrong else 0
    return 1 if any(whole[word] for word in ("count", "vague", "missed", "false", "notes")) else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
