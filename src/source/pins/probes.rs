//! Which signal of a dump is what: the wires by what a person says or by their edges, the wheels' inputs by what a
//! person says, by the rover file's names, or by their own names.

use wheeltap_parsers::{Place, Wire};

use super::asked::{Asked, WHEELS, WheelPins};
use super::bit_clock::{BitClock, nominal};
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
        let taken: Vec<u32> = wheels.iter().flat_map(|wheel| &wheel.inputs).map(|signal| signal.code).collect();
        let wires = if asked.wires.is_empty() {
            found_wires(asked, signals, &taken, edges)?
        } else {
            named_wires(asked, signals, edges)?
        };
        if wires == [None, None] && wheels.is_empty() {
            return Err(nothing(signals));
        }
        Ok(Self { wires, wheels })
    }

    /// What was found, a sentence for each wire and wheel.
    pub fn words(&self) -> Vec<String> {
        let wires = Wire::BOTH.iter().zip(&self.wires).filter_map(|(wire, probe)| {
            let probe = probe.as_ref()?;
            Some(format!("Wire {} is {}, {} baud by its edges.", wire.symbol(), probe.signal.name, probe.clock.baud()))
        });
        wires.chain(self.wheels.iter().map(WheelProbe::words)).collect()
    }
}

impl WheelProbe {
    fn words(&self) -> String {
        let names: Vec<&str> = self.inputs.iter().map(|signal| signal.name.as_str()).collect();
        let jumper = if self.inputs.len() < 3 { "; no enable recorded: taken as always on" } else { "" };
        let wheel = WHEELS.get(self.wheel).unwrap_or(&"?");
        format!("{wheel} at the {}: {}{jumper}.", self.place.word(), names.join(", "))
    }
}

fn nothing(signals: &[Signal]) -> String {
    let all: Vec<&Signal> = signals.iter().collect();
    if all.is_empty() {
        return "the dump declares no signal. Dump the scope that holds the wire".to_owned();
    }
    format!(
        "no signal looks like bytes, and no wheel's inputs were found by name. Say --wire NAME, or --pins \
         FL=IN1,IN2,EN. Signals: {}",
        list(&all)
    )
}

/// The one signal that is called so.
fn named<'a>(name: &str, option: &str, signals: &'a [Signal]) -> Result<&'a Signal, String> {
    let all: Vec<&Signal> = signals.iter().collect();
    let exact: Vec<&Signal> = signals.iter().filter(|signal| signal.name == name).collect();
    let called: Vec<&Signal> = signals.iter().filter(|signal| signal.is_called(name)).collect();
    let mut called = if exact.is_empty() { called } else { exact };
    // Names of one and the same net are no choice.
    called.dedup_by_key(|signal| (signal.code, signal.bit));
    match called.as_slice() {
        [one] => Ok(one),
        [] => Err(format!("no signal is called `{name}` ({option}). Signals: {}", list(&all))),
        many => Err(format!("`{name}` ({option}) may be any of these; give more of the name: {}", list(many))),
    }
}

fn named_wires(asked: &Asked, signals: &[Signal], edges: &Edges) -> Result<[Option<WireProbe>; 2], String> {
    if asked.wires.len() > 2 {
        return Err(
            "--wire was given more than twice: first the wire to the drive board, then the wire back".to_owned()
        );
    }
    let mut wires = [None, None];
    for (place, name) in wires.iter_mut().zip(&asked.wires) {
        let signal = named(name, "--wire", signals)?;
        let clock = BitClock::of_named(edges.of(signal)).or(asked.rover.rate.map(BitClock::of_rate));
        let clock = clock.ok_or_else(|| {
            format!(
                "`{}` has {} edges at the beginning of the dump, and they are no bytes at any steady rate. Name another \
                 signal with --wire, or state the rate in the rover file",
                signal.name,
                edges.of(signal).len()
            )
        })?;
        *place = Some(probe(signal, clock, asked));
    }
    Ok(wires)
}

fn probe(signal: &Signal, clock: BitClock, asked: &Asked) -> WireProbe {
    WireProbe { signal: signal.clone(), clock, nominal: nominal(clock.milli_baud(), asked.rover.rate) }
}

fn found_wires(
    asked: &Asked,
    signals: &[Signal],
    taken: &[u32],
    edges: &Edges,
) -> Result<[Option<WireProbe>; 2], String> {
    let mut fits: Vec<WireProbe> = Vec::new();
    for signal in signals.iter().filter(|signal| !taken.contains(&signal.code)) {
        let known = fits.iter().any(|fit| (fit.signal.code, fit.signal.bit) == (signal.code, signal.bit));
        if let Some(clock) = BitClock::of(edges.of(signal)).filter(|_| !known) {
            fits.push(probe(signal, clock, asked));
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
    all.all(|other| (other.code, other.bit) == (first.code, first.bit)).then(|| (*first).clone())
}
