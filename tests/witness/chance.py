"""Chance from a seed: the same seed gives the same numbers on every machine.

The generator is SplitMix64 (Steele, Lea, Flood: Fast Splittable Pseudorandom Number Generators, 2014).
"""

WORD = (1 << 64) - 1


class Chance:
    """Numbers from a seed; `branch` gives a second, unrelated row of numbers by name."""

    def __init__(self, seed):
        self.state = seed & WORD

    def word(self):
        """The next 64 bits."""
        self.state = (self.state + 0x9E3779B97F4A7C15) & WORD
        z = self.state
        z = ((z ^ (z >> 30)) * 0xBF58476D1CE4E5B9) & WORD
        z = ((z ^ (z >> 27)) * 0x94D049BB133111EB) & WORD
        return z ^ (z >> 31)

    def branch(self, name):
        """A generator of its own, by name; drawing from it moves no other."""
        mixed = self.state
        for letter in name.encode():
            mixed = ((mixed ^ letter) * 0x100000001B3) & WORD
        return Chance(mixed)

    def unit(self):
        """From 0 up to, and without, 1."""
        return (self.word() >> 11) / (1 << 53)

    def between(self, low, high):
        """A number from low to high."""
        return low + (high - low) * self.unit()

    def whole(self, low, high):
        """A whole number from low to high, both possible."""
        return low + self.word() % (high - low + 1)

    def pick(self, things):
        """One of the things."""
        return things[self.word() % len(things)]

    def happens(self, share):
        """True in this share of the cases."""
        return self.unit() < share

    def bell(self, sigma, widest=3.0):
        """Near zero, spread sigma, never beyond `widest` sigmas (sum of twelve even draws)."""
        while True:
            z = sum(self.unit() for _ in range(12)) - 6.0
            if abs(z) <= widest:
                return z * sigma
