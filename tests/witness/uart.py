"""One byte after another, bit by bit: what a receiver at another rate makes of it.

8N1: line high at rest, start bit low, eight bits lowest first, stop bit high. The receiver looks 16 times a bit, finds the
falling edge, and reads each bit in its middle. A byte with a low stop bit is still handed over, as most adapters do.
"""


def levels(data):
    """The bits of a burst on the line."""
    out = []
    for byte in data:
        out.append(0)
        out.extend((byte >> bit) & 1 for bit in range(8))
        out.append(1)
    return out


def heard(data, sent_rate, tap_rate, phase):
    """(microseconds after the burst's begin when it was whole, byte) of each byte heard. `phase` from 0 up to 1."""
    line = levels(data)
    sent_us, bit_us = 1e6 / sent_rate, 1e6 / tap_rate
    end_us, look_us = len(line) * sent_us, bit_us / 16
    near = abs(sent_rate / tap_rate - 1) < 0.08

    def level(t):
        place = int(t / sent_us)
        return line[place] if 0 <= place < len(line) else 1

    out, now = [], phase * look_us
    while now < end_us:
        if level(now):
            edge = next((place for place in range(int(now / sent_us), len(line)) if not line[place]), None)
            if edge is None:
                break
            now += look_us * max(1, -int(-(edge * sent_us - now) // look_us))
            continue
        if level(now + bit_us / 2):
            now += look_us
            continue
        byte = sum(level(now + bit_us * (1.5 + bit)) << bit for bit in range(8))
        now += bit_us * 9.5
        out.append((now, byte))
        if near and byte:
            continue  # a low stop bit is taken for the next start bit, as the common controllers do
        while not level(now) and now < end_us:
            now += look_us
    return out


class Ear:
    """Hears bursts at a wrong rate; the same burst at the same phase sounds the same."""

    def __init__(self, sent_rate, tap_rate, chance):
        self.sent_rate, self.tap_rate, self.chance, self.known = sent_rate, tap_rate, chance, {}

    def bursts(self, bursts):
        """Each byte heard becomes a burst of one byte at the tap's own byte time. The sent rate may follow the time."""
        out, byte_us, free = [], 10e6 / self.tap_rate, 0.0
        for begin, data in bursts:
            phase, rate = self.chance.whole(0, 7), self.sent_rate(begin)
            key = (data, phase, rate)
            if key not in self.known:
                self.known[key] = heard(data, rate, self.tap_rate, phase / 8)
            for offset, byte in self.known[key]:
                start = max(free, begin + offset - byte_us)
                out.append((start, bytes([byte])))
                free = start + byte_us
        return out
