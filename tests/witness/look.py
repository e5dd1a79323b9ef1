"""Where the program says to look first, held against the place that a fault was put at.

The place is that of the fault's own file: `fault_board.py`, `fault_rover.py`, `fault_sender.py`, `fault_tap.py`,
`fault_wire.py`. More than one layer is right where the evidence on that link cannot tell them apart; the reason stands
beside. Layers are named as the program's schema names them.
"""

PANEL, COMMAND, WIRE, DRIVE = "panel or radio", "command board", "wire", "drive board's reader"
POWER, WHEEL, TAP, OPEN = "power", "wheel or rollers", "tap", "cannot be told"

# fault: (layers, reason where there are more than one)
PLACES = {
    "wire-cut": ({WIRE, OPEN}, "bytes that stop say nothing of who stopped; those that were hit as the lead parted do"),
    "board-hung": ({COMMAND, OPEN}, "without the panel's own counter the radio can have stopped"),
    "radio-stall": ({PANEL, OPEN}, "without the panel's own counter the board can have stalled"),
    "send-on-change": ({COMMAND, OPEN}, "without that counter a lost message looks the same"),
    "late-orders": ({COMMAND, OPEN}, "without that counter the radio can be late"),
    "reset-supply": ({POWER}, ""),
    "reset-watchdog": ({COMMAND}, ""),
    "boot-loop": ({COMMAND, POWER}, "what ends each start is not always told"),
    "leap": ({COMMAND}, ""),
    "drive-reset": ({DRIVE, POWER}, "some of them are told as a sag"),
    "drive-mute": ({DRIVE, WIRE}, "the lead back can be cut"),
    "answers-stop": ({DRIVE, WIRE}, "the lead back can be cut"),
    "answers-growing": ({DRIVE}, ""),
    "answers-second": ({COMMAND, DRIVE}, "the mark that is not sent, and the reader that waits for it"),
    "noise": ({WIRE}, ""),
    "noise-with-duty": ({WIRE}, ""),
    "wrong-rate": ({TAP, COMMAND}, "either of both ends can have the other rate"),
    "clock": ({COMMAND, WIRE, OPEN}, "only lines of text show that it is always the highest bit"),
    "lost-release": ({PANEL}, ""),
    "two-panels": ({PANEL}, ""),
    "panel-order": ({PANEL}, ""),
    "creep": ({PANEL}, ""),
    "flood": ({PANEL, COMMAND, DRIVE}, "a sender that is too quick and a reader that is too slow are one trouble"),
    "sent-twice": ({COMMAND}, ""),
    "sequence-gap": ({COMMAND}, ""),
    "carriage-return": ({COMMAND}, ""),
    "no-end-mark": ({COMMAND}, ""),
    "text-between": ({COMMAND}, ""),
    "out-of-range": ({COMMAND}, ""),
    "wheel-reversed": ({WHEEL}, ""),
    "low-volts": ({POWER}, ""),
}


def first(verdict):
    """The layer with the largest share, or that of what was found besides; nothing where nothing was amiss."""
    shares = [(share["count"], share["layer"]) for share in verdict["layers"]]
    shares.append((verdict["unexplained"], OPEN))
    count, layer = max(shares, key=lambda share: share[0])
    if count:
        return layer
    return verdict["besides"][0]["layer"] if verdict["besides"] else None


def astray(fault, verdict):
    """The layer that it names first, where that is not where the fault is."""
    layer = first(verdict)
    places, _ = PLACES.get(fault, (set(), ""))
    return layer if layer and layer not in places else None
