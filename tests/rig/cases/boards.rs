//! Faults of the boards: their readers, writers, deadlines and supplies, and leads that break.

use wheeltap::rover::wheels::Wheel::{FL, FR, RL, RR};

use super::{Case, Link, Pins, Range, SOME, SOUND, SOUND_PLAIN};

const ONCE: Range = Range(1, 1);
const TWICE: Range = Range(2, 2);
const UNHEARD: &str = "pins-unheard";
const RUN_ON: &[(&str, wheeltap::rover::wheels::Wheel)] =
    &[("pins-run-on", FL), ("pins-run-on", FR), ("pins-run-on", RL), ("pins-run-on", RR)];

pub const CASES: &[Case<'static>] = &[
    Case {
        name: "sends-on-change-cue",
        command: &["FAULT_SEND_ON_CHANGE", "SCRIPT_STILL"],
        claims: &[("lapse", TWICE), ("sends-on-change", TWICE)],
        ..SOUND
    },
    Case {
        name: "sends-on-change-stave",
        link: Link::Stave,
        command: &["FAULT_SEND_ON_CHANGE", "SCRIPT_STILL"],
        claims: &[("lapse", TWICE)],
        ..SOUND
    },
    Case {
        name: "sends-on-change-behind-an-adapter",
        command: &["FAULT_SEND_ON_CHANGE", "SCRIPT_STILL"],
        rig: &["adapter=16"],
        claims: &[("lapse", TWICE), ("sends-on-change", TWICE)],
        ..SOUND
    },
    // The orders run out on the wire; that the drive board goes on is not to be seen there.
    Case {
        name: "obeys-for-ever",
        command: &["FAULT_SEND_ON_CHANGE", "SCRIPT_STILL"],
        drive: &["FAULT_OBEYS_FOR_EVER"],
        pins: Pins::As(&[FL, FR, RL, RR]),
        stops: false,
        apart: RUN_ON,
        names: "every wheel is driven as meant",
        claims: &[("lapse", TWICE), ("sends-on-change", TWICE)],
        ..SOUND
    },
    // The end mark of `way,port` is missing. This reader gives up after a second and obeys what it has.
    Case {
        name: "reads-until-end-mark",
        command: &["FAULT_NO_END_MARK", "SCRIPT_SHORT"],
        drive: &["FAULT_READS_UNTIL_END_MARK"],
        pins: Pins::As(&[FL, FR, RL, RR]),
        claims: &[("truncated", ONCE), ("nothing-would-stop-it", ONCE)],
        damage: &[("truncated", ONCE)],
        // Until the reader gives up the wheels run on.
        apart: RUN_ON,
        names: "every wheel is driven as meant",
        ..SOUND_PLAIN
    },
    Case {
        name: "missing-end-mark-plain",
        command: &["FAULT_NO_END_MARK", "SCRIPT_SHORT"],
        claims: &[("truncated", ONCE), ("nothing-would-stop-it", ONCE)],
        damage: &[("truncated", ONCE)],
        ..SOUND_PLAIN
    },
    // The drive board refuses the line that stands glued behind; once that order was to rest, and the leg went on.
    Case {
        name: "missing-end-mark-cue",
        command: &["FAULT_NO_END_MARK"],
        // The sixth stands at the end of the log: nothing came behind it, so nothing is claimed of it.
        claims: &[("truncated", Range(5, 5)), ("no-end-mark", Range(5, 5))],
        damage: &[("truncated", Range(6, 6))],
        ..SOUND
    },
    Case {
        name: "slow-loop-with-queue",
        drive: &["FAULT_SLOW_LOOP"],
        pins: Pins::Apart("the drive board is late and loses lines"),
        claims: &[("refused-intact", SOME), ("answer-growing", SOME), ("answer-missing", SOME)],
        ..SOUND
    },
    Case {
        name: "leftover-cr-cue",
        command: &["FAULT_LEFTOVER_CR"],
        pins: Pins::Apart("nothing is meant"),
        heard: false,
        claims: &[("overlong", Range(96, 96))],
        damage: &[("overlong", Range(96, 96))],
        ..SOUND
    },
    Case {
        name: "leftover-cr-plain",
        command: &["FAULT_LEFTOVER_CR", "SCRIPT_SHORT"],
        pins: Pins::Apart("nothing is meant"),
        heard: false,
        claims: &[("unknown-word", Range(4, 4)), ("not-a-number", ONCE)],
        damage: &[("unknown-word", Range(4, 4)), ("not-a-number", ONCE)],
        ..SOUND_PLAIN
    },
    Case {
        name: "start-up-text-glued-cue",
        command: &["FAULT_GLUED_START"],
        claims: &[("glued-at-start", ONCE)],
        ..SOUND
    },
    Case { name: "start-up-text-glued-stave", link: Link::Stave, command: &["FAULT_GLUED_START"], ..SOUND },
    // The drive board does not know the word before the comma and keeps its duty of power-up.
    Case {
        name: "start-up-text-glued-plain",
        command: &["FAULT_GLUED_START", "SCRIPT_SHORT"],
        claims: &[("nothing-would-stop-it", TWICE), ("glued-at-start", ONCE)],
        ..SOUND_PLAIN
    },
    Case {
        name: "brown-out-of-command-board-cue",
        rig: &["command-sags=2052"],
        claims: &[("reset-brown-out", ONCE), ("silent-while-moving", ONCE), ("truncated", ONCE)],
        damage: &[("truncated", ONCE)],
        ..SOUND
    },
    Case {
        name: "brown-out-of-command-board-stave",
        link: Link::Stave,
        rig: &["command-sags=2051"],
        claims: &[("reset-brown-out", ONCE), ("silent-while-moving", ONCE), ("truncated", ONCE)],
        damage: &[("truncated", ONCE)],
        ..SOUND
    },
    // The drive board says why it started, in a frame of its own: `=up 1.3 sag`.
    Case {
        name: "brown-out-of-drive-board",
        rig: &["drive-sags=2056"],
        claims: &[("reset-brown-out", ONCE), ("truncated", ONCE)],
        damage: &[("truncated", ONCE)],
        ..SOUND
    },
    Case {
        name: "watchdog-of-drive-board",
        command: &["SCRIPT_HANG"],
        drive: &["FAULT_HANGS"],
        claims: &[("reset-watchdog", Range(4, 4))],
        ..SOUND
    },
    Case { name: "mute-drive-board", drive: &["FAULT_MUTE"], ..SOUND },
    // An order that was refused does not put off the deadline of the one in force.
    Case {
        name: "refuses-sound-orders",
        command: &["SCRIPT_STILL"],
        drive: &["FAULT_REFUSES"],
        claims: &[("lapse", ONCE), ("refused-intact", SOME)],
        ..SOUND
    },
    Case {
        name: "wire-cut-before-the-tap-cue",
        rig: &["cut=2030"],
        claims: &[("silent-while-moving", ONCE), ("lapse", ONCE)],
        ..SOUND
    },
    Case {
        name: "wire-cut-before-the-tap-stave",
        link: Link::Stave,
        rig: &["cut=2030"],
        claims: &[("silent-while-moving", ONCE), ("lapse", ONCE)],
        ..SOUND
    },
    Case {
        name: "brown-out-of-command-board-behind-an-adapter",
        rig: &["command-sags=2052", "adapter=16"],
        claims: &[
            ("reset-brown-out", ONCE),
            ("silent-while-moving", ONCE),
            ("truncated", ONCE),
            ("adapter-grid", SOME),
        ],
        damage: &[("truncated", ONCE)],
        ..SOUND
    },
    // The tap still hears every order. That answers stop has no rule yet.
    // From the start. A lead that breaks in mid-run makes the moves before it contradict those after: `diagnose` then
    // calls them doubtful and its likeliest name is wrong.
    Case {
        name: "wire-cut-behind-the-tap",
        rig: &["deaf=300"],
        pins: Pins::As(&[FL, FR, RL, RR]),
        apart: &[(UNHEARD, FL), (UNHEARD, FR), (UNHEARD, RL), (UNHEARD, RR)],
        names: "no order reaches the drive board",
        claims: &[("answer-missing", SOME)],
        ..SOUND
    },
    Case { name: "instant-reversal", command: &["SCRIPT_REVERSAL"], ..SOUND },
    // Two panels count for themselves: no message is missing in either series.
    Case {
        name: "two-senders",
        command: &["FAULT_TWO_SENDERS"],
        pins: Pins::Apart("moves change too fast to measure a duty"),
        claims: &[("two-panels", Range(100, 400))],
        ..SOUND
    },
    Case {
        name: "sequence-gap-at-the-sender",
        command: &["FAULT_SEQUENCE_GAP"],
        claims: &[("sequence-gap", Range(3, 3))],
        ..SOUND
    },
];
