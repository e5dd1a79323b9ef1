"""Faults of the rover itself, as far as the orders, the answers and the start-up text betray them; and a busy sender."""

import links

# Which way a driver steers while going forward, and while sliding left, when this wheel is reversed: signs of t.
# Worked out from the mixer: a reversed wheel turns the body, and the driver steers against it.
CODES = {"FL": (-1, 1), "FR": (1, 1), "RL": (-1, -1), "RR": (1, -1)}


def late_orders(case):
    """A busy command board: one order in fifty comes 0.7 to 1.5 periods late; the others keep their rhythm."""
    drive, truth, chance = case.begin()
    drive.period, drive.sigma, count = 50_000, 300, 0
    drive.plan()
    for place in range(60, len(drive.orders) - 5, 50):
        order = drive.orders[place]
        order.t += chance.between(0.7, 0.9) * drive.period
        truth.happened(order.t, "an order comes late")
        count += 1
    drive.send()
    drive.answer()
    truth.must("late", count=(int(count * 0.8), count))
    truth.may("bunched")  # a gap of 1.8 periods and two orders close upon it
    truth.never("silent-moving", "panel-loss", "sequence-gap", "send-on-change")


def wheel_reversed(case):
    """One wheel turns backwards; the driver steers against the turn that nobody ordered, in every move ahead and to the left."""
    drive, truth, chance = case.begin(leg_s=(2.0, 4.0), rest_s=(0.8, 1.6), wobble="none", top=(45, 75))
    wheel = chance.pick(sorted(CODES))
    ahead, left = CODES[wheel]
    for leg in drive.person.legs:
        leg.way = chance.pick([(1, 0, 0), (0, 1, 0), (1, 0, 0), (0, 1, 0), (-1, 0, 0)])
    size = chance.between(13, 18)
    drive.plan()
    for order in drive.orders:
        leg = drive.person.leg_at(order.t)
        if leg and order.t > leg.begin_us + 350_000 and order.t < leg.end_us - 130_000:
            sign = ahead * leg.way[0] + left * leg.way[1]
            order.vec = (*order.vec[:2], int(round(sign * size + chance.bell(4))))
    for leg in (drive.person.legs[0], drive.person.legs[-1]):
        truth.happened(leg.begin_us, "the driver steers against a turn", wheel=wheel)
    drive.send()
    drive.answer()
    truth.must("wheel:" + wheel)
    truth.never(*("wheel:" + other for other in CODES if other != wheel))


def low_volts(case):
    """The pack is under its limit of 9.9 V while the wheels are driven."""
    drive, truth, _ = case.begin()
    drive.volts = 99
    case.whole()
    moves = [order.t for order in drive.orders if order.moves()]
    truth.happened(moves[0], "under the limit while moving")
    truth.happened(moves[-1], "and so to the end")
    truth.must("volts-low")
    truth.never("reset-supply", "no-answer")


def leap(case):
    """Power comes while the stick is pushed: the first order after the start is a move."""
    drive, truth, _ = case.begin(leg_s=(4.0, 6.0))
    leg = drive.person.legs[0]
    leg.begin_us, leg.end_us = 400_000, 5_000_000
    drive.person.legs[1:] = [after for after in drive.person.legs[1:] if after.begin_us > 5_800_000]
    drive.plan()
    drive.orders = [order for order in drive.orders if order.t > 2_600_000]
    for place, order in enumerate(drive.orders):
        order.seq = place % links.COUNTED.get(case.style, 1)
        order.panel = place % 100
    drive.start_text, drive.hello = True, [(3_000.0, "power")]
    truth.happened(drive.orders[0].t, "the first order is a move", order=drive.orders[0].vec)
    drive.send()
    drive.answer()
    truth.must("leap")
    truth.never("reset-supply", "reset-watchdog", "sequence-gap")


def boot_loop(case):
    """A pin that must be low at the start is held high: the board cannot read its flash and starts for ever."""
    drive, truth, chance = case.begin()
    first = "ets Jul 29 2019 12:21:46\r\n\r\nrst:0x10 (RTCWDT_RTC_RESET),boot:0x33 (SPI_FAST_FLASH_BOOT)\r\n"
    text = (first + "flash read err, 1000\r\nets_main.c 371 \r\n").encode()
    now = 300_000.0
    while now < drive.end_us - 200_000:
        drive.down.append([now, text, None])
        now += 360_000 + chance.bell(2000)
    truth.happened(drive.down[0][0], "the board starts for ever", times=len(drive.down))
    truth.happened(drive.down[-1][0], "still")
    drive.answer()
    truth.must("boot-loop", count=(len(drive.down) - 1, len(drive.down)), vague=("reset-other", "reset-watchdog", "unreadable", "text-between"))
    truth.never("reset-supply", "silent-moving", "wrong-rate", "noise", "no-answer")
