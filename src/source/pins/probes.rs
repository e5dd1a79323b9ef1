//! Which signal of a dump is what: the wires by what a person says or by their edges, the wheels' inputs by what a
//! person says, by the rover file's names, or by their own names.

use wheeltap_parsers::{Place, Wire};

use super::asked::{Asked, WHEELS, WheelPins};
use super::bit_clock::{BitClock, FEWEST_STEPS, USUAL, nominal};
use super::dump::Picos;
use super::edges::Edges;
use super::signal::{Signal, list};

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
}

/// The inputs of one half bridge.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WheelProbe {
    /// Where.
    pub place: Place,
    /// Which wheel, 0 to 3.
    pub wheel: usize,
    /// IN1, IN2, and EN where it is recorded.
    pub inputs: Vec<Signal>,
    /// IN1 high drives the wheel backward.
    pub inverted: bool,
}

/// What is what.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Probes {
    /// By wire.
    pub wires: [Option<WireProbe>; 2],
    /// Every half bridge whose inputs are known.
    pub wheels: Vec<WheelProbe>,
}

impl Probes {
    /// Tells from what is `asked`, all signals, and the `edges` of the beginning. What is wrong is said with what to do.
    pub fn find(asked: &Asked, signals: &[Signal], edges: &Edges) -> Result<Self, String> {
        let wheels = wheels(asked, signals)?;
        let taken: Vec<(u32, u32)> = wheels.iter().flat_map(|wheel| &wheel.inputs).map(Signal::place).collect();
        let wires = if asked.wires.is_empty() {
            found_wires(asked, signals, &taken, edges)?
        } else {
            named_wires(asked, signals, &taken, edges)?
        };
        if wires == [None, None] && wheels.is_empty() {
            return Err(nothing(signals, asked, edges));
        }
        Ok(Self { wires, wheels })
    }

    /// What was found, a sentence for each wire and wheel.
    pub fn words(&self) -> Vec<String> {
        let wires = Wire::BOTH.iter().zip(&self.wires).filter_map(|(wire, probe)| {
            let probe = probe.as_ref()?;
            Some(format!("Wire {} is {}.", wire.symbol(), probe.words()))
        });
        wires.chain(self.wheels.iter().map(WheelProbe::words)).collect()
    }
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
            RateBy::Edges(step) | RateBy::RoverFile { step, .. } => Some(step),
            RateBy::CoarseEdges(_) => None,
        }
    }

    /// The signal's name, and that it is upside down where it is.
    pub fn name(&self) -> String {
        format!("{}{}", self.signal.name, if self.clock.turned { " (upside down)" } else { "" })
    }

    fn words(&self) -> String {
        let baud = self.clock.baud();
        let rate = match self.told {
            RateBy::Edges(_) => format!("{baud} baud by its edges"),
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
}

/// A length of time in its own unit, such as `1 ms`.
fn length(time: Picos) -> String {
    const UNITS: [(&str, Picos); 5] =
        [("s", 1_000_000_000_000), ("ms", 1_000_000_000), ("us", 1_000_000), ("ns", 1_000), ("ps", 1)];
    let (unit, size) = UNITS.into_iter().find(|(_, size)| time >= *size).unwrap_or(("ps", 1));
    let tenths = (time * 10 + size / 2) / size;
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

impl WheelProbe {
    fn words(&self) -> String {
        let names: Vec<&str> = self.inputs.iter().map(|signal| signal.name.as_str()).collect();
        let jumper = if self.inputs.len() < 3 { "; no enable recorded: taken as always on" } else { "" };
        let wheel = WHEELS.get(self.wheel).unwrap_or(&"?");
        format!("{wheel} at the {}: {}{jumper}.", self.place.word(), names.join(", "))
    }
}

fn nothing(signals: &[Signal], asked: &Asked, edges: &Edges) -> String {
    let all: Vec<&Signal> = signals.iter().collect();
    if all.is_empty() {
        return "the dump declares no signal. Dump the scope that holds the wire".to_owned();
    }
    let coarse = coarse(asked, edges);
    format!(
        "no signal looks like bytes, and no wheel's inputs were found by name. {coarse}Say --wire NAME, or --pins \
         FL=IN1,IN2,EN. Signals: {}",
        list(&all)
    )
}

/// That the steps of the dump's times are too coarse for the rate stated, or the usual one, where they are.
fn coarse(asked: &Asked, edges: &Edges) -> String {
    let clock = BitClock::of_rate(asked.rover.rate.unwrap_or(USUAL));
    if clock.is_heard_by(edges.step()) { String::new() } else { format!("{}. ", too_coarse(clock, edges.step())) }
}

/// The one signal that is called so.
fn named<'a>(name: &str, option: &str, signals: &'a [Signal]) -> Result<&'a Signal, String> {
    let all: Vec<&Signal> = signals.iter().collect();
    let exact: Vec<&Signal> = signals.iter().filter(|signal| signal.name == name).collect();
    let called: Vec<&Signal> = signals.iter().filter(|signal| signal.is_called(name)).collect();
    let mut called = if exact.is_empty() { called } else { exact };
    // Names of one and the same net are no choice.
    called.dedup_by_key(|signal| signal.place());
    match called.as_slice() {
        [one] => Ok(one),
        [] => Err(format!("no signal is called `{name}` ({option}). Signals: {}", list(&all))),
        many => Err(format!("`{name}` ({option}) may be any of these; give more of the name: {}", list(many))),
    }
}

