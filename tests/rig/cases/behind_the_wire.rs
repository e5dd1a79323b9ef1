//! Faults between the drive board's reader and the wheels. The wire is perfect in all of them, so a tap may claim
//! nothing; only the pins show that the fault is there.

use wheeltap::rover::wheels::Wheel::{FL, FR, RL, RR};

use super::{Case, Link, Pins, SOUND, SOUND_PLAIN};

pub const CASES: &[Case<'static>] = &[
    Case { name: "pair-exchanged-in-firmware", drive: &["FAULT_PAIR_EXCHANGED"], pins: Pins::As(&[FL]), ..SOUND },
    Case { name: "pair-exchanged-in-loom", rig: &["cross=B3,B4"], pins: Pins::As(&[RR]), ..SOUND },
    Case { name: "pair-exchanged-plain", rig: &["length=6500", "cross=A3,A4"], pins: Pins::As(&[FR]), ..SOUND_PLAIN },
    Case { name: "inputs-2-and-3-crossed", rig: &["cross=A2,A3"], pins: Pins::As(&[FL, FR]), ..SOUND },
    Case {
        name: "inputs-1-and-3-crossed",
        link: Link::Stave,
        rig: &["cross=B1,B3"],
        pins: Pins::As(&[RL, RR]),
        ..SOUND
    },
    Case { name: "input-open", rig: &["open=B4"], pins: Pins::As(&[RR]), ..SOUND },
    Case { name: "enable-open", link: Link::Stave, rig: &["open=AE1"], pins: Pins::As(&[FL]), ..SOUND },
    Case { name: "left-plugs-exchanged", rig: &["exchange=FL,RL"], pins: Pins::As(&[FL, RL]), ..SOUND },
    Case { name: "front-plugs-exchanged", rig: &["exchange=FL,FR"], pins: Pins::As(&[FL, FR]), ..SOUND },
    Case {
        name: "diagonal-plugs-exchanged",
        link: Link::Stave,
        rig: &["exchange=FR,RL"],
        pins: Pins::As(&[FR, RL]),
        ..SOUND
    },
    Case { name: "wrong-sign-row", drive: &["FAULT_SIGN_ROW"], pins: Pins::As(&[RL]), ..SOUND },
    Case { name: "wrong-duty-scale", drive: &["FAULT_DUTY_SCALE"], pins: Pins::As(&[FL, FR, RL, RR]), ..SOUND },
    Case { name: "clipped-in-place-of-scaled", drive: &["FAULT_CLIPS"], pins: Pins::As(&[FL, RL, RR]), ..SOUND },
];
