//! Which signal of a dump is what: the wires by what a person says or by their edges, the wheels' inputs by what a
//! person says, by the rover file's names, or by their own names.

use wheeltap_parsers::{Place, Wire};

use super::asked::{Asked, WHEELS, WheelPins};
use super::edges::Edges;
use super::pulses::{DutyKnown, known, known_words};
use super::signal::{Signal, list};
use super::wire_probe::{NoWire, WireProbe, coarse, found_wires, named_wires, no_wire};

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
    /// How well its duty can be known.
    pub duty: DutyKnown,
    /// That in words, where it is not known whole.
    pub limits: String,
}

/// What is what.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Probes {
    /// By wire.
    pub wires: [Option<WireProbe>; 2],
    /// Every half bridge whose inputs are known.
    pub wheels: Vec<WheelProbe>,
    /// That there is no wire, where there is none.
    pub no_wire: Option<NoWire>,
}

impl Probes {
    /// Tells from what is `asked`, all signals, and the `edges` of the beginning. What is wrong is said with what to do.
    pub fn find(asked: &Asked, signals: &[Signal], edges: &Edges) -> Result<Self, String> {
        let mut wheels = wheels(asked, signals)?;
        for wheel in &mut wheels {
            wheel.duty = known(edges, &wheel.inputs);
            wheel.limits = known_words(wheel.duty, edges);
        }
        let taken: Vec<(u32, u32)> = wheels.iter().flat_map(|wheel| &wheel.inputs).map(Signal::place).collect();
        let wires = if asked.wires.is_empty() {
            found_wires(asked, signals, &taken, edges)?
        } else {
            named_wires(asked, signals, &taken, edges)?
        };
        if wires == [None, None] && wheels.is_empty() {
            return Err(nothing(signals, asked, edges));
        }
        let none = wires == [None, None];
        let no_wire = none.then(|| no_wire(asked, signals, &taken, edges));
        Ok(Self { wires, wheels, no_wire })
    }

    /// What was found, a sentence for each wire and wheel.
    pub fn words(&self) -> Vec<String> {
        let wires = Wire::BOTH.iter().zip(&self.wires).filter_map(|(wire, probe)| {
            let probe = probe.as_ref()?;
            Some(format!("Wire {} is {}.", wire.symbol(), probe.words()))
        });
        let none = self.no_wire.iter().map(|none| format!("{}.", none.words));
        wires.chain(none).chain(self.wheels.iter().map(WheelProbe::words)).collect()
    }
}

impl WheelProbe {
    const fn new(place: Place, wheel: usize, inputs: Vec<Signal>, inverted: bool) -> Self {
        Self { place, wheel, inputs, inverted, duty: DutyKnown::Whole, limits: String::new() }
    }

    fn words(&self) -> String {
        let names: Vec<&str> = self.inputs.iter().map(|signal| signal.name.as_str()).collect();
        let wheel = WHEELS.get(self.wheel).unwrap_or(&"?");
        format!("{wheel} at the {}: {}{}.", self.place.word(), names.join(", "), self.limits)
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

/// The one signal that is called so.
pub fn named<'a>(name: &str, option: &str, signals: &'a [Signal]) -> Result<&'a Signal, String> {
    let all: Vec<&Signal> = signals.iter().collect();
    let exact: Vec<&Signal> = signals.iter().filter(|signal| signal.name == name).collect();
    let called: Vec<&Signal> = signals.iter().filter(|signal| signal.is_called(name)).collect();
    let mut called = if exact.is_empty() { called } else { exact };
    // Names of one and the same net are no choice.
    let mut nets = Vec::new();
    called.retain(|signal| {
        !nets.contains(&signal.place()) && {
            nets.push(signal.place());
            true
        }
    });
    match called.as_slice() {
        [one] => Ok(one),
        [] => Err(format!("no signal is called `{name}` ({option}). Signals: {}", list(&all))),
        [first, rest @ ..] if rest.iter().all(|signal| signal.name == first.name) => {
            let lines: Vec<String> = called.iter().map(|signal| signal.line.to_string()).collect();
            Err(format!(
                "{} signals have the one name `{}` ({option}): the header declares them in lines {}. Give them different \
                 names there (the word before `$end`), then name one",
                lines.len(),
                first.name,
                lines.join(", ")
            ))
        }
        many => Err(format!("`{name}` ({option}) may be any of these; give more of the name: {}", list(many))),
    }
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
        probes.push(WheelProbe::new(place, said.wheel, inputs, inverted));
    }
    for place in Place::BOTH {
        for (wheel, pins) in asked.rover.wheels.iter().enumerate() {
            let said = probes.iter().any(|probe| (probe.place, probe.wheel) == (place, wheel));
            let here: Vec<&Signal> = signals.iter().filter(|signal| place_of(signal) == place).collect();
            let found = by_rover(pins, place, &here).or_else(|| by_own_names(wheel, &here));
            if let Some(inputs) = found.filter(|_| !said) {
                probes.push(WheelProbe::new(place, wheel, inputs, pins.inverted));
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
