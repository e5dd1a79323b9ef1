"""An invented person with a control panel: moves with rests between, and what the stick says at any time."""

from links import LETTERS, PLAIN_WAYS

STRAIGHT = [(1, 0, 0), (-1, 0, 0), (0, 1, 0), (0, -1, 0), (0, 0, 1), (0, 0, -1)]
SLANTED = [(1, 1, 0), (1, -1, 0), (-1, 1, 0), (-1, -1, 0)]
STEP_US = 50_000


class Leg:
    """One move from press to release: where to, how far the stick goes (per cent), and when."""

    def __init__(self, begin_us, end_us, way, size):
        self.begin_us, self.end_us, self.way, self.size = begin_us, end_us, way, size


class Person:
    """Legs of a few seconds; the stick rises in a fifth of a second and never flips from one side to the other."""

    def __init__(self, chance, seconds, style, leg_s=(1.2, 6.0), rest_s=(0.8, 3.0), wobble="often", top=(35, 80)):
        self.chance, self.wobble_kind = chance, wobble
        self.end_us = int(seconds * 1e6)
        self.slow = 220_000
        ways = STRAIGHT + (SLANTED if style != "letter-line" else [])
        self.legs, now, before = [], chance.between(0.6, 1.6), None
        while now + leg_s[1] + 2.5 < seconds:
            way = chance.pick([w for w in ways if w != before])
            length = chance.between(*leg_s)
            self.legs.append(Leg(int(now * 1e6), int((now + length) * 1e6), way, chance.whole(*top)))
            now, before = now + length + chance.between(*rest_s), way
        self.wobbles = {}

    def leg_at(self, t_us):
        """The leg in force, or none."""
        low, high = 0, len(self.legs)
        while low < high:
            middle = (low + high) // 2
            if self.legs[middle].end_us <= t_us:
                low = middle + 1
            else:
                high = middle
        if low < len(self.legs) and self.legs[low].begin_us <= t_us:
            return self.legs[low]
        return None

    def stick(self, t_us):
        """f, s, t in per cent at this time; all zero at rest."""
        leg = self.leg_at(t_us)
        if leg is None:
            return (0, 0, 0)
        up = min(1.0, (t_us - leg.begin_us + 20_000) / self.slow)
        down = min(1.0, (leg.end_us - t_us) / 120_000)
        size = leg.size * min(up, down)
        wobble = self.wobble(t_us, leg) if up == 1.0 and down == 1.0 else (0, 0)
        value = [int(axis * size) for axis in leg.way]
        main = max(range(3), key=lambda axis: abs(leg.way[axis]))
        value[main] += wobble[0]
        if leg.way[2] == 0:
            value[2] += wobble[1]
        return tuple(max(-100, min(100, v)) for v in value)

    def wobble(self, t_us, leg):
        """A hand is never still: small changes, even about zero. `steps` keeps still for up to 1.6 s, then changes."""
        if self.wobble_kind == "none":
            return (0, 0)
        if self.wobble_kind == "steps":
            return self.stepped(t_us, leg)
        place = t_us // 150_000
        if place not in self.wobbles:
            self.wobbles[place] = (self.chance.whole(-2, 2), self.chance.whole(-3, 3))
        return self.wobbles[place]

    def stepped(self, t_us, leg):
        """The last of a row of steps made for this leg."""
        if leg not in self.wobbles:
            row, now = [], leg.begin_us
            while now < leg.end_us:
                row.append((now, (self.chance.whole(-9, 9), self.chance.whole(-9, 9))))
                now += int(self.chance.between(0.12, 1.6) * 1e6)
            self.wobbles[leg] = row
        return [step for since, step in self.wobbles[leg] if since <= t_us][-1]

    def moving(self, t_us):
        """True from press to release."""
        return self.leg_at(t_us) is not None

    def long_legs(self, seconds):
        """Legs of at least this length."""
        return [leg for leg in self.legs if leg.end_us - leg.begin_us >= seconds * 1e6]


def plain_word(way):
    """The plain line's word for a way."""
    return PLAIN_WAYS[way]


def letter(way):
    """The letter line's letter for a way."""
    return LETTERS[way]