fn named_wires(
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

fn found_wires(
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
    let from = |signal: &Signal| signal.has_word(&["answers", "answer"]) || both_words(signal, "from");
    let to = |signal: &Signal| signal.has_word(&["orders", "order"]) || both_words(signal, "to");
    match fits.as_slice() {
        [] => Ok([None, None]),
        [one] if from(&one.signal) => Ok([None, Some(one.clone())]),
        [one] => Ok([Some(one.clone()), None]),
        [one, two] if to(&one.signal) && from(&two.signal) => Ok([Some(one.clone()), Some(two.clone())]),
        [one, two] if from(&one.signal) && to(&two.signal) => Ok([Some(two.clone()), Some(one.clone())]),
        many => Err(ambiguous(many)),
    }
}

/// `to_drive`, `from_drive`.
fn both_words(signal: &Signal, word: &str) -> bool {
    signal.has_word(&[word]) && signal.has_word(&["drive"])
}

fn ambiguous(many: &[WireProbe]) -> String {
    let shown = many.iter().take(24).map(|probe| format!("{} ({} baud)", probe.signal.name, probe.clock.baud()));
    format!(
        "{} signals carry bytes. Say which is the wire to the drive board with --wire NAME; give it twice, and the second \
         is the wire back. They are: {}",
        many.len(),
        shown.collect::<Vec<_>>().join(", ")
    )
}

/// Where a signal was recorded, by the words of its name; the far end where they do not say.
fn place_of(signal: &Signal) -> Place {
    if signal.has_word(&["chip", "board", "mcu"]) { Place::Chip } else { Place::Wheel }
}

fn wheels(asked: &Asked, signals: &[Signal]) -> Result<Vec<WheelProbe>, String> {
    let mut probes = Vec::new();
    for said in &asked.pins {
        let option = format!("--pins {}", WHEELS.get(said.wheel).unwrap_or(&"?"));
        let inputs: Result<Vec<Signal>, String> =
            said.names.iter().map(|name| named(name, &option, signals).cloned()).collect();
        let inputs = inputs?;
        let place = said.place.unwrap_or_else(|| inputs.first().map_or(Place::Wheel, place_of));
        once(&probes, place, said.wheel, &inputs)?;
        let inverted = asked.rover.wheels.get(said.wheel).is_some_and(|pins| pins.inverted);
        probes.push(WheelProbe { place, wheel: said.wheel, inputs, inverted });
    }
    for place in Place::BOTH {
        for (wheel, pins) in asked.rover.wheels.iter().enumerate() {
            let said = probes.iter().any(|probe| (probe.place, probe.wheel) == (place, wheel));
            let here: Vec<&Signal> = signals.iter().filter(|signal| place_of(signal) == place).collect();
            let found = by_rover(pins, place, &here).or_else(|| by_own_names(wheel, &here));
            if let Some(inputs) = found.filter(|_| !said) {
                probes.push(WheelProbe { place, wheel, inputs, inverted: pins.inverted });
            }
        }
    }
    Ok(probes)
}

/// A person names the inputs of a wheel at a place once, and no signal twice among them.
fn once(probes: &[WheelProbe], place: Place, wheel: usize, inputs: &[Signal]) -> Result<(), String> {
    let name = WHEELS.get(wheel).unwrap_or(&"?");
    if probes.iter().any(|probe| (probe.place, probe.wheel) == (place, wheel)) {
        return Err(format!(
            "--pins names {name} at the {place} twice. Name it once; for both ends of the loom write chip:{name}= and \
             wheel:{name}=",
            place = place.word()
        ));
    }
    let mut seen = Vec::new();
    for signal in inputs {
        if seen.contains(&signal.place()) {
            return Err(format!(
                "--pins {name} names {} twice. IN1, IN2 and EN are three signals; leave EN out where it is held by a jumper",
                signal.name
            ));
        }
        seen.push(signal.place());
    }
    Ok(())
}

/// By the driver's input names in the rover file, else by the drive board's pin numbers.
fn by_rover(pins: &WheelPins, place: Place, here: &[&Signal]) -> Option<Vec<Signal>> {
    let own = |name: &str| only(here, |signal| signal.own_name().eq_ignore_ascii_case(name));
    if let [one, two] = pins.inputs.as_slice()
        && let (Some(one), Some(two)) = (own(one), own(two))
    {
        let enable = pins.enable.as_deref().and_then(own);
        return Some([Some(one), Some(two), enable].into_iter().flatten().collect());
    }
    let numbered = |pin: &i64| {
        let names = ["pin", "gpio", "gp", "io", "d", "p"].map(|word| format!("{word}{pin}"));
        only(here, |signal| names.iter().any(|name| signal.own_name().eq_ignore_ascii_case(name)))
    };
    let found: Vec<Signal> = pins.pins.iter().filter_map(numbered).collect();
    (place == Place::Chip && pins.pins.len() >= 2 && found.len() == pins.pins.len()).then_some(found)
}

/// By names such as `wheel.fl.in1` or `FL_EN`.
fn by_own_names(wheel: usize, here: &[&Signal]) -> Option<Vec<Signal>> {
    let corner = WHEELS.get(wheel)?.to_lowercase();
    let input = |word: &str| only(here, |signal| signal.has_word(&[&corner]) && signal.has_word(&[word]));
    let inputs = [Some(input("in1")?), Some(input("in2")?), input("en").or_else(|| input("enable"))];
    Some(inputs.into_iter().flatten().collect())
}

/// The only signal that fits.
fn only(here: &[&Signal], fits: impl Fn(&Signal) -> bool) -> Option<Signal> {
    let mut all = here.iter().filter(|signal| fits(signal));
    let first = all.next()?;
    all.all(|other| other.place() == first.place()).then(|| (*first).clone())
}
