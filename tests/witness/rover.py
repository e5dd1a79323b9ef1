"""One drive with one link style: person, panel, command board, wire and drive board, before any fault.

A fault takes this apart in named places: the person, `orders`, `down` (what stands on the wire to the drive board), the drive
board's habits, and the tap. All times are microseconds from the beginning of the log.
"""

import links
from chance import Chance
from driving import STEP_US, Person, letter, plain_word

DEADLINE_MS = 300
REST = (0, 0, 0)


class Order:
    """One order as the command board sends it."""

    def __init__(self, t, vec, seq=0, panel=0):
        self.t, self.vec, self.seq, self.panel = t, vec, seq, panel
        self.gear, self.text, self.sent = 2, None, b""
        self.glued = self.wild = False

    def moves(self):
        """Any wheel ordered to turn."""
        return any(self.vec)


class Drive:
    """Everything of one drive. The parts are made in the order of the methods."""

    def __init__(self, style, seed, seconds, **person):
        self.style, self.seconds, self.chance = style, seconds, Chance(seed).branch(style)
        self.rate = links.RATE[style]
        self.byte_us = 10e6 / self.rate
        self.person = Person(self.chance.branch("person"), seconds, style, **person)
        self.end_us = int(seconds * 1e6)
        self.period = 50_000
        if style == "stave" and self.chance.happens(0.5):
            self.period = 20_000
        self.sigma = self.chance.pick([300, 1000, 2000])
        self.relay = self.chance.happens(0.5)
        self.orders, self.down, self.up = [], [], []
        self.service = lambda order, end: end + 2100 + self.chance.bell(120)
        self.deaf = []  # spans in which the drive board does not answer
        self.hello = []  # (time, reason) of its starts
        self.start_text, self.volts = False, 118

    # --- the command board -------------------------------------------------------------------------------------------

    def plan(self, on_change=None):
        """Fills `orders`: evenly, or on each change of the stick, as the style has it."""
        if on_change is None:
            on_change = self.style == "plain-line"
        if self.style == "plain-line":
            self.plan_plain()
        elif on_change:
            self.plan_on_change()
        else:
            self.plan_evenly()
        self.number()

    def plan_evenly(self):
        """One order each period, with the jitter of a small board."""
        first, count = self.chance.between(20_000, 70_000), int(self.end_us // self.period) - 2
        clock = 1 + self.chance.between(-50e-6, 50e-6)
        for step in range(count):
            t = first + step * self.period * clock + self.chance.bell(self.sigma)
            self.orders.append(Order(t, self.stick(t)))

    def plan_on_change(self):
        """One order each time the stick has changed, at most twenty a second."""
        last = None
        for step in range(1, int(self.end_us // STEP_US) - 2):
            t = step * STEP_US + self.chance.bell(300)
            order = Order(t, self.stick(t))
            said = order.vec if self.style != "ladder" else links.wheels(*order.vec, order.gear)
            if said != last:
                self.orders.append(order)
                last = said

    def stick(self, t):
        """The person's stick as this style can say it."""
        if self.style != "letter-line":
            return self.person.stick(t)
        leg = self.person.leg_at(t)
        return REST if leg is None else tuple(axis * leg.size for axis in leg.way)

    def plan_plain(self):
        """A press sends the way, now and then a pace before it; the release sends rest."""
        for leg in self.person.legs:
            if self.chance.happens(0.4):
                self.word(leg.begin_us - 30_000 - self.chance.whole(0, 200_000), f"pace,{self.chance.whole(90, 255)}")
            self.word(leg.begin_us, f"way,{plain_word(leg.way)}", leg.way)
            if self.chance.happens(0.15):
                self.word((leg.begin_us + leg.end_us) / 2, f"lamp,{self.chance.whole(0, 255)}")
            self.word(leg.end_us, "way,rest", REST)

    def word(self, t, text, vec=None):
        """A line of the plain line."""
        order = Order(t, vec)
        order.text = text
        self.orders.append(order)

    def number(self):
        """Sequence and the panel's counter: each order is a new message, or the board repeats the last one once."""
        first, panel = self.chance.whole(0, 999), self.chance.whole(0, 99)
        counts = links.COUNTED.get(self.style, 1)
        for place, order in enumerate(self.orders):
            order.seq = (first + place) % counts
            order.panel = (panel + (place if self.relay else place // 2)) % 100

    # --- the wire to the drive board ---------------------------------------------------------------------------------

    def encode(self, order):
        """The bytes of one order."""
        style = self.style
        if style == "plain-line":
            return order.text.encode() + b"\n"
        if style == "letter-line":
            way = tuple((v > 0) - (v < 0) for v in order.vec)
            return links.lettered("D", letter(way), max(abs(v) for v in order.vec))
        if style == "cue-line":
            return links.cue(order.seq, order.panel, order.vec, order.gear, DEADLINE_MS)
        if style == "stave":
            return links.stave_duties(0xF1, order.seq, links.wheels(*order.vec, order.gear), DEADLINE_MS, order.gear)
        if style == "bead":
            return links.bead(order.seq, order.vec, DEADLINE_MS)
        return links.ladder(links.wheels(*order.vec, order.gear))

    def send(self):
        """Fills `down`: (time, bytes, order)."""
        self.orders.sort(key=lambda order: order.t)
        self.down = []
        for order in self.orders:
            order.sent = order.sent or self.encode(order)
            self.down.append([order.t, order.sent, order])
        if self.start_text:
            self.down.insert(0, [2_000.0, b"\0\xf8" + self.boot_text("power").rstrip(b"\r\n") + b"\r\n", None])
        self.pack()

    def pack(self):
        """One byte after another: nothing on a wire overlaps."""
        self.down.sort(key=lambda burst: burst[0])
        free = 0.0
        for burst in self.down:
            burst[0] = max(burst[0], free)
            free = burst[0] + len(burst[1]) * self.byte_us

    def boot_text(self, reason):
        """What this rover's command board prints when it starts, up to the text that may stand glued to its first order."""
        if self.style == "letter-line":
            return f"#boot cmd rst={ {'power': 'P', 'sag': 'B', 'dog': 'W'}[reason]}\n".encode()
        code = {"power": 0x01, "sag": 0x0F, "dog": 0x08}[reason]
        return f"GC2 rom 1.4 rst=0x{code:02X}({reason}) strap=0b10110\r\nload @3F40 len 6144 ok\r\n".encode()

    # --- the drive board ---------------------------------------------------------------------------------------------

    def answer(self):
        """Fills `up` with what the drive board says to what arrived."""
        if self.style == "letter-line":
            self.report_state()
        elif self.style in links.ANSWERED:
            self.answer_each()
        self.up.sort(key=lambda burst: burst[0])
        free = 0.0
        for burst in self.up:
            burst[0] = max(burst[0], free)
            free = burst[0] + len(burst[1]) * self.byte_us

    def arrivals(self):
        """(end, bytes, order) of each order that reached the drive board while it listened."""
        for begin, data, order in self.down:
            end = begin + len(data) * self.byte_us
            if order is not None and not any(since <= end < until for since, until in self.deaf):
                yield end, data, order

    def answer_each(self):
        """One answer an order; the cue line also tells of each deadline that ran out."""
        heard = list(self.arrivals())
        for place, (end, data, order) in enumerate(heard):
            whole = data == order.sent and not (order.glued and self.style == "cue-line")
            at = self.service(order, end)
            if at is not None:
                self.up.append([at, self.reply(order, whole, data), None])
            after = heard[place + 1][0] if place + 1 < len(heard) else end
            if self.style == "cue-line" and whole and order.moves() and after - end > DEADLINE_MS * 1000 + 1500:
                obeyed = end if at is None else at - 2100
                self.up.append([obeyed + DEADLINE_MS * 1000 + 1000, links.cue_lapsed(order.seq), None])
        for at, reason in self.hello:
            text = links.cue_up("1.3", reason)
            self.up.append([at, text if self.style == "cue-line" else links.stave(0xF4, 0, [1, 4, 0, 0], 0, 0), None])

    def reply(self, order, whole, data):
        """`got` or `nay` with the volts, or the wheels' duties."""
        duties = links.wheels(*order.vec, order.gear)
        if self.style == "stave":
            return links.stave_duties(0xF3, order.seq, [d if whole else 0 for d in duties], DEADLINE_MS, order.gear)
        volts = self.volts - int(sum(abs(d) for d in duties) / 400 * 5) - int(order.t / self.end_us * 3)
        if whole:
            return links.cue_answer(order.seq, "got", volts, 0)
        return links.cue_answer(order.seq, "nay", volts, 2 if order.glued or not data.startswith(b"c") else 1)

    def report_state(self):
        """The letter line's drive board says each 100 ms what is in force; 300 ms after the last order that is rest."""
        heard, place, state, since = list(self.arrivals()), 0, (b"N", b"0"), -1e9
        at = self.chance.between(10_000, 90_000)
        while at < self.end_us - 100_000:
            while place < len(heard) and heard[place][0] <= at:
                if heard[place][1] == heard[place][2].sent and not heard[place][2].wild:
                    state, since = heard[place][1][2:].split(b"*")[0].split(b","), heard[place][0]
                place += 1
            if at - since > DEADLINE_MS * 1000:
                state = (b"N", b"0")
            if not any(begin <= at < end for begin, end in self.deaf):
                self.up.append([at, links.lettered("S", state[0].decode(), state[1].decode()), None])
            at += 100_000 + self.chance.bell(200)
        for at, reason in self.hello:
            code = {"sag": "B", "dog": "W", "power": "P"}[reason]
            self.up.append([at, f"#boot drive rst={code}\n".encode(), None])

    def wires(self):
        """The bursts of each wire, for the tap."""
        out = {">": [(begin, data) for begin, data, _ in self.down]}
        if self.style in links.TWO_WIRES:
            out["<"] = [(begin, data) for begin, data, _ in self.up]
        return out
