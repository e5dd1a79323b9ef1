"""A second, independent source of faulted drives: `faults.py FAULT STYLE SEED` writes a plain log and its truth.

Nothing here was taken from the program's own sources. See `README.md` beside this file.
"""

import argparse
import json
import pathlib
import sys

sys.dont_write_bytecode = True

import fault_board
import fault_rover
import fault_sender
import fault_tap
import fault_wire
import links
from case import Case

EVEN = fault_sender.EVEN
ALL = links.STYLES
DEADLINES = ("letter-line", "cue-line", "stave", "bead")
COUNTED = tuple(links.COUNTED)

# name: (what makes it, the styles on which it can exist)
FAULTS = {
    "none": (fault_sender.healthy, ALL),
    "change-only": (fault_sender.change_only, ("ladder",)),
    "wire-cut": (fault_wire.wire_cut, ALL),
    "board-hung": (fault_sender.board_hung, ALL),
    "radio-stall": (fault_sender.radio_stall, EVEN),
    "send-on-change": (fault_sender.send_on_change, DEADLINES),
    "late-orders": (fault_rover.late_orders, EVEN),
    "reset-supply": (fault_sender.reset_supply, ALL),
    "reset-watchdog": (fault_sender.reset_watchdog, ALL),
    "boot-loop": (fault_rover.boot_loop, ALL),
    "leap": (fault_rover.leap, EVEN),
    "drive-reset": (fault_board.drive_reset, links.TWO_WIRES),
    "drive-mute": (fault_board.drive_mute, links.TWO_WIRES),
    "answers-stop": (fault_board.answers_stop, links.TWO_WIRES),
    "answers-growing": (fault_board.answers_growing, links.ANSWERED),
    "answers-second": (fault_board.answers_second, links.ANSWERED),
    "noise": (fault_wire.noise, ALL),
    "noise-with-duty": (fault_wire.noise_with_duty, ALL),
    "wrong-rate": (fault_wire.wrong_rate, ALL),
    "clock": (fault_wire.clock, ALL),
    "lost-release": (fault_sender.lost_release, ("plain-line",)),
    "sent-twice": (fault_sender.sent_twice, ALL),
    "flood": (fault_sender.flood, ("plain-line", "letter-line", "cue-line")),
    "two-panels": (fault_sender.two_panels, EVEN),
    "sequence-gap": (fault_sender.sequence_gap, COUNTED),
    "panel-order": (fault_sender.panel_order, ("cue-line",)),
    "carriage-return": (fault_wire.carriage_return, links.TEXT),
    "no-end-mark": (fault_wire.no_end_mark, links.TEXT),
    "text-between": (fault_wire.text_between, ALL),
    "tap-asleep": (fault_tap.tap_asleep, ALL),
    "asleep-bare": (fault_tap.asleep_bare, ALL),
    "adapter-grid": (fault_tap.adapter_grid, ALL),
    "creep": (fault_sender.creep, ("cue-line", "stave", "bead", "ladder")),
    "out-of-range": (fault_sender.out_of_range, ALL),
    "wheel-reversed": (fault_rover.wheel_reversed, ("cue-line", "bead")),
    "low-volts": (fault_rover.low_volts, ("cue-line",)),
}

BARE = ("adapter-grid", "asleep-bare")  # logs without `e_us`


def adapters(fault):
    """The adapters a fault is seen through."""
    return ("16ms-bare",) if fault in BARE else ("16ms", "1ms")


def seconds_of(seed, fault):
    """How long the drive is: 60 to 300 s, short where every bit is worked out."""
    if fault == "wheel-reversed":
        return 150
    return 60 if fault in ("wrong-rate", "clock") else (75, 60, 120, 90, 300, 100, 180)[seed % 7]


def make(fault, style, adapter, seed, seconds=None):
    """(log lines, truth as a dictionary) of one case."""
    maker, _ = FAULTS[fault]
    case = Case(fault, style, adapter, seed, seconds or seconds_of(seed, fault))
    maker(case)
    return case.log(), case.truth.as_json()


def main(arguments):
    """Writes FAULT-STYLE-ADAPTER-SEED.jsonl and .truth.json into a folder."""
    reader = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    reader.add_argument("fault", choices=list(FAULTS))
    reader.add_argument("style", choices=list(ALL))
    reader.add_argument("seed", type=int)
    reader.add_argument("--adapter", default="16ms", choices=["16ms", "1ms", "16ms-bare"])
    reader.add_argument("--seconds", type=int)
    reader.add_argument("--out", default=".", type=pathlib.Path)
    told = reader.parse_args(arguments)
    if told.style not in FAULTS[told.fault][1]:
        reader.error(f"{told.fault} cannot exist on {told.style}; it can on {', '.join(FAULTS[told.fault][1])}")
    log, truth = make(told.fault, told.style, told.adapter, told.seed, told.seconds)
    stem = told.out / f"{told.fault}-{told.style}-{told.adapter}-{told.seed}"
    stem.with_suffix(".jsonl").write_text("\n".join(log) + "\n")
    stem.with_suffix(".truth.json").write_text(json.dumps(truth, indent=1) + "\n")
    print(f"{stem}.jsonl and {stem}.truth.json")


if __name__ == "__main__":
    main(sys.argv[1:])
