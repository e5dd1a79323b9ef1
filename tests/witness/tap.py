"""The tap: one receive-only adapter a wire, and one reader that stamps what it gets.

The adapter ships when it has 62 bytes or when its timer runs out; the timer counts from the last time it sent and starts
again when it runs out empty. Then up to one USB frame of 1 ms, then the reader's wake-up. The reader looks every 4 ms and
remembers when it last found nothing. While the reader sleeps nothing is lost: it all comes in one read with an old `e_us`.
"""

import json

FULL = 62
USB_US = 1000
LOOK_US = 4100
ONE_READ = 4096


class Adapter:
    """How long its timer is, in microseconds, and whether the log says when the buffer was last empty."""

    def __init__(self, name, latency_us, says_empty=True):
        self.name, self.latency_us, self.says_empty = name, latency_us, says_empty


ADAPTERS = {"16ms": Adapter("16ms", 16_000), "1ms": Adapter("1ms", 1_000), "16ms-bare": Adapter("16ms-bare", 16_000, False)}


def packets(done, adapter, chance):
    """(time at the host, first byte, end byte) of each packet; `done` is when each byte was whole, ascending."""
    out, first, count = [], 0, len(done)
    timer = -chance.between(0, adapter.latency_us)
    usb = chance.between(0, USB_US)
    while first < count:
        if done[first] > timer + adapter.latency_us:
            empty = int((done[first] - timer) // adapter.latency_us)
            timer += empty * adapter.latency_us
        due = timer + adapter.latency_us
        end = first
        while end < count and end - first < FULL and done[end] <= due:
            end += 1
        if end - first == FULL:
            due = max(done[end - 1], timer)
        timer = due
        if end == first:
            continue
        at_host = due + (USB_US - (due - usb) % USB_US)
        out.append((at_host, first, end))
        first = end
    return out


def asleep_until(stalls, t):
    """When the reader can run at the earliest."""
    for begin, end in stalls:
        if begin <= t < end:
            return end
    return t


def last_look(stalls, since, t):
    """The last empty look after `since` and before `t`, when the next bytes reached the computer."""
    for begin, end in stalls:
        if begin < t <= end + 1 and begin >= since:
            t = begin
    looks = int((t - since - 1) // LOOK_US)
    return since + max(0, looks) * LOOK_US


def reads(bursts, byte_us, adapter, stalls, chance):
    """(t_us, e_us, bytes) of each read of one wire."""
    done, data = [], bytearray()
    for begin, text in bursts:
        done.extend(begin + (place + 1) * byte_us for place in range(len(text)))
        data += text
    out, looked, waiting = [], 0.0, packets(done, adapter, chance)
    place = 0
    while place < len(waiting):
        t = asleep_until(stalls, waiting[place][0] + min(3000, 60 + 50 / max(0.02, chance.unit())))
        t = max(t, looked + 20)
        end = place
        while end < len(waiting) and waiting[end][0] <= t:
            end += 1
        first, last = waiting[place][1], waiting[end - 1][2]
        empty = last_look(stalls, looked, max(looked + 2, waiting[place][0]))
        for start in range(first, last, ONE_READ):
            out.append((int(t), int(empty), bytes(data[start:min(last, start + ONE_READ)])))
            t += 30
        looked, place = out[-1][0], end
    return out


def host_stalls(chance, end_us, rate_hz=0.1):
    """The computer now and then does something else for 20 to 60 ms."""
    out, now = [], 0.0
    while True:
        now += chance.between(0.2, 2.0) * 1e6 / rate_hz
        if now > end_us:
            return out
        out.append((now, now + chance.between(20_000, 60_000)))


def log_lines(wires, rate, adapter, stalls, chance):
    """The plain log as lines of JSON. `wires` has for each wire its bursts: (time of the first start bit in us, bytes)."""
    rows = []
    for wire, bursts in wires.items():
        got = reads(bursts, 10e6 / rate, adapter, stalls, chance.branch(wire))
        rows.extend((t, empty, wire, data) for t, empty, data in got)
    rows.sort(key=lambda row: (row[0], row[2]))
    lines = [json.dumps({"latency_us": adapter.latency_us, "rate": rate})]
    for t, empty, wire, data in rows:
        row = {"t_us": t, "wire": wire, "hex": data.hex()}
        if adapter.says_empty:
            row["e_us"] = empty
        lines.append(json.dumps(row))
    return lines
