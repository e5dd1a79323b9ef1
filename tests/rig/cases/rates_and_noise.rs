//! Rates that do not fit, and noise. Where the tap's receiver hears other bytes than were sent, no order may be shown.

use super::{Case, Link, Pins, Range, SOME, SOUND, SOUND_PLAIN};

const DEAF: Case<'static> = Case { pins: Pins::Apart("nothing is meant"), heard: false, ..SOUND };

/// Every damage, and what else is named.
macro_rules! any_damage {
    ($($other:expr),*) => {
        &[
            ("bad-check", SOME),
            ("truncated", SOME),
            ("overlong", SOME),
            ("glued", SOME),
            ("unknown-word", SOME),
            ("out-of-range", SOME),
            ("not-a-number", SOME),
            $($other),*
        ]
    };
}

const ANY_DAMAGE: &[(&str, Range)] = any_damage![];

/// Damage, noise, that nothing fits, and whose rate or clock does not, may be said, nothing else.
const ONLY_DAMAGE: &[(&str, Range)] =
    any_damage![("noise", SOME), ("nothing-fits", SOME), ("wrong-rate", SOME), ("clock-off", SOME)];

/// The tap listens at another rate than the rover file states: that must be said.
const TAP_RATE: &[(&str, Range)] =
    any_damage![("noise", SOME), ("nothing-fits", SOME), ("wrong-rate", Range(1, u64::MAX))];

/// As well: what follows for the rover when orders are lost.
const DAMAGE_AND_ITS_WAKE: &[(&str, Range)] =
    any_damage![("noise", SOME), ("silent-while-moving", SOME), ("lapse", SOME)];

/// As well: that it follows the duty.
const NOISE_BY_DUTY: &[(&str, Range)] =
    any_damage![("noise", SOME), ("silent-while-moving", SOME), ("lapse", SOME), ("noise-with-duty", SOME)];

pub const CASES: &[Case<'static>] = &[
    // 117,647 baud at both boards: the nearest that 16 MHz gives, 2.1 % above the tap.
    Case {
        name: "divisor-2.1-percent-fast",
        command: &["DIVISOR=16"],
        names: "every wheel is driven as meant",
        ..SOUND
    },
    // 111,111 baud at the command board, 117,647 at the drive board, 115,200 at the tap: still heard by both.
    Case { name: "divisor-3.5-percent-slow", command: &["DIVISOR=17"], pins: Pins::Apart(BOARDS), ..SOUND },
    // 4.5 % above the tap: just inside what its receiver bears.
    Case {
        name: "clock-4.5-percent-fast",
        rig: &["command-clock=16375000"],
        names: "every wheel is driven as meant",
        ..SOUND
    },
    // A command board on a clock of its own, 5.2 % above the tap: the drive board, itself fast, hears it well.
    Case {
        name: "clock-5.2-percent-fast",
        rig: &["command-clock=16482000"],
        claims: ONLY_DAMAGE,
        damage: ANY_DAMAGE,
        ..DEAF
    },
    Case {
        name: "divisor-8.5-percent-fast-cue",
        command: &["DIVISOR=15"],
        claims: ONLY_DAMAGE,
        damage: ANY_DAMAGE,
        ..DEAF
    },
    Case {
        name: "divisor-8.5-percent-fast-stave",
        link: Link::Stave,
        command: &["DIVISOR=15"],
        claims: ONLY_DAMAGE,
        damage: ANY_DAMAGE,
        ..DEAF
    },
    Case {
        name: "divisor-8.6-percent-slow-cue",
        command: &["DIVISOR=18"],
        claims: ONLY_DAMAGE,
        damage: ANY_DAMAGE,
        ..DEAF
    },
    Case {
        name: "divisor-8.6-percent-slow-stave",
        link: Link::Stave,
        command: &["DIVISOR=18"],
        claims: ONLY_DAMAGE,
        damage: ANY_DAMAGE,
        ..DEAF
    },
    Case { name: "tap-at-9600", rig: &["tap-rate=9600"], claims: TAP_RATE, damage: ANY_DAMAGE, ..DEAF },
    Case { name: "tap-at-19200", rig: &["tap-rate=19200"], claims: TAP_RATE, damage: ANY_DAMAGE, ..DEAF },
    Case { name: "tap-at-57600", rig: &["tap-rate=57600"], claims: TAP_RATE, damage: ANY_DAMAGE, ..DEAF },
    Case {
        name: "tap-at-230400",
        link: Link::Stave,
        rig: &["tap-rate=230400"],
        claims: TAP_RATE,
        damage: ANY_DAMAGE,
        ..DEAF
    },
    Case {
        name: "noise-weak",
        rig: &["noise=100", "seed=7"],
        claims: DAMAGE_AND_ITS_WAKE,
        damage: ANY_DAMAGE,
        ..SOUND
    },
    Case { name: "noise-middling", rig: &["noise=500"], claims: DAMAGE_AND_ITS_WAKE, damage: ANY_DAMAGE, ..SOUND },
    // A lapse told of an order before the one in force stops nothing.
    Case { name: "noise-strong", rig: &["noise=5000"], claims: DAMAGE_AND_ITS_WAKE, damage: ANY_DAMAGE, ..SOUND },
    Case {
        name: "noise-middling-stave",
        link: Link::Stave,
        rig: &["noise=1000"],
        claims: DAMAGE_AND_ITS_WAKE,
        damage: ANY_DAMAGE,
        ..SOUND
    },
    // A sender that repeats every 50 ms is one, however many of its frames are lost.
    Case {
        name: "noise-does-not-change-the-rhythm",
        rig: &["noise=800", "seed=2", "length=6500"],
        claims: DAMAGE_AND_ITS_WAKE,
        damage: ANY_DAMAGE,
        ..SOUND
    },
    // The reason in the first start-up text is hit: it is the first start all the same.
    Case {
        name: "noise-in-the-first-start-up-text",
        link: Link::Stave,
        rig: &["noise=15000", "seed=7", "length=6500"],
        claims: DAMAGE_AND_ITS_WAKE,
        damage: ANY_DAMAGE,
        ..SOUND
    },
    Case {
        name: "noise-middling-plain",
        rig: &["length=6500", "noise=1000"],
        pins: Pins::Apart("a hit line without a check may be another line, or none"),
        claims: &[("nothing-would-stop-it", SOME), ("unknown-word", SOME)],
        damage: ANY_DAMAGE,
        ..SOUND_PLAIN
    },
    // Once an order comes 6 us before the deadline of the last good one: the drive board's clock says it is over.
    Case {
        name: "noise-by-duty",
        rig: &["noise=1500", "by-duty=1"],
        claims: NOISE_BY_DUTY,
        damage: ANY_DAMAGE,
        ..SOUND
    },
];

const BOARDS: &str = "5.5 % between the boards is more than the drive board's receiver bears";
