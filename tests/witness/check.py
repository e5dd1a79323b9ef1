"""The witness held against itself: golden frames, the same seed twice, and the law of the tap.

The law: a byte was whole on the wire no later than its read says, and no earlier than the last empty look less the adapter's
timer and one USB frame. A log that broke it would accuse a program that is right.
"""

import hashlib
import sys

sys.dont_write_bytecode = True

import faults
import ledger
import links
import tap
from case import Case
from chance import Chance


def law(style, fault, adapter, seed):
    """How many bytes were held against the law; raises at the first that breaks it."""
    case = Case(fault, style, adapter, seed, 60)
    faults.FAULTS[fault][0](case)
    chance, count = Chance(seed).branch("tap"), 0
    stalls = sorted(case.asleep) or tap.host_stalls(chance, case.drive.end_us)
    for wire, bursts in case.drive.wires().items():
        byte_us = 10e6 / case.tap_rate
        done = [begin + (place + 1) * byte_us for begin, data in bursts for place in range(len(data))]
        heard = b"".join(data for _, data in bursts)
        got = tap.reads(bursts, byte_us, case.adapter, stalls, chance.branch(wire))
        if b"".join(data for _, _, data in got) != heard:
            raise AssertionError(f"{fault} {style} {adapter} {seed} {wire}: the tap lost or made bytes")
        place = 0
        for t, empty, data in got:
            first, last = done[place], done[place + len(data) - 1]
            place += len(data)
            if last > t + 1 or first < empty - case.adapter.latency_us - tap.USB_US - 1 or empty > t:
                raise AssertionError(f"{fault} {style} {adapter} {seed} {wire} read at {t}: bytes {first:.0f} to {last:.0f}, empty {empty}")
        count += place
    return count


def overlaps(style, fault, seed):
    """Bursts on one wire never overlap."""
    case = Case(fault, style, "1ms", seed, 60)
    faults.FAULTS[fault][0](case)
    for wire, bursts in case.drive.wires().items():
        free = 0.0
        for begin, data in bursts:
            if begin < free - 0.001:
                raise AssertionError(f"{fault} {style} {seed} {wire}: bytes overlap at {begin:.0f}")
            free = begin + len(data) * case.drive.byte_us


def same(style, fault, seed):
    """The same seed gives the same log."""
    made = [hashlib.sha256("\n".join(faults.make(fault, style, "16ms", seed, 60)[0]).encode()).hexdigest() for _ in range(2)]
    if made[0] != made[1]:
        raise AssertionError(f"{fault} {style} {seed}: two logs from one seed")


def main():
    """Checks every fault on every style."""
    ledger.check()
    frames, counted, cases = links.golden(), 0, 0
    for fault, (_, styles) in faults.FAULTS.items():
        for style in styles:
            for adapter in ("16ms", "1ms"):
                counted += law(style, fault, adapter, 11)
            overlaps(style, fault, 11)
            if fault not in ("wrong-rate", "clock"):
                same(style, fault, 11)
            cases += 1
    print(f"{frames} golden frames right; {counted} bytes of {cases} drives, twice, keep the law of the tap; seeds repeat")


if __name__ == "__main__":
    main()
