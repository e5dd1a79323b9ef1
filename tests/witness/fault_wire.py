"""Faults of the wire and of how bytes are put on it: what was meant is sound, what arrives is not."""

import re

import links

PLAIN = re.compile(rb"(way,(rest|ahead|astern|port|starboard|(ahead|astern)-(port|starboard)|spin-(port|starboard))|(pace|lamp),\d+)\n")


def wire_cut(case):
    """The wire comes off in mid-move and is put back some seconds later; the sender never stopped."""
    drive, truth, chance = case.begin(leg_s=(3.0, 7.0))
    drive.plan()
    drive.send()
    for leg in case.long_legs(3.0, chance.whole(1, 2)):
        begin = leg.begin_us + 900_000
        end = begin + chance.between(2.0, 5.0) * 1e6
        lost = [burst for burst in drive.down if begin <= burst[0] < end]
        truth.happened(begin, "the wire is off", until_us=int(end), lost=len(lost))
        drive.down = [burst for burst in drive.down if burst not in lost]
        last = [burst for burst in drive.down if burst[0] < begin][-1]
        if begin - last[0] < 200_000 and case.style != "plain-line":
            last[1] = last[1][:chance.whole(2, len(last[1]) - 2)]
    drive.answer()
    truth.must("silent-moving")
    truth.may("lapse", "late", "damage", "sequence-gap", "refused", "no-rest")
    truth.never("panel-loss", "send-on-change", "reset-supply", "reset-watchdog", "reset-other", "two-panels")


def flip(chance, data, share):
    """Each byte has one bit turned in this share of the cases."""
    out = bytearray(data)
    for place in range(len(out)):
        if chance.unit() < share:
            out[place] ^= 1 << chance.whole(0, 7)
    return bytes(out)


def noise(case):
    """Bits turn at random, moving or not."""
    drive, truth, chance = case.begin(rest_s=(1.5, 3.5))
    drive.plan()
    drive.send()
    share = 0.02 if case.style == "plain-line" else chance.between(0.02, 0.06) / len(drive.down[0][1])
    hit = injure(case, lambda order: share)
    drive.answer()
    broken(case, hit)
    if case.style != "plain-line":
        truth.must("noise", "damage")
    truth.may("noise", "damage", "refused", "text-between", "lapse")
    if case.style == "plain-line":
        truth.may("no-rest", "out-of-range", "glued", "no-end-mark")
    truth.never("noise-with-duty", "wrong-rate", "clock", "reset-supply", "panel-loss", "sequence-gap", "no-answer")
    truth.never("carriage-return", "silent-moving", "late")


def injure(case, share_of):
    """Turns bits of orders on the wire; gives what was hit."""
    hit = []
    for burst in case.drive.down:
        if burst[2] is None:
            continue
        after = flip(case.chance, burst[1], share_of(burst[2]))
        if after != burst[1]:
            burst[1] = after
            hit.append(burst)
    return hit


def broken(case, hit):
    """On the plain line a turned bit may still read as a whole order: only what cannot be one must be found."""
    for burst in hit:
        case.truth.happened(burst[0], "bits turn", hex=burst[1].hex())
    if case.style == "plain-line":
        sure = [burst for burst in hit if not PLAIN.fullmatch(burst[1])]
        if sure:
            case.truth.must("damage", "noise")


def noise_with_duty(case):
    """Bits turn only while motors run, more often at more duty."""
    drive, truth, chance = case.begin(rest_s=(1.8, 3.5), leg_s=(2.0, 4.0), top=(50, 95))
    drive.plan()
    drive.send()
    top = 0.03 if case.style == "plain-line" else chance.between(0.10, 0.22) / len(drive.down[0][1])
    peak = max((sum(map(abs, order.vec)) for order in drive.orders if order.vec), default=1)
    hit = injure(case, lambda order: top * sum(map(abs, order.vec or (0, 0, 0))) / peak)
    drive.answer()
    broken(case, hit)
    if case.style != "plain-line":
        truth.must("noise-with-duty", vague=("damage", "noise"))
    truth.may("noise", "damage", "refused", "text-between", "lapse", "no-rest", "out-of-range", "glued", "no-end-mark")
    truth.never("wrong-rate", "clock", "reset-supply", "panel-loss", "sequence-gap", "no-answer", "carriage-return")
    truth.never("silent-moving", "late")


