"""Faults of the drive board, seen on the wire back."""

from fault_sender import queue


def drive_reset(case):
    """The drive board starts anew and says so; for half a second it hears nothing."""
    drive, truth, chance = case.begin(leg_s=(2.0, 5.0))
    legs = case.long_legs(2.0, chance.whole(1, 3))
    reason = chance.pick(["sag", "dog"])
    drive.plan()
    drive.send()
    for leg in legs:
        at = leg.begin_us + chance.between(0.3, 0.6) * 1e6
        back = at + chance.between(0.4, 0.8) * 1e6
        drive.deaf.append((at, back))
        drive.hello.append((back, reason))
        truth.happened(at, "the drive board starts anew", hello_us=int(back))
    drive.answer()
    if case.style == "stave":
        truth.must("reset-other", "reset-supply", "reset-watchdog", count=(len(legs), len(legs)))
    else:
        truth.must("reset-supply" if reason == "sag" else "reset-watchdog", count=(len(legs), len(legs)))
    truth.may("no-answer", "lapse", "leap", "text-between", "answer-late")
    truth.never("panel-loss", "sequence-gap", "silent-moving", "answer-growing", "noise", "damage")


def drive_mute(case):
    """The drive board says nothing for some seconds, and then goes on, with no word of a start."""
    drive, truth, chance = case.begin(leg_s=(3.0, 6.0))
    drive.plan()
    drive.send()
    for leg in case.long_legs(2.5, chance.whole(1, 2)):
        at = leg.begin_us + 500_000
        back = at + chance.between(1.5, 4.0) * 1e6
        drive.deaf.append((at, back))
        truth.happened(at, "the drive board is mute", until_us=int(back))
    drive.answer()
    truth.must("no-answer")
    truth.may("lapse", "answer-late")
    truth.never("reset-supply", "reset-watchdog", "reset-other", "answer-growing", "sequence-gap", "silent-moving", "panel-loss")


def answers_stop(case):
    """From some moment on the drive board never answers again."""
    drive, truth, chance = case.begin()
    drive.plan()
    drive.send()
    leg = case.long_legs(1.0, 1)[0]
    at = leg.begin_us + 400_000
    drive.deaf = [(at, drive.end_us + 1)]
    drive.answer()
    truth.happened(at, "the drive board falls silent")
    truth.happened(drive.down[-1][0], "still silent")
    truth.must("no-answer")
    truth.never("reset-supply", "reset-watchdog", "reset-other", "answer-growing", "sequence-gap", "silent-moving", "panel-loss")


def answers_growing(case):
    """While it moves, the drive board takes longer for an order than the next one takes to come; its queue fills."""
    drive, truth, chance = case.begin(leg_s=(5.0, 9.0), rest_s=(2.0, 4.0))
    drive.plan()
    drive.send()
    longest = 8 if case.style == "cue-line" else 18
    slow = drive.period * chance.between(1.3, 1.55)
    drive.service = queue(longest, lambda order: slow if order.moves() else drive.period * 0.2)
    drive.answer()
    for leg in drive.person.legs:
        if leg.end_us - leg.begin_us > 5e6:
            truth.happened(leg.begin_us + 1_000_000, "the queue fills", longest=longest, each_us=int(slow))
            truth.happened(leg.end_us, "it empties")
    truth.must("answer-growing", vague=("answer-late",))
    truth.may("no-answer")
    truth.never("answer-second", "sequence-gap", "panel-loss", "silent-moving", "reset-other", "late")


def answers_second(case):
    """The drive board reads until an end mark that never comes, and gives up a second after the last byte."""
    drive, truth, chance = case.begin(leg_s=(1.6, 4.0), rest_s=(1.6, 3.0), wobble="none")
    drive.person.slow = 1
    drive.plan(on_change=True)
    steady(drive)
    drive.send()
    drive.service = lambda order, end: end + 1_003_000 + chance.bell(3000)
    drive.answer()
    truth.happened(drive.down[0][0], "each answer comes a second late")
    truth.happened(drive.down[-1][0], "the last of them")
    truth.must("answer-second", vague=("answer-late",))
    truth.may("lapse", "send-on-change", "no-end-mark")
    truth.never("answer-growing", "no-answer", "panel-loss", "sequence-gap", "silent-moving")


def steady(drive):
    """One order at the press and one at the release: the stick goes all the way at once."""
    out = []
    for leg in drive.person.legs:
        inside = [order for order in drive.orders if leg.begin_us <= order.t < leg.end_us]
        after = [order for order in drive.orders if order.t >= leg.end_us]
        if inside and after:
            inside[0].vec = tuple(axis * leg.size for axis in leg.way)
            out += [inside[0], after[0]]
            after[0].vec = (0, 0, 0)
    drive.orders = sorted(set(out), key=lambda order: order.t)
    drive.number()
