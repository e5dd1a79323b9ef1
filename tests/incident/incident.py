"""The evening of the Moonwagon, as a plain log with its ground truth.

    python3 tests/incident/incident.py > logs/moonwagon-evening.jsonl
    python3 tests/incident/incident.py --truth > tests/incident/truth.json

The wagon, its boards and the evening are invented. Three faults overlap, and two decoys:

  wheel   the plug of one motor is reversed; the operator steers against it
  timing  the command board sends only when something changes, against a deadline of 300 ms
  power   two hard starts in gear 3 reset the command board; the gear comes back as 3
  radio   three times the radio is lost for 412 ms (decoy)
  grid    the tap's adapter hands bytes over every 16 ms (decoy)

This script shares no code with wheeltap. It makes each line from the format of the cue line: decimal fields of fixed
width and a CRC-16 (polynomial 0x1021, start 0x5A17, not reflected) over everything before `#`.

Options: --wheel FL|FR|RL|RR, --mirror (left and right exchanged), --holds N (lapses by the timing fault in scenes that
are not fixed), --seed N, --until SECONDS, --without FAULT[,FAULT]. Standard library only.
"""

import argparse
import json
import random

SECOND = 1_000_000  # all times are whole microseconds since 19:46:00
BYTE = 10 * SECOND / 115200
DEADLINE = 300_000
# How the operator must steer on forward and on left when this wheel pushes the wrong way.
STEERS = {"FL": (-1, 1), "FR": (1, 1), "RL": (-1, -1), "RR": (1, -1)}
GEARS = {1: 0.40, 2: 0.65, 3: 1.00}
FIXED = 545 * SECOND  # 19:55:05, the plug is turned
ASKED = 500 * SECOND  # 19:54:20, the verdict is read aloud


def clock(text):
    """19:MM:SS.mmm as microseconds since 19:46:00."""
    minutes, seconds = text.split(":")
    return (int(minutes) - 46) * 60 * SECOND + round(float(seconds) * SECOND)


def crc(text):
    register = 0x5A17
    for byte in text.encode():
        register ^= byte << 8
        for _ in range(8):
            register = (register << 1) ^ (0x1021 if register & 0x8000 else 0)
            register &= 0xFFFF
    return register


def line(body):
    return (body + f"#{crc(body):04X}.\n").encode()


