"""Faults of the person, the panel, the radio and the command board: what is sent is wrong, the wire is sound."""

import links
from driving import Person
from rover import Order

EVEN = ("letter-line", "cue-line", "stave", "bead", "ladder")
RESTART_MAY = ("damage", "glued", "text-between", "silent-moving", "lapse", "late", "bunched", "refused", "no-answer", "leap")


def healthy(case):
    """Nothing is wrong. In half of the drives both boards start while the tap already listens."""
    drive, truth, chance = case.begin()
    drive.plan()
    if chance.happens(0.5):
        power_up(case)
    drive.send()
    drive.answer()
    truth.never("wrong-rate", "late", "silent-moving", "bunched")


def power_up(case):
    """Power comes a moment after the tap; the first order waits for the start-up text and the radio."""
    drive = case.drive
    first = 100_000 if case.style == "letter-line" else 2_600_000
    # Who switches on lets go of the stick first: a board that begins with a move is a fault of its own, `leap`.
    held = drive.person.leg_at(first)
    first = held.end_us if held else first
    drive.orders = [order for order in drive.orders if order.t > first]
    for place, order in enumerate(drive.orders):
        order.seq = place % links.COUNTED.get(case.style, 1)
        order.panel = (place if drive.relay else place // 2) % 100
    drive.start_text = True
    drive.hello = [(3_000.0, "power")]


def change_only(case):
    """A sound link that sends on change, to a drive board that obeys for ever: silence is normal."""
    drive, _, _ = case.begin(wobble="steps")
    drive.plan(on_change=True)
    drive.send()
    drive.answer()


def board_hung(case):
    """The command board stands still for one to three seconds in mid-move; it loses nothing and numbers on."""
    drive, truth, chance = case.begin(leg_s=(3.0, 7.0))
    drive.plan()
    spans = []
    for leg in case.long_legs(3.0, chance.whole(1, 2)):
        begin = leg.begin_us + 900_000
        spans.append((begin, begin + chance.between(1.2, 3.0) * 1e6))
    for begin, end in spans:
        truth.happened(begin, "the command board stands still", until_us=int(end))
        late = [order for order in drive.orders if begin <= order.t < end]
        if case.style == "plain-line":
            for order in late:
                order.t = end
        else:
            drive.orders = [order for order in drive.orders if order not in late]
    drive.number()
    drive.send()
    drive.answer()
    truth.must("silent-moving")
    truth.may("lapse", "late")
    truth.never("panel-loss", "send-on-change", "sequence-gap", "reset-supply", "reset-watchdog", "bunched", "no-answer")


def radio_stall(case):
    """The radio stands still; some messages are lost, the last few come at once. The order numbers run on."""
    drive, truth, chance = case.begin(leg_s=(3.0, 7.0))
    drive.relay, drive.period = True, 50_000
    drive.plan()
    stalls = case.long_legs(2.5, chance.whole(3, 5))
    for leg in stalls:
        begin = leg.begin_us + 700_000
        end = begin + chance.between(0.42, 0.9) * 1e6
        inside = [order for order in drive.orders if begin <= order.t < end]
        bunch = inside[-chance.whole(3, 5):]
        lost = [order for order in inside if order not in bunch]
        after = next((order.t for order in drive.orders if order.t >= end), end + 60_000)
        end = after - len(bunch) * 4500 - 6_000
        for place, order in enumerate(bunch):
            order.t = end + place * 4500
        drive.orders = [order for order in drive.orders if order not in lost]
        truth.happened(begin, "the radio stands still", until_us=int(end), lost=len(lost), at_once=len(bunch))
    renumber(drive)
    drive.send()
    drive.answer()
    if case.style == "cue-line":
        truth.must("panel-loss", count=(len(stalls), len(stalls)))
        truth.may("bunched", "silent-moving", "late", "lapse")
    else:
        # What comes at once after the silence is what tells a radio from a board that stood still.
        truth.must("bunched", "panel-loss", vague=("silent-moving", "late", "lapse"))
    truth.never("send-on-change", "sequence-gap", "two-panels", "reset-supply", "no-answer")


def renumber(drive):
    """Order numbers without a hole; the panel's counter stays."""
    first, counts = drive.orders[0].seq, links.COUNTED.get(drive.style, 1)
    for place, order in enumerate(sorted(drive.orders, key=lambda order: order.t)):
        order.seq = (first + place) % counts


def send_on_change(case):
    """The stick kept still sends nothing; the deadline of 300 ms runs out."""
    drive, truth, _ = case.begin(wobble="steps", leg_s=(3.0, 8.0))
    drive.relay = True
    drive.plan(on_change=True)
    lapses = 0
    for before, after in zip(drive.orders, drive.orders[1:]):
        if before.moves() and after.t - before.t > 345_000:
            truth.happened(before.t + 300_000, "the deadline runs out", until_us=int(after.t))
            lapses += 1
    drive.send()
    drive.answer()
    truth.must("send-on-change", count=(int(lapses * 0.7), int(lapses * 1.2) + 1), vague=("lapse", "silent-moving"))
    truth.never("panel-loss", "sequence-gap", "bunched", "reset-supply")
    if case.style == "letter-line":
        truth.may("late")  # its rover file states a rhythm of 50 ms
    else:
        truth.never("late")


ROM = (
    "ets Jul 29 2019 12:21:46\r\n\r\nrst:{code},boot:0x13 (SPI_FAST_FLASH_BOOT)\r\nconfigsip: 0, SPIWP:0xee\r\n"
    "clk_drv:0x00,q_drv:0x00,d_drv:0x00,cs0_drv:0x00,hd_drv:0x00,wp_drv:0x00\r\nmode:DIO, clock div:1\r\n"
    "load:0x3fff0030,len:1184\r\nload:0x40078000,len:13132\r\nload:0x40080400,len:3036\r\nentry 0x400805e4\r\n"
)
# Start-up text of the ESP32's own ROM, as public logs show it; reset codes from the maker's header rtc.h.
ROM_CODES = {"sag": ("", "0xf (RTCWDT_BROWN_OUT_RESET)"), "dog": ("", "0x7 (TG0WDT_SYS_RESET)")}
ROM_SAG_TEXT = ("\r\nBrownout detector was triggered\r\n\r\n", "0xc (SW_CPU_RESET)")
APP_TEXT = b"eye ok heap 91k net up "


def start_up(case, reason):
    """The text of one start: this rover's own, or that of the chip's ROM."""
    if case.style == "letter-line" or case.chance.happens(0.5):
        return case.drive.boot_text(reason)
    before, code = ROM_CODES[reason]
    if reason == "sag" and case.chance.happens(0.5):
        before, code = ROM_SAG_TEXT
    return (before + ROM.format(code=code)).encode()


def command_reset(case, reason, meaning, hang):
    """The command board starts anew: an order cut, start-up text, two and a half seconds, numbers from zero."""
    drive, truth, chance = case.begin(leg_s=(2.0, 5.0), rest_s=(1.5, 3.5))
    legs = case.long_legs(2.0, chance.whole(1, 3))
    for leg in legs:
        leg.size = 100 if reason == "sag" else leg.size
    drive.plan()
    resets = []
    for leg in legs:
        at = leg.begin_us + chance.between(0.25, 0.45) * 1e6
        text = start_up(case, reason)
        back = at + (0.02 if case.style == "letter-line" else chance.between(2.3, 2.7)) * 1e6
        if hang:
            drive.orders = [order for order in drive.orders if not at - hang <= order.t < at]
        resets.append((at, back, text))
        truth.happened(at, f"the command board starts anew: {reason}", back_us=int(back))
    drive.orders = [order for order in drive.orders if not any(at <= order.t < back for at, back, _ in resets)]
    count_anew(drive, [back for _, back, _ in resets])
    drive.send()
    for at, back, text in resets:
        put_reset(case, at, back, text, cut=not hang)
    drive.pack()
    drive.answer()
    truth.must(meaning, count=(len(resets), len(resets)))
    if case.style in ("cue-line", "plain-line"):
        truth.must("glued", "refused", "text-between", vague=("damage", "refused-intact"))
    truth.may(*RESTART_MAY)
    if case.style == "plain-line":
        truth.may("no-rest")  # a release during the start, or glued to its text, is lost
    truth.never("panel-loss", "sequence-gap", "send-on-change", "noise", "noise-with-duty", "two-panels", "wrong-rate")


def count_anew(drive, backs):
    """After each start the numbers begin at zero."""
    for back in backs:
        after = [order for order in drive.orders if order.t >= back]
        for place, order in enumerate(after):
            order.seq = place % links.COUNTED.get(drive.style, 1)
            order.panel = (place if drive.relay else place // 2) % 100


def put_reset(case, at, back, text, cut):
    """Cuts the order before, and puts the text on the wire; the last words stand glued to the first order after it."""
    drive = case.drive
    before = [burst for burst in drive.down if burst[0] < at and burst[2] is not None]
    if cut and before and case.style != "plain-line" and at - before[-1][0] < 100_000:
        burst = before[-1]
        burst[1] = burst[1][:case.chance.whole(2, len(burst[1]) - 3)]
        at = burst[0] + len(burst[1]) * drive.byte_us
    drive.down.append([at + (0 if case.style == "letter-line" else 12_000), text, None])
    after = [burst for burst in drive.down if burst[0] >= back and burst[2] is not None]
    if case.style == "letter-line" or not after:
        return
    drive.down.append([after[0][0] - len(APP_TEXT) * drive.byte_us - 50, APP_TEXT, None])
    after[0][2].glued = True


def reset_supply(case):
    """The supply of the command board sags on a hard start."""
    command_reset(case, "sag", "reset-supply", 0)


def reset_watchdog(case):
    """The command board hangs; its watchdog starts it anew."""
    command_reset(case, "dog", "reset-watchdog", case.chance.between(0.8, 1.6) * 1e6)


def lost_release(case):
    """Some releases never reach the wire."""
    drive, truth, chance = case.begin()
    drive.plan()
    rests = [order for order in drive.orders if order.text == "way,rest"][:-1]
    lost = [order for order in rests if chance.happens(0.35)] or rests[:1]
    drive.orders = [order for order in drive.orders if order not in lost]
    for order in lost:
        truth.happened(order.t, "a release is lost")
    drive.send()
    truth.must("no-rest", count=(len(lost), len(lost)))
    truth.never("silent-moving", "sequence-gap", "panel-loss")


def sent_twice(case):
    """Each order leaves twice with the same number."""
    drive, truth, _ = case.begin()
    drive.plan()
    drive.send()
    drive.down += [[burst[0] + 200, burst[1], burst[2]] for burst in drive.down]
    drive.pack()
    drive.answer()
    truth.happened(drive.down[0][0], "each order is sent twice")
    truth.happened(drive.down[-1][0], "the last of them")
    if case.style in links.COUNTED:
        truth.must("twice")
    truth.may("twice", "flood")
    truth.never("two-panels", "sequence-gap", "panel-loss", "panel-order", "late", "bunched")


def flood(case):
    """A slider or stick that sends each change at once: an order every few milliseconds."""
    drive, truth, chance = case.begin(leg_s=(2.0, 5.0))
    drive.period = 50_000
    drive.plan()
    for leg in case.long_legs(2.0, 5):
        now, step = leg.begin_us + 300_000, 0
        end = min(leg.end_us - 300_000, now + chance.between(1.0, 3.0) * 1e6)
        truth.happened(now, "orders every few milliseconds", until_us=int(end))
        while now < end:
            if case.style == "plain-line":
                drive.word(now, f"pace,{90 + step % 160}")
            else:
                drive.orders.append(Order(now, drive.stick(now)))
            now, step = now + chance.between(4_600, 6_000), step + 1
    drive.orders.sort(key=lambda order: order.t)
    drive.number()
    drive.send()
    drive.service = queue(8, lambda order: 9_000)
    drive.answer()
    if case.style == "cue-line":
        truth.must("flood", "answer-growing", "no-answer")
        truth.may("flood", "answer-growing", "no-answer", "answer-late")
    elif case.style == "plain-line":
        truth.must("flood", severe=False)
    else:
        truth.may("flood")
    truth.never("two-panels", "panel-loss", "sequence-gap", "noise")


def queue(longest, work_us):
    """A reader that takes one order after another; what finds the queue full is dropped."""
    waiting = []

    def service(order, end):
        while waiting and waiting[0] <= end:
            waiting.pop(0)
        if len(waiting) >= longest:
            return None
        begin = max([end, *waiting[-1:]])
        waiting.append(begin + work_us(order))
        return waiting[-1] + 300

    return service


def two_panels(case):
    """Two panels drive at once: two rows of messages, one between the other's."""
    drive, truth, chance = case.begin()
    drive.period = 50_000
    drive.relay = True
    drive.plan()
    other = Person(chance.branch("other"), case.seconds, case.style)
    own, panel = list(drive.orders), chance.whole(0, 99)
    drive.person = other
    offset = chance.between(15_000, 30_000)
    for place, order in enumerate(own):
        second = Order(order.t + offset, drive.stick(order.t + offset), 0, (order.panel + 37 + panel) % 100)
        drive.orders.append(second)
        if place in (0, len(own) - 1):
            truth.happened(order.t, "two panels drive")
    renumber(drive)
    drive.send()
    drive.answer()
    truth.must("two-panels")
    truth.may("reversal")
    truth.never("panel-loss", "panel-order", "sequence-gap", "send-on-change", "flood")


def sequence_gap(case):
    """The command board drops orders before it sends them; their numbers are missing, the rhythm is not."""
    drive, truth, chance = case.begin()
    drive.relay = True
    drive.plan()
    counts, add, holes, lost = links.COUNTED[case.style], 0, 0, 0
    places = {chance.whole(40, len(drive.orders) - 40) for _ in range(9)}
    for place, order in enumerate(drive.orders):
        if place in places:
            size = chance.whole(1, 4)
            if (order.seq + add + size) % counts < 2:
                continue  # a hole that ends at zero looks like a start
            add, holes, lost = add + size, holes + 1, lost + size
            truth.happened(order.t, "numbers are missing", lost=size)
        order.seq = (order.seq + add) % counts
    drive.send()
    drive.answer()
    truth.must("sequence-gap", count=(holes, lost))
    truth.never("panel-loss", "silent-moving", "no-answer", "late", "two-panels", "reset-other")


def panel_order(case):
    """Two messages of the panel overtake each other, now and then."""
    drive, truth, chance = case.begin()
    drive.relay = True
    drive.plan()
    places = sorted({chance.whole(20, len(drive.orders) // 4 - 10) * 4 for _ in range(7)})
    places = [place for place in places if 3 < drive.orders[place].panel < 96]  # a step to 0 could be a start
    for place in places:
        one, two = drive.orders[place], drive.orders[place + 1]
        one.panel, two.panel = two.panel, one.panel
        one.vec, two.vec = two.vec, one.vec
        truth.happened(one.t, "a message overtakes another")
    drive.send()
    drive.answer()
    truth.must("panel-order", count=(len(places), len(places)))
    truth.never("panel-loss", "two-panels", "sequence-gap")


def creep(case):
    """The stick's middle is off: at rest the rover is told to move a little, for ever."""
    drive, truth, chance = case.begin()
    offset = (chance.pick([-6, -5, 5, 6]), 0, chance.pick([-5, 0, 5]))
    drive.plan()
    for order in drive.orders:
        if not any(order.vec):
            order.vec = offset
    truth.happened(drive.orders[0].t, "never at rest", order=offset)
    truth.happened(drive.orders[-1].t, "never at rest")
    drive.send()
    drive.answer()
    truth.must("creep")
    truth.never("silent-moving", "send-on-change", "panel-loss")


def out_of_range(case):
    """Now and then a whole, checked order with a value that cannot be."""
    drive, truth, chance = case.begin()
    drive.plan()
    fit = [order for order in drive.orders if order.text is None or order.text.startswith("pace")]
    if not fit:
        drive.word(drive.orders[0].t - 150_000, "pace,120")
        fit = drive.orders[-1:]
    bad = {chance.whole(0, len(fit) - 1) for _ in range(min(6, len(fit)))}
    for place in sorted(bad):
        order = fit[place]
        order.sent = wild(case, order)
        order.wild = True
        truth.happened(order.t, "a value out of range", hex=order.sent.hex())
    drive.send()
    drive.answer()
    if case.style == "cue-line":
        refuse_wild(drive)
    truth.must("out-of-range", count=(len(bad), len(bad)))
    truth.may("refused", "refused-intact", "damage")
    truth.never("noise", "noise-with-duty", "wrong-rate", "sequence-gap", "panel-loss")


def refuse_wild(drive):
    """The cue line's drive board answers such an order with `nay` and error 04."""
    wild_ones = {order.seq: order.t for _, _, order in drive.down if order.wild}
    for burst in drive.up:
        seq = int(burst[1][1:4]) if burst[1].startswith(b"a") else -1
        if seq in wild_ones and abs(burst[0] - wild_ones[seq]) < 30_000:
            burst[1] = links.cue_answer(seq, "nay", 114, 4)


def wild(case, order):
    """An order of this style with one value outside its range and a right check."""
    size = case.chance.whole(110, 125)
    if case.style == "plain-line":
        return case.chance.pick([b"pace,8830\n", b"pace,300\n", b"pace,999\n"])
    if case.style == "letter-line":
        return links.lettered("D", "A", size)
    if case.style == "cue-line":
        return links.cue(order.seq, order.panel, (size, 0, 0), order.gear, 300)
    if case.style == "stave":
        return links.stave(0xF1, order.seq, [205, 100, 100, 205 + case.chance.whole(0, 30)], 300, 2)
    if case.style == "bead":
        return links.bead(order.seq, (size, 0, 0), 300)
    return links.ladder((size, size, size, size))
