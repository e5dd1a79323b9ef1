//! Which signals of a dump are the wires: those a person names, else those whose edges look like bytes, and beside one of
//! them a silent one whose name says that it is the other.

use wheeltap_parsers::Wire;

use super::asked::Asked;
use super::bit_clock::{BitClock, FEWEST_STEPS, USUAL, nominal};
use super::dump::Picos;
use super::edges::{Edges, SIGNALS};
use super::level::Level;
use super::probes::named;
use super::signal::{Signal, list};
use crate::timing::link::BORNE_BY_A_RECEIVER;

/// That no wire was found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NoWire {
    /// Where it was looked for, and what to do, without a full stop.
    pub words: String,
    /// There are signals besides the wheels' inputs: one of them may be the wire.
    pub looked_at_others: bool,
}

/// A signal that is a wire.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WireProbe {
    /// Which.
    pub signal: Signal,
    /// Its clock.
    pub clock: BitClock,
    /// The rate that is meant, baud.
    pub nominal: Option<u32>,
    /// What told the rate.
    pub told: RateBy,
}

/// What told the rate of a wire.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RateBy {
    /// Its edges, which lie on steps of this length.
    Edges(Picos),
    /// Its edges, but the dump's times go by steps too coarse to measure the sender's clock.
    CoarseEdges(Picos),
    /// The rover file: so many edges, and no steady rate in them.
    RoverFile {
        /// How many.
        edges: usize,
        /// The step of the dump's times.
        step: Picos,
    },
    /// The other wire: it is silent, and its name says which it is.
    Silent {
        /// The level it stays at.
        level: Level,
        /// The step of the dump's times.
        step: Picos,
    },
}

impl WireProbe {
    fn new(signal: &Signal, clock: BitClock, asked: &Asked, told: RateBy) -> Self {
        Self { signal: signal.clone(), clock, nominal: nominal(clock.milli_baud(), asked.rover.rate), told }
    }

    /// By its edges.
    fn by_edges(signal: &Signal, clock: BitClock, asked: &Asked, edges: &Edges) -> Self {
        let step = edges.step();
        let told = if clock.is_heard_by(step) {
            RateBy::Edges(step)
        } else if clock.is_exact(edges.of(signal)) {
            RateBy::Edges(edges.unit())
        } else {
            RateBy::CoarseEdges(step)
        };
        Self::new(signal, clock, asked, told)
    }

    /// The step of time on which its clock may be measured; `None` where that is too coarse.
    pub const fn step(&self) -> Option<Picos> {
        match self.told {
            RateBy::Edges(step) | RateBy::RoverFile { step, .. } | RateBy::Silent { step, .. } => Some(step),
            RateBy::CoarseEdges(_) => None,
        }
    }

    /// The rate that is meant, where a receiver of that rate bears the sender's clock; else the one that was measured.
    pub fn heard_rate(&self) -> Option<u32> {
        let clock = self.clock.baud();
        let borne =
            |meant: &u32| (clock - i64::from(*meant)).abs() * 1_000_000 <= i64::from(*meant) * BORNE_BY_A_RECEIVER;
        self.nominal.filter(borne).or_else(|| u32::try_from(clock).ok())
    }

    fn rate(&self) -> i64 {
        self.nominal.map_or_else(|| self.clock.baud(), i64::from)
    }

    /// The signal's name, and that it is upside down where it is.
    pub fn name(&self) -> String {
        format!("{}{}", self.signal.name, if self.clock.turned { " (upside down)" } else { "" })
    }

    /// What is said of it, without a full stop.
    pub fn words(&self) -> String {
        let baud = self.clock.baud();
        let rate = match self.told {
            RateBy::Edges(_) => self.rate_words(),
            RateBy::Silent { level, .. } => {
                let stays = if level == Level::Low { "low" } else { "high" };
                let rate = self.rate();
                format!("silent: it stays {stays} at the beginning of the dump; read at {rate} baud as the other wire")
            }
            RateBy::CoarseEdges(step) => format!(
                "about {baud} baud; the dump's times step by {}, too coarse to measure the sender's clock",
                length(step)
            ),
            RateBy::RoverFile { edges: 0, .. } => {
                format!("read at {baud} baud as the rover file says: it has no edges at the beginning of the dump")
            }
            RateBy::RoverFile { .. } => {
                format!("read at {baud} baud as the rover file says: its edges at the beginning fit no steady rate")
            }
        };
        let turned = if self.clock.turned {
            ". It is upside down: it rests low, as behind an inverter or at RS-232 levels, and a board's own receiver \
             needs it to rest high"
        } else {
            ""
        };
        format!("{}, {rate}{turned}", self.signal.name)
    }