class Evening:
    def __init__(self, options):
        self.options = options
        self.chance = random.Random(options.seed)
        self.without = set(options.without.split(",")) - {""}
        self.sent = []  # (wire, time of the first byte, bytes)
        self.seq, self.panel, self.gear = 101, 31, 2
        self.force = None  # (time its line is complete, seq): the move in force
        self.state = (0, 0, 0)
        self.truth = {
            "stops": {"timing": 0, "radio": 0, "power": 0},
            "moves_when_asked": {"forward": 0, "backward": 0, "left": 0, "right": 0},
            "resets": [],
            "panel_jumps": 0,
            "longest_answer_delay_us": 6000,
        }

    # The wires.

    def put(self, wire, at, data):
        self.sent.append((wire, at, data))

    def lapse_before(self, at, why):
        """The drive board stops when the deadline of the move in force runs out before `at`."""
        if self.force is None or self.force[0] + DEADLINE + 20_000 > at:
            return
        complete, seq = self.force
        self.put("<", complete + DEADLINE + 1_000, line(f"=lapsed {seq:03d} "))
        self.truth["stops"][why] += 1
        self.force = None

    def order(self, at, verb, f, s, t, deadline=30, jump=0, why="timing", answer="got", error=0, glue=b"", volts=None, delay=6_000):
        if "timing" not in self.without:
            self.lapse_before(at, why)
        else:
            self.repeats(at, why)
        self.panel = (self.panel + jump) % 100
        self.truth["panel_jumps"] += jump > 0
        data = self.cue(verb, f, s, t, deadline)
        self.put(">", at, glue + data)
        self.answer(at + round(len(glue) * BYTE), answer, error, f, s, t, volts, delay)
        complete = at + round(len(glue + data) * BYTE)
        # One wheel alone is ordered for 990 ms, longer than it is driven: only a sound sender repeats it.
        driven = ("drv", "one") if "timing" in self.without else ("drv",)
        moves = verb in driven and (f, s, t) != (0, 0, 0) and answer == "got"
        self.force = (complete, self.seq) if moves else None
        self.state = (f, s, t)
        self.last = (at, verb, f, s, t, deadline)
        self.seq = (self.seq + 1) % 1000
        self.panel = (self.panel + 1) % 100

    def cue(self, verb, f, s, t, deadline):
        return line(f"c{self.seq:03d} p{self.panel:02d} {verb} f{f:+04d} s{s:+04d} t{t:+04d} g{self.gear} d{deadline:02d} ")

    def repeats(self, until, why):
        """A sound sender repeats a move every 100 ms: the same panel message, the next number."""
        if self.force is None or why == "power":
            return self.lapse_before(until, why)
        at, verb, f, s, t, deadline = self.last
        self.panel = (self.panel - 1) % 100
        while at + 105_000 <= until:
            at += 100_000
            self.put(">", at, self.cue(verb, f, s, t, deadline))
            self.answer(at, "got", 0, f, s, t, None)
            self.force = (at + round(45 * BYTE), self.seq)
            self.seq = (self.seq + 1) % 1000
        self.panel = (self.panel + 1) % 100

    def answer(self, at, word, error, f, s, t, volts, delay=6_000):
        volts = volts if volts is not None else self.volts(at, f, s, t)
        self.put("<", at + delay, line(f"a{self.seq:03d} {word} v{volts:03d} e{error:02X} "))

    def volts(self, at, f, s, t):
        wheels = [f - s - t, f + s + t, f + s - t, f - s + t]
        peak = max(100, max(abs(wheel) for wheel in wheels))
        duty = max(abs(wheel) for wheel in wheels) / peak * GEARS[self.gear]
        sag = 0.5 if at > FIXED or "wheel" in self.without else 0.9
        return round((11.9 - 0.5 * at / (590 * SECOND) - sag * duty) * 10)

    # The operator.

    def steer(self, at, move, size):
        """The turn asked for: against the reversed wheel, or next to nothing without one."""
        if at > FIXED or "wheel" in self.without:
            return self.chance.choice((-2, -1, 0, 1, 2))
        forward, left = STEERS[self.options.wheel]
        sign = {"forward": forward, "backward": -forward, "left": left, "right": -left}[move]
        return sign * abs(size)

    def way(self, move, share):
        f = {"forward": share, "backward": -share}.get(move, 0)
        s = {"left": share, "right": -share}.get(move, 0)
        return f, -s if self.options.mirror else s

    def turn(self, t):
        """In a mirrored evening left is right, and so is counter-clockwise."""
        return -t if self.options.mirror else t

    def noisy(self, move):
        mean = {"forward": 18, "left": 15, "right": 15, "backward": 17}[move]
        return max(6, round(self.chance.gauss(mean, 4)))

    def drive(self, at, move, share, t, **more):
        f, s = self.way(move, share)
        self.order(at, "drv", f, s, self.turn(t), **more)

    def rest(self, at, **more):
        self.order(at, "drv", 0, 0, 0, **more)

    def ask(self, at):
        self.order(at, "ask", 0, 0, 0)

    def moved(self, at, move):
        if at < ASKED:
            self.truth["moves_when_asked"][move] += 1

    def leg(self, at, move, hold=False, radio=False):
        """A press to a release: five lines, and no silence as long as the deadline unless the stick is kept still."""
        share = self.chance.choice((50, 60, 70, 80))
        self.drive(at, move, share, 0)
        at += self.chance.randrange(250_000, 268_000)
        self.drive(at, move, share, self.steer(at, move, self.noisy(move) * 6 // 10))
        at += self.chance.randrange(170_000, 200_000)
        self.drive(at, move, share, self.steer(at, move, self.noisy(move)))
        if radio and "radio" not in self.without:
            at = self.lost(at, move, share)
        else:
            at += self.chance.randrange(600_000, 1_300_000) if hold else self.chance.randrange(180_000, 220_000)
            self.drive(at, move, share, self.steer(at, move, self.noisy(move)))
        self.moved(at, move)
        at += self.chance.randrange(190_000, 230_000)
        self.rest(at)
        return at

    def lost(self, at, move, share):
        """The radio is gone for 412 ms; what waited in the panel then comes in one go."""
        at += 412_000
        for number in range(3):
            t = self.steer(at, move, self.noisy(move))
            self.drive(at, move, share, t, jump=4 if number == 0 else 0, why="radio", delay=6_000)
            at += 5_000
        return at

    def scene(self, begin, end, legs, holds, lines=None, radio=()):
        """Legs spread evenly over a time, `holds` of them with the stick kept still, and questions for the rest."""
        holding = {(number * len(legs)) // holds for number in range(holds)} if holds else set()
        holding -= set(radio)
        pitch = (end - begin) // len(legs)
        at = begin
        for number, move in enumerate(legs):
            at = self.leg(begin + number * pitch, move, number in holding, number in radio)
        if lines is not None and "timing" not in self.without:
            while lines > 0 and self.seq != lines:
                at += 300_000
                self.ask(at)

    # The evening.

    def moves(self, counts):
        moves = [move for move, count in counts.items() for _ in range(count)]
        self.chance.shuffle(moves)
        return moves

    def play(self):
        scale = self.options.holds / 34
        holds = [round(count * scale) for count in (2, 2, 5, 5, 12, 3, 5)]
        self.put("<", 300_000, line("=up 1.3 power "))
        self.rest(clock("46:02.100"), volts=119)
        self.scene(clock("46:03.200"), clock("46:38"), self.moves({"forward": 4, "left": 2, "right": 1}), holds[0], 140)
        self.first_forward()
        self.scene(clock("46:44.500"), clock("47:32"), self.moves({"forward": 4, "left": 2, "right": 1, "backward": 1}), holds[1], 188)
        self.first_left()
        self.scene(clock("47:38.500"), clock("49:20"), self.moves({"forward": 5, "left": 4, "right": 2, "backward": 2}), holds[2], 261)
        self.first_freeze()
        self.scene(clock("49:25"), clock("50:08"), self.moves({"forward": 3, "left": 2}), holds[3] // 2)
        self.gear = 3
        self.scene(clock("50:10.500"), clock("51:14"), self.moves({"forward": 3, "left": 2, "right": 1, "backward": 1}), holds[3] - holds[3] // 2, 331)
        self.hard_start(clock("51:18.400"), (107, 101, 98), (13, 16), 2_600_000)
        self.scene(clock("51:26"), clock("53:36"), self.moves({"forward": 17, "left": 11, "right": 10, "backward": 6}), holds[4], radio=(9, 31))
        self.hard_start(clock("53:39.650"), (106, 100, 97), (12, 17), 2_450_000)
        self.scene(clock("53:47"), clock("54:18"), self.moves({"forward": 3, "left": 2, "right": 2, "backward": 2}), holds[5])
        self.each_wheel_alone(clock("54:30"))
        self.scene(clock("55:06"), clock("55:40"), self.moves({"forward": 4, "left": 2, "right": 2, "backward": 2}), holds[6])
        self.gear = 1
        self.scene(clock("55:41"), clock("55:50"), self.moves({"forward": 2, "left": 1}), 0)

    def first_forward(self):
        self.drive(clock("46:41.020"), "forward", 60, 0, volts=116)
        for at, t, volts in (("46:41.300", 12, 115), ("46:41.500", 19, 114), ("46:42.610", 21, 115)):
            self.drive(clock(at), "forward", 60, self.steer(clock(at), "forward", t), volts=volts)
        self.moved(clock("46:42.610"), "forward")
        self.rest(clock("46:43.190"), volts=116)

    def first_left(self):
        self.drive(clock("47:35.040"), "left", 80, 0, volts=113)
        for at, t, volts in (("47:35.210", 14, 110), ("47:35.420", 17, 109), ("47:36.880", 16, 110)):
            self.drive(clock(at), "left", 80, self.steer(clock(at), "left", t), volts=volts)
        self.moved(clock("47:36.880"), "left")
        self.rest(clock("47:37.090"))

    def first_freeze(self):
        self.drive(clock("49:22.750"), "forward", 30, 0)
        self.drive(clock("49:23.000"), "forward", 30, self.steer(0, "forward", 5), volts=111)
        jump = 0 if "radio" in self.without else 4
        begin = clock("49:23.200") if "radio" in self.without else clock("49:23.412")
        for number, t in enumerate((8, 9, 9)):
            at = begin + number * (5_000 if jump else 200_000)
            self.drive(at, "forward", 30, self.steer(0, "forward", t), jump=jump if number == 0 else 0, why="radio", volts=110)
        self.moved(clock("49:23.412"), "forward")
        self.rest(at + 210_000)

    def hard_start(self, at, volts, turns, silence):
        self.gear = 3
        begin, last = at, len(volts) - 1
        for number, volt in enumerate(volts):
            share = 90 if number == 0 else 100
            t = 0 if number == 0 else self.steer(at, "right", turns[number - 1])
            self.drive(at, "right", share, t, volts=volt if "power" not in self.without else 105)
            at += 170_000 if number == 0 else 160_000
        if "power" in self.without:
            return self.rest(at)
        cut = begin + 390_000
        self.put(">", cut, f"c{self.seq:03d} p{self.panel:02d} drv f+00".encode())
        self.put(">", cut + 12_000, b"\x00\xF8GC2 rom 1.4 rst=0x0F(sag) strap=0b10110\r\n")
        self.put(">", cut + 21_000, b"load @3F40 len 6144 ok\r\n")
        self.lapse_before(cut + silence, "power")
        self.seq, self.panel = 0, 0
        at = cut + silence
        self.truth["resets"].append({"at_us": cut, "silence_us": silence, "deci_volts": volts[last]})
        self.rest(at, answer="nay", error=2, glue=b"eye ok heap 91k net up ", volts=112, delay=6_000 - round(23 * BYTE))
        self.rest(at + 210_000, volts=112)
        self.drive(at + 1_060_000, "right", 100, 0, volts=108)
        self.drive(at + 1_220_000, "right", 100, self.steer(at, "right", 15), volts=100)
        self.rest(at + 1_420_000)

    def each_wheel_alone(self, at):
        for wheel in range(1, 5):
            self.order(at, "one", wheel, 40, 0, deadline=99)
            self.rest(at + 800_000)
            at += 5 * SECOND

    # The tap.

    def reads(self):
        """What the adapters hand over: every 16 ms, or when 62 bytes wait."""
        reads = []
        for wire, phase in ((">", 5_000), ("<", 11_000)):
            bytes_ = []
            free = 0
            for _, at, data in sorted((one for one in self.sent if one[0] == wire), key=lambda one: one[1]):
                at = max(at, free)
                for number, byte in enumerate(data, 1):
                    bytes_.append((at + number * BYTE, byte))
                free = at + len(data) * BYTE
            waiting, due = [], None
            for when, byte in bytes_ + [(float("inf"), 0)]:
                if waiting and when > due:
                    reads.append((due, wire, bytes(waiting)))
                    waiting = []
                if when == float("inf"):
                    break
                if not waiting:
                    due = -(-(when - phase) // 16_000) * 16_000 + phase
                waiting.append(byte)
                if len(waiting) == 62:
                    reads.append((when, wire, bytes(waiting)))
                    waiting = []
        return sorted(reads)

    def log(self):
        print(json.dumps({"latency_us": 17_000, "rate": 115200}))
        chance = random.Random(self.options.seed + 1)
        last = 0
        until = self.options.until * SECOND
        for at, wire, data in self.reads():
            read = max(last, round(at) + chance.randrange(100, 900))
            empty = min(round(at) - chance.randrange(200, 1_800), read)
            last = read
            if read <= until:
                print(json.dumps({"t_us": read, "e_us": empty, "wire": wire, "hex": data.hex().upper()}))


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--wheel", choices=STEERS, default="RR")
    parser.add_argument("--mirror", action="store_true")
    parser.add_argument("--holds", type=int, default=34)
    parser.add_argument("--seed", type=int, default=1946)
    parser.add_argument("--until", type=int, default=600)
    parser.add_argument("--without", default="")
    parser.add_argument("--truth", action="store_true")
    options = parser.parse_args()
    evening = Evening(options)
    evening.play()
    if options.truth:
        print(json.dumps(evening.truth, indent=2))
    else:
        evening.log()


main()
