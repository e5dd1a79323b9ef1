//! The table of cases: what each does to the rover, and what a tap may say of it.

use wheeltap::rover::wheels::Wheel;

pub use crate::orders::Link;

/// A count from the first to the second, both included.
#[derive(Clone, Copy, Debug)]
pub struct Range(pub u64, pub u64);

impl Range {
    pub const fn contains(self, count: u64) -> bool {
        self.0 <= count && count <= self.1
    }
}

/// What the pins at the wheels must show.
#[derive(Clone, Copy, Debug)]
pub enum Pins {
    /// As meant, but for these wheels, where a fault behind the wire was planted.
    As(&'static [Wheel]),
    /// Not compared, with the reason.
    Apart(&'static str),
}

/// One case.
pub struct Case {
    pub name: &'static str,
    pub link: Link,
    /// Macros of the command board's program.
    pub command: &'static [&'static str],
    /// Macros of the drive board's program.
    pub drive: &'static [&'static str],
    /// Options of the rig.
    pub rig: &'static [&'static str],
    pub pins: Pins,
    /// False where the drive board does not stop when a deadline runs out.
    pub stops: bool,
    /// Orders sent that may be missing.
    pub lost: Range,
    /// The findings, exactly: anything else would be a false claim.
    pub claims: &'static [(&'static str, Range)],
    /// The causes of damage, exactly.
    pub damage: &'static [(&'static str, Range)],
}

/// A sound run.
const SOUND: Case = Case {
    name: "",
    link: Link::Cue,
    command: &[],
    drive: &[],
    rig: &["length=5000"],
    pins: Pins::As(&[]),
    stops: true,
    lost: Range(0, 0),
    claims: &[],
    damage: &[],
};

/// Every case.
pub const CASES: &[Case] = &[
    Case { name: "clean-cue", ..SOUND },
    Case { name: "clean-stave", link: Link::Stave, ..SOUND },
    Case {
        name: "clean-plain",
        link: Link::Plain,
        rig: &["length=6500"],
        claims: &[("nothing-would-stop-it", Range(10, 10))],
        ..SOUND
    },
];
