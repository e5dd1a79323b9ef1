"""Chance by a seed: splitmix64, written out here so that a stream is the same under every Python version.

The reference values in golden.py are those printed in the tests of the general-purpose library rand_xoshiro, which
says they were made with the reference implementation of splitmix64.
"""

TOP = (1 << 64) - 1


class Chance:
    """One seeded sequence of 64-bit words and what is drawn from it."""

    def __init__(self, seed):
        self.state = seed & TOP

    def word(self):
        """The next 64-bit word."""
        self.state = (self.state + 0x9E3779B97F4A7C15) & TOP
        z = self.state
        z = ((z ^ (z >> 30)) * 0xBF58476D1CE4E5B9) & TOP
        z = ((z ^ (z >> 27)) * 0x94D049BB133111EB) & TOP
        return z ^ (z >> 31)

    def below(self, count):
        """A whole number from 0 to count - 1, each equally likely (words of the uneven last part are thrown away)."""
        even = (1 << 64) // count * count
        while True:
            word = self.word()
            if word < even:
                return word % count

    def between(self, low, high):
        """A whole number from low to high, both included."""
        return low + self.below(high - low + 1)

    def hits(self, part):
        """True with probability `part`, which is 0.0 to 1.0."""
        return self.word() < int(part * (1 << 64))

    def one_of(self, things):
        """One of a list, each equally likely."""
        return things[self.below(len(things))]