def wrong_rate(case):
    """Sender and tap differ in rate: the tap is set wrong, or the sender is and the drive board hears nothing."""
    drive, truth, chance = case.begin()
    drive.plan()
    drive.send()
    right = links.RATE[case.style]
    if chance.happens(0.5):
        case.tap_rate = chance.pick([9600, 19200, 38400, 57600, 230400])
        drive.answer()
        case.sent_rate = {">": lambda t: right, "<": lambda t: right}
        truth.happened(drive.down[0][0], "the tap listens at another rate", sent=right, heard=case.tap_rate)
    else:
        wrong = chance.pick([38400, 57600, 230400])
        for burst in drive.down:
            burst[2] = None
        drive.answer()
        case.sent_rate = {">": lambda t: wrong}
        truth.happened(drive.down[0][0], "the sender speaks at another rate", sent=wrong, heard=right)
    truth.happened(drive.down[-1][0], "and so to the end")
    truth.must("wrong-rate", vague=("unreadable", "damage"))
    truth.may("damage", "text-between", "no-end-mark", "glued", "clock")
    truth.never("noise", "noise-with-duty", "silent-moving", "no-answer", "reset-supply", "reset-other", "carriage-return")


def clock(case):
    """The sender's clock runs away as it warms: clean at first, then the highest bits are read wrong here and there."""
    drive, truth, chance = case.begin()
    drive.plan()
    drive.send()
    right = links.RATE[case.style]
    cold, warm = 1.046, chance.between(1.0530, 1.0545)
    case.sent_rate = {">": lambda t: right * (cold + (warm - cold) * round(t / drive.end_us * 60) / 60)}
    drive.answer()
    truth.happened(drive.down[0][0], "the sender's clock is 4.6 % fast")
    truth.happened(drive.down[-1][0], f"it is {warm * 100 - 100:.2f} % fast")
    if case.style != "plain-line":
        truth.must("damage", "noise", "clock", "wrong-rate")
    if case.style in ("cue-line", "letter-line"):
        truth.must("clock", "wrong-rate", vague=("damage", "noise"))
    truth.may("clock", "wrong-rate", "damage", "noise", "text-between", "glued", "no-rest", "no-end-mark", "lapse", "out-of-range")
    truth.never("noise-with-duty", "reset-supply", "panel-loss", "sequence-gap", "silent-moving", "carriage-return")


def carriage_return(case):
    """The sender ends each line with CR LF, the drive board splits at LF alone."""
    drive, truth, _ = case.begin()
    drive.plan()
    drive.send()
    for burst in drive.down:
        burst[1] = burst[1].replace(b"\n", b"\r\n")
    drive.pack()
    drive.answer()
    truth.happened(drive.down[0][0], "CR before each LF")
    truth.happened(drive.down[-1][0], "the last of them")
    truth.must("carriage-return", vague=("damage", "unreadable"))
    truth.may("refused", "refused-intact")
    truth.never("noise", "wrong-rate", "sequence-gap", "no-answer", "no-end-mark", "silent-moving")


def no_end_mark(case):
    """The sender leaves the end mark out; the drive board waits for it and obeys nothing."""
    drive, truth, _ = case.begin()
    drive.plan()
    drive.send()
    for burst in drive.down:
        burst[1] = burst[1].rstrip(b"\n")
    drive.deaf = [(0, drive.end_us)]
    drive.answer()
    truth.happened(drive.down[0][0], "no end mark")
    truth.happened(drive.down[-1][0], "the last of them")
    truth.must("no-end-mark", vague=("damage", "unreadable"))
    truth.may("glued", "damage", "text-between", "no-answer")
    truth.never("noise", "noise-with-duty", "wrong-rate", "clock", "silent-moving", "carriage-return")


def text_between(case):
    """The command board's own remarks leave on the same wire, with or without an end of their own."""
    drive, truth, chance = case.begin()
    drive.plan()
    drive.send()
    ended = chance.happens(0.5)
    now = 1_500_000.0
    while now < drive.end_us - 1_000_000:
        text = chance.pick(["net rssi -61", "heap 91k", "eye 12 fps late"]).encode() + (b"\r\n" if ended else b" ")
        truth.happened(now, "a remark", ended=ended)
        before = [burst for burst in drive.down if burst[0] <= now]
        begin = max(now, before[-1][0] + len(before[-1][1]) * drive.byte_us + 100) if before else now
        drive.down.append([begin, text, None])
        glue(drive, begin, ended)
        now += chance.between(1.0, 4.0) * 1e6
    drive.pack()
    drive.answer()
    truth.must("text-between", "glued", severe=not ended and case.style in links.TEXT)
    truth.may("text-between", "glued", "damage", "refused", "refused-intact", "no-rest")
    truth.never("reset-supply", "reset-watchdog", "reset-other", "noise", "wrong-rate", "panel-loss", "sequence-gap", "two-panels")


def glue(drive, begin, ended):
    """Text without an end spoils the order that follows it, for a reader of lines."""
    after = [burst for burst in drive.down if burst[0] > begin and burst[2] is not None]
    if after and not ended:
        min(after, key=lambda burst: burst[0])[2].glued = True