    /// The rate that is meant; how far the sender is off it is measured on the way, and told as its clock.
    fn rate_words(&self) -> String {
        let Some(meant) = self.nominal else { return format!("{} baud by its edges", self.clock.baud()) };
        let off = (self.clock.baud() - i64::from(meant)).abs() * 100 / i64::from(meant).max(1);
        if off < 3 {
            format!("{meant} baud by its edges")
        } else {
            format!("meant for {meant} baud, and clearly off that by its edges")
        }
    }
}

/// A length of time in its own unit, such as `1 ms`.
pub fn length(time: Picos) -> String {
    const UNITS: [(&str, Picos); 5] =
        [("s", 1_000_000_000_000), ("ms", 1_000_000_000), ("us", 1_000_000), ("ns", 1_000), ("ps", 1)];
    let (unit, size) = UNITS.into_iter().find(|(_, size)| time >= *size).unwrap_or(("ps", 1));
    let tenths = (i128::from(time) * 10 + i128::from(size / 2)) / i128::from(size);
    if tenths % 10 == 0 { format!("{} {unit}", tenths / 10) } else { format!("{}.{} {unit}", tenths / 10, tenths % 10) }
}

fn edge_words(count: usize) -> String {
    match count {
        0 => "no edges".to_owned(),
        1 => "one edge".to_owned(),
        count => format!("{count} edges"),
    }
}

/// What to record where the dump's times are too coarse for this clock.
fn too_coarse(clock: BitClock, step: Picos) -> String {
    format!(
        "The dump's times step by {}, and bytes at {} baud need {} steps a bit at least: record with steps of {} or less",
        length(step),
        clock.baud(),
        FEWEST_STEPS,
        length(clock.bit / FEWEST_STEPS)
    )
}

/// That the steps of the dump's times are too coarse for the rate stated, or the usual one, where they are.
pub fn coarse(asked: &Asked, edges: &Edges) -> String {
    let clock = BitClock::of_rate(asked.rover.rate.unwrap_or(USUAL));
    if clock.is_heard_by(edges.step()) { String::new() } else { format!("{}. ", too_coarse(clock, edges.step())) }
}

/// The wires that a person names.
pub fn named_wires(
    asked: &Asked,
    signals: &[Signal],
    taken: &[(u32, u32)],
    edges: &Edges,
) -> Result<[Option<WireProbe>; 2], String> {
    if asked.wires.len() > 2 {
        return Err(
            "--wire was given more than twice: first the wire to the drive board, then the wire back".to_owned()
        );
    }
    let mut wires = [None, None];
    for (place, name) in wires.iter_mut().zip(&asked.wires) {
        let signal = named(name, "--wire", signals)?;
        if taken.contains(&signal.place()) {
            return Err(format!(
                "{} is named by --wire, and it is an input of a wheel as well. Name another signal for one of them",
                signal.name
            ));
        }
        *place = Some(named_wire(signal, asked, edges)?);
    }
    if let [Some(one), Some(two)] = &wires
        && one.signal.place() == two.signal.place()
    {
        return Err(format!(
            "--wire names {} twice: first the wire to the drive board, then the wire back. Name two signals, or one",
            one.signal.name
        ));
    }
    Ok(wires)
}

fn named_wire(signal: &Signal, asked: &Asked, edges: &Edges) -> Result<WireProbe, String> {
    let own = edges.of(signal);
    if let Some(clock) = BitClock::of_named(own, edges.unit(), edges.step()) {
        return Ok(WireProbe::by_edges(signal, clock, asked, edges));
    }
    // The level at the beginning is no edge.
    let count = own.len().saturating_sub(1);
    let none = format!("`{}` has {} at the beginning of the dump", signal.name, edge_words(count));
    let Some(clock) = asked.rover.rate.map(BitClock::of_rate) else {
        return Err(format!(
            "{none}, and they are no bytes at any steady rate. {}Name another signal with --wire, or state the rate in the \
             rover file",
            coarse(asked, edges)
        ));
    };
    if count > 0 && !clock.is_heard_by(edges.step()) {
        return Err(format!("{none}. {}", too_coarse(clock, edges.step())));
    }
    Ok(WireProbe::new(signal, clock, asked, RateBy::RoverFile { edges: count, step: edges.step() }))
}

