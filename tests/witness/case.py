"""One case: a fault, a style, an adapter and a seed. It makes the drive, its log and its truth."""

import links
import tap
from chance import Chance
from rover import Drive
from truth import Truth
from uart import Ear


class Case:
    """What a fault works on. `drive` is made by the fault, with the person it needs."""

    def __init__(self, fault, style, adapter, seed, seconds):
        self.fault, self.style, self.adapter, self.seed, self.seconds = fault, style, tap.ADAPTERS[adapter], seed, seconds
        self.chance = Chance(seed).branch(fault).branch(style)
        self.drive, self.truth, self.asleep = None, None, []
        self.tap_rate = links.RATE[style]
        self.sent_rate = {}  # wire: rate over time, where it is not the tap's

    def begin(self, **person):
        """The drive and an empty truth."""
        seed = self.chance.branch("drive").word()
        self.drive = Drive(self.style, seed, self.seconds, **person)
        self.truth = Truth(self.fault, self.drive, self.seed, self.adapter.name)
        return self.drive, self.truth, self.chance

    def whole(self):
        """Plan, send and answer, for faults that need nothing in between."""
        self.drive.plan()
        self.drive.send()
        self.drive.answer()

    def long_legs(self, seconds, most):
        """Up to `most` legs of at least this length, in order of time, none of them the first or the last."""
        legs = self.drive.person.legs[1:-1]
        fit = [leg for leg in legs if leg.end_us - leg.begin_us >= seconds * 1e6] or legs[:1]
        while len(fit) > most:
            fit.remove(self.chance.pick(fit))
        return fit

    def log(self):
        """The lines of the plain log."""
        chance = Chance(self.seed).branch("tap").branch(self.adapter.name)
        stalls = sorted(self.asleep + [stall for stall in tap.host_stalls(chance, self.drive.end_us) if not self.sleeps(stall)])
        wires = self.drive.wires()
        for wire, rate in self.sent_rate.items():
            if wire in wires:
                wires[wire] = Ear(rate, self.tap_rate, chance.branch(wire)).bursts(wires[wire])
        return tap.log_lines(wires, self.tap_rate, self.adapter, stalls, chance)

    def sleeps(self, stall):
        """True when a short stall falls into a long sleep."""
        return any(begin - 100_000 < stall[1] and stall[0] < end + 100_000 for begin, end in self.asleep)
