//! The table of cases: what each does to the rover, and what a tap may say of it.

#[path = "cases/behind_the_wire.rs"]
mod behind_the_wire;
#[path = "cases/boards.rs"]
mod boards;
#[path = "cases/rates_and_noise.rs"]
mod rates_and_noise;

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

/// Any number of times: the exact number is the chance of the noise, and orders that were hit are counted one by one.
pub const SOME: Range = Range(0, u64::MAX);

/// What the pins at the wheels must show.
#[derive(Clone, Copy, Debug)]
pub enum Pins {
    /// As meant, but for these wheels, where a fault behind the wire was planted.
    As(&'static [Wheel]),
    /// Not compared, with the reason.
    #[allow(dead_code, reason = "the reason is for the reader of the table")]
    Apart(&'static str),
}

/// One case. Only the table's own rows live for ever; a test may make others from them.
pub struct Case<'a> {
    pub name: &'static str,
    pub link: Link,
    /// Macros of the command board's program.
    pub command: &'static [&'static str],
    /// Macros of the drive board's program.
    pub drive: &'static [&'static str],
    /// Options of the rig.
    pub rig: &'a [&'a str],
    pub pins: Pins,
    /// False where the drive board does not stop when a deadline runs out.
    pub stops: bool,
    /// False where the form of the orders is not that of the rover file, or the tap cannot hear: none may be decoded.
    pub heard: bool,
    /// The findings, exactly: anything else would be a false claim.
    pub claims: &'static [(&'static str, Range)],
    /// The causes of damage, exactly.
    pub damage: &'static [(&'static str, Range)],
    /// What the dump shows to part, exactly: the finding and its wheel. Judged where the pins are compared.
    pub apart: &'static [(&'static str, Wheel)],
    /// What `diagnose` names from the dump, likeliest, or says of an open input; empty where it is not asked. It looks at
    /// ways of turning alone: a wrong duty, or a stop that does not come, is nothing wrong to it.
    pub names: &'static str,
    /// Words of the faults that wheeltap has today. Each must still fit, so that a mended one is struck from here.
    pub wrong_today: &'static [&'static str],
}

impl Case<'_> {
    /// How late a byte can come to the tap's program, nanoseconds: the adapter's timer and one frame of its bus.
    pub fn latency(&self) -> i64 {
        let adapter = self.rig.iter().find_map(|option| option.strip_prefix("adapter=")).map(str::parse::<i64>);
        adapter.map_or(0, |ms| (ms.unwrap() + 1) * 1_000_000)
    }
}

/// A sound run of the cue line.
const SOUND: Case<'static> = Case {
    name: "",
    link: Link::Cue,
    command: &[],
    drive: &[],
    rig: &[],
    pins: Pins::As(&[]),
    stops: true,
    heard: true,
    claims: &[],
    damage: &[],
    apart: &[],
    names: "",
    wrong_today: &[],
};

/// The same, on the plain line.
const SOUND_PLAIN: Case =
    Case { link: Link::Plain, rig: &["length=6500"], claims: &[("nothing-would-stop-it", Range(10, 10))], ..SOUND };

/// The adapter's own grid may be named as the adapter's.
const ADAPTER: &[(&str, Range)] = &[("adapter-grid", SOME)];

const CLEAN: &[Case<'static>] = &[
    Case { name: "clean-cue", names: "every wheel is driven as meant", ..SOUND },
    Case { name: "clean-stave", link: Link::Stave, names: "every wheel is driven as meant", ..SOUND },
    Case { name: "clean-plain", names: "every wheel is driven as meant", ..SOUND_PLAIN },
    Case { name: "one-wire-tapped", rig: &["one-wire=1"], ..SOUND },
    // Reads on a grid of 16 ms look bunched and late; the rover is neither.
    Case { name: "clean-cue-behind-an-adapter", rig: &["adapter=16"], claims: ADAPTER, ..SOUND },
    Case { name: "clean-stave-behind-an-adapter", link: Link::Stave, rig: &["adapter=16"], claims: ADAPTER, ..SOUND },
    Case { name: "clean-plain-behind-an-adapter", rig: &["length=6500", "adapter=16"], ..SOUND_PLAIN },
];

/// Whether what stands on the wire is not what was sent, or is not in the form of the rover file.
pub fn spoils_bytes(case: &Case<'_>) -> bool {
    let rig = ["noise=", "cut=", "command-sags="];
    let command = ["FAULT_LEFTOVER_CR", "FAULT_NO_END_MARK"];
    case.rig.iter().any(|option| rig.iter().any(|spoils| option.starts_with(spoils)))
        || case.command.iter().any(|fault| command.contains(fault))
}

/// Every case.
pub fn all() -> impl Iterator<Item = &'static Case<'static>> {
    [CLEAN, behind_the_wire::CASES, boards::CASES, rates_and_noise::CASES].into_iter().flatten()
}
