//! Faults between the drive board's reader and the wheels. The wire is perfect in all of them, so a tap may claim
//! nothing; only the pins show that the fault is there, and a recording of both ends names the side.

use wheeltap::rover::wheels::Wheel::{FL, FR, RL, RR};

use wheeltap::rover::wheels::Wheel;

use super::{Case, Link, Pins, SOUND, SOUND_PLAIN};

const FIRMWARE: &str = "pins-firmware";
const LOOM: &str = "pins-loom";
/// Every wheel, by the drive board's firmware.
pub const ALL_FIRMWARE: &[(&str, Wheel)] = &[(FIRMWARE, FL), (FIRMWARE, FR), (FIRMWARE, RL), (FIRMWARE, RR)];

pub const CASES: &[Case<'static>] = &[
    Case {
        name: "pair-exchanged-in-firmware",
        drive: &["FAULT_PAIR_EXCHANGED"],
        pins: Pins::As(&[FL]),
        apart: &[(FIRMWARE, FL)],
        names: "FL is driven the other way",
        ..SOUND
    },
    Case {
        name: "pair-exchanged-in-loom",
        rig: &["cross=B3,B4"],
        pins: Pins::As(&[RR]),
        apart: &[(LOOM, RR)],
        names: "RR is driven the other way",
        ..SOUND
    },
    Case {
        name: "pair-exchanged-plain",
        rig: &["length=6500", "cross=A3,A4"],
        pins: Pins::As(&[FR]),
        apart: &[(LOOM, FR)],
        names: "FR is driven the other way",
        ..SOUND_PLAIN
    },
    Case {
        name: "inputs-2-and-3-crossed",
        rig: &["cross=A2,A3"],
        pins: Pins::As(&[FL, FR]),
        apart: &[(LOOM, FL), (LOOM, FR)],
        names: "input leads 2 and 3 crossed at the driver of FL and FR",
        ..SOUND
    },
    Case {
        name: "inputs-1-and-3-crossed",
        link: Link::Stave,
        rig: &["cross=B1,B3"],
        pins: Pins::As(&[RL, RR]),
        apart: &[(LOOM, RL), (LOOM, RR)],
        names: "input leads 1 and 3 crossed at the driver of RL and RR",
        ..SOUND
    },
    Case {
        name: "input-open",
        rig: &["open=B4"],
        pins: Pins::As(&[RR]),
        apart: &[(LOOM, RR)],
        names: "an input of RR is open",
        ..SOUND
    },
    Case {
        name: "enable-open",
        link: Link::Stave,
        rig: &["open=AE1"],
        pins: Pins::As(&[FL]),
        apart: &[(LOOM, FL)],
        names: "an input of FL is open",
        ..SOUND
    },
    Case {
        name: "left-plugs-exchanged",
        rig: &["exchange=FL,RL"],
        pins: Pins::As(&[FL, RL]),
        apart: &[(LOOM, FL), (LOOM, RL)],
        names: "outputs exchanged: FL and RL",
        ..SOUND
    },
    Case {
        name: "front-plugs-exchanged",
        rig: &["exchange=FL,FR"],
        pins: Pins::As(&[FL, FR]),
        apart: &[(LOOM, FL), (LOOM, FR)],
        names: "outputs exchanged: FL and FR",
        ..SOUND
    },
    Case {
        name: "diagonal-plugs-exchanged",
        link: Link::Stave,
        rig: &["exchange=FR,RL"],
        pins: Pins::As(&[FR, RL]),
        apart: &[(LOOM, FR), (LOOM, RL)],
        names: "outputs exchanged: FR and RL",
        ..SOUND
    },
    Case {
        name: "wrong-sign-row",
        drive: &["FAULT_SIGN_ROW"],
        pins: Pins::As(&[RL]),
        apart: &[(FIRMWARE, RL)],
        names: "wrong sign for RL",
        ..SOUND
    },
    Case {
        name: "wrong-duty-scale",
        drive: &["FAULT_DUTY_SCALE"],
        pins: Pins::As(&[FL, FR, RL, RR]),
        apart: ALL_FIRMWARE,
        names: "every wheel is driven as meant",
        ..SOUND
    },
    Case {
        name: "clipped-in-place-of-scaled",
        drive: &["FAULT_CLIPS"],
        pins: Pins::As(&[FL, RL, RR]),
        apart: &[(FIRMWARE, FL), (FIRMWARE, RL), (FIRMWARE, RR)],
        names: "every wheel is driven as meant",
        ..SOUND
    },
];
