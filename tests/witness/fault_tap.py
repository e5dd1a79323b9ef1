"""What only looks like a fault: the tap's own doing. A right tool accuses nobody."""


def tap_asleep(case):
    """The recording computer does not look for some seconds in mid-move, twice; nothing is lost."""
    drive, truth, chance = case.begin(leg_s=(3.0, 7.0))
    case.whole()
    for leg in case.long_legs(3.0, 2):
        begin = leg.begin_us + 700_000
        case.asleep.append((begin, begin + chance.between(1.5, 5.0) * 1e6))
        truth.happened(begin, "the recorder is asleep", until_us=int(case.asleep[-1][1]))
    truth.must("tap-asleep", severe=False)
    truth.never("silent-moving", "bunched", "late", "panel-loss", "lapse", "no-answer", "answer-late", "answer-growing", "flood")


def adapter_grid(case):
    """A sound drive seen through an adapter of 16 ms, with no word of when its buffer was last empty, on a busy computer."""
    drive, truth, _ = case.begin()
    drive.sigma = 300
    case.whole()
    truth.may("tap-grid")
    truth.never("late", "bunched", "silent-moving", "answer-late")


def asleep_bare(case):
    """The recorder sleeps, and the log does not say when its buffer was last empty: nothing can be proved either way."""
    tap_asleep(case)
    case.truth.musts = []
    case.truth.may("tap-asleep")