/// The wires by their edges and names.
pub fn found_wires(
    asked: &Asked,
    signals: &[Signal],
    taken: &[(u32, u32)],
    edges: &Edges,
) -> Result<[Option<WireProbe>; 2], String> {
    let mut fits: Vec<WireProbe> = Vec::new();
    for signal in signals.iter().filter(|signal| !taken.contains(&signal.place())) {
        let known = fits.iter().any(|fit| fit.signal.place() == signal.place());
        if let Some(clock) = BitClock::of(edges.of(signal), edges.unit()).filter(|_| !known) {
            fits.push(WireProbe::by_edges(signal, clock, asked, edges));
        }
    }
    let silent = |wire, other| silent_wire(wire, other, asked, (signals, taken, edges));
    match fits.as_slice() {
        [] => Ok([None, None]),
        [one] if is_named(Wire::FromDrive, &one.signal) => Ok([silent(Wire::ToDrive, one), Some(one.clone())]),
        [one] => Ok([Some(one.clone()), silent(Wire::FromDrive, one)]),
        [one, two] if is_named(Wire::ToDrive, &one.signal) && is_named(Wire::FromDrive, &two.signal) => {
            Ok([Some(one.clone()), Some(two.clone())])
        }
        [one, two] if is_named(Wire::FromDrive, &one.signal) && is_named(Wire::ToDrive, &two.signal) => {
            Ok([Some(two.clone()), Some(one.clone())])
        }
        many => Err(ambiguous(many)),
    }
}

/// Whether the name says that it is this wire.
fn is_named(wire: Wire, signal: &Signal) -> bool {
    match wire {
        Wire::ToDrive => signal.has_word(&["orders", "order"]) || both_words(signal, "to"),
        Wire::FromDrive => signal.has_word(&["answers", "answer"]) || both_words(signal, "from"),
    }
}

/// The one signal that is named as this wire and never changes: a wire that is tapped, and on which nobody sends.
fn silent_wire(
    wire: Wire,
    other: &WireProbe,
    asked: &Asked,
    (signals, taken, edges): (&[Signal], &[(u32, u32)], &Edges),
) -> Option<WireProbe> {
    let level = |signal: &Signal| {
        let mut known = edges.of(signal).iter().map(|(_, level)| *level).filter(|level| *level != Level::Unknown);
        let first = known.next()?;
        known.all(|level| level == first).then_some(first)
    };
    let free = |signal: &&Signal| !taken.contains(&signal.place()) && is_named(wire, signal);
    let mut fits = signals.iter().filter(free).filter_map(|signal| Some((signal, level(signal)?)));
    let (signal, level) = fits.next()?;
    if fits.any(|(another, _)| another.place() != signal.place()) {
        return None;
    }
    let told = RateBy::Silent { level, step: edges.step() };
    Some(WireProbe::new(signal, other.clock, asked, told))
}

/// That no wire was found, and how to name one; where every signal is an input of a wheel, that none was recorded.
pub fn no_wire(asked: &Asked, signals: &[Signal], taken: &[(u32, u32)], edges: &Edges) -> NoWire {
    let free: Vec<&Signal> = signals.iter().filter(|signal| !taken.contains(&signal.place())).collect();
    if free.is_empty() {
        let words = "No wire was found: every signal is an input of a wheel, so no orders can be read. Record the wire \
                     between the boards together with them";
        return NoWire { words: words.to_owned(), looked_at_others: false };
    }
    let more = if signals.len() > SIGNALS {
        format!(" Only the first {SIGNALS} signals of {} were looked at.", signals.len())
    } else {
        String::new()
    };
    let words = format!(
        "No wire was found: none of these signals looks like bytes: {}.{more} {}Name the wire with --wire NAME",
        list(&free),
        coarse(asked, edges)
    );
    NoWire { words, looked_at_others: true }
}

/// `to_drive`, `from_drive`.
fn both_words(signal: &Signal, word: &str) -> bool {
    signal.has_word(&[word]) && signal.has_word(&["drive"])
}

fn ambiguous(many: &[WireProbe]) -> String {
    let shown = many.iter().take(24).map(|probe| format!("{} ({} baud)", probe.signal.name, probe.rate()));
    format!(
        "{} signals carry bytes. Say which is the wire to the drive board with --wire NAME; give it twice, and the second \
         is the wire back. They are: {}",
        many.len(),
        shown.collect::<Vec<_>>().join(", ")
    )
}
