"""What happened in a drive, what a right tool must find in it, and what it may say besides.

Meanings are ours and speak of causes, not of any tool's names:
    silent-moving       the orders stopped while a wheel was ordered to turn
    lapse               a deadline ran out while moving
    send-on-change      the sender repeats only when something changes, against a deadline
    panel-loss          messages lost between control panel and command board
    panel-order         the panel's counter went backwards
    two-panels          two panels drive at once
    bunched             orders late, then several at once
    late                an order later than its rhythm allows
    sequence-gap        orders never sent, or lost, with their numbers
    twice               the same order number twice
    flood               more orders than the link or its reader can bear
    reset-supply        a board started anew because its supply sagged
    reset-watchdog      a board started anew because its watchdog bit
    reset-other         a board started anew, cause unknown or another
    glued               an order refused because start-up text without an end stood before it
    text-between        text that is no order between the orders
    no-answer           orders without an answer, or reports that stopped
    answer-growing      answers come later and later, as from a queue
    answer-second       answers come a constant second late: a reader that waits for an end mark
    answer-late         answers come late, no pattern named
    refused             the drive board refused orders
    refused-intact      the drive board refused orders that stood whole on the wire
    damage              orders arrived broken: bad check, cut, not a number, unknown word
    noise               the damage is chance: scattered, different each time
    noise-with-duty     the damage comes when the wheels turn
    wrong-rate          sender and listener differ in rate
    clock               rates equal by name, a clock a few per cent off
    no-rest             a move followed by a move with no rest between
    carriage-return     a carriage return left before the end mark
    no-end-mark         the end mark does not come
    out-of-range        a value outside what the field allows
    creep               small orders that never become rest
    leap                the first order after a start is a move
    tap-asleep          the recording computer did not look for a while
    low-duty            little duty was asked for in a whole move
    tap-grid            the adapter's own rhythm
    reversal            full one way to full the other with no pause
    boot-loop           a board starts again and again and never sends an order
    wheel:FL            (or another) this wheel is reversed or weak, from how the driver steers against it
    volts-low           the pack is under its limit
    unreadable          nothing that arrives is known: rate, ground or rover file
    standing            a remark about the link as such, true of every drive on it
"""

SLACK_US = 6_000_000


class Truth:
    """Filled by a fault; written beside the log."""

    def __init__(self, fault, drive, seed, adapter):
        self.head = {"fault": fault, "style": drive.style, "adapter": adapter, "seed": seed}
        self.head |= {"seconds": drive.seconds, "jitter_us": drive.sigma}
        self.events, self.musts, self.mays, self.nevers = [], [], set(), set()

    def happened(self, t_us, what, **more):
        """One thing that happened."""
        self.events.append({"t_us": int(t_us), "what": what, **more})

    def must(self, *meanings, count=None, severe=True, vague=()):
        """One of these meanings must be found; `count` is how often as (least, most). `severe`: as more than a note.

        `vague`: true words that name what was seen but not its cause, though the evidence for the cause is on the wire.
        """
        self.musts.append({"one_of": list(meanings), "count": count, "severe": severe, "vague": list(vague)})
        self.mays.update(vague)

    def may(self, *meanings):
        """True besides, or a fair name for the same thing: neither demanded nor false."""
        self.mays.update(meanings)

    def never(self, *meanings):
        """Claims that would send the person the wrong way; listed for the reader, all else not allowed is false as well."""
        self.nevers.update(meanings)

    def span(self):
        """From the first to the last event, or none."""
        times = [event["t_us"] for event in self.events]
        return (min(times), max(times)) if times else None

    def allowed(self):
        """Every meaning that is not a false claim here."""
        out = set(self.mays) | {"standing"}
        for must in self.musts:
            out.update(must["one_of"])
        return out - self.nevers

    def as_json(self):
        """For the truth file."""
        self.events.sort(key=lambda event: event["t_us"])
        return {
            **self.head, "events": self.events, "must": self.musts, "may": sorted(self.mays), "never": sorted(self.nevers),
            "allowed": sorted(self.allowed()), "span_us": self.span(), "slack_us": SLACK_US,
        }
