//! A value-change dump (IEEE 1364-2005, clause 18) as a source: bytes from the edges of the wires, and what the pins
//! told each wheel, in the order of their time.
//!
//! What a half bridge is told is known a little later than it began (a duty needs whole periods), so everything waits
//! until nothing earlier can come: at most some fifty milliseconds of the dump. Memory does not grow with its length.

mod asked;
mod bit_clock;
mod codes;
mod dump;
mod dump_words;
mod edges;
mod half_bridge;
mod level;
mod probes;
mod pulses;
mod receiver;
mod signal;
mod waiting;
mod wire_probe;

use std::collections::BTreeMap;
use std::fs::File;
use std::io::{Cursor, Read};
use std::path::Path;

pub use asked::{Asked, RoverPins, WheelAsked, WheelPins};
use dump::{Dump, DumpFault, Loss, Picos, Spot, Step};
use edges::Edges;
use half_bridge::HalfBridge;
use level::Level;
use probes::Probes;
use receiver::Receiver;
use waiting::{Item, Waiting};
use wheeltap_parsers::{Chunk, Input, LineClock, Nanos, Pins, Place, Told, Wire};
use wire_probe::WireProbe;

use super::{Source, SourceError};
use crate::timing::link::{DutyKnown, LinkFacts, WireFacts};

/// How much of a dump is looked at to tell what is what, bytes.
const LOOK: u64 = 16 << 20;
/// The same of a stream, which cannot be read twice.
pub const STREAM_LOOK: usize = 4 << 20;
/// So many steps of a dump are taken between two looks at what may leave.
const STEPS: u32 = 256;
/// A tick at least this often where nothing else comes, nanoseconds.
const TICK: Nanos = 10_000_000;
/// Over a longer silence the ticks are spread: so many at most.
const TICKS: Nanos = 4_000;
/// Changes of several wheels within this time are told as one, nanoseconds: pulses of two timers at the usual pace of
/// 1 kHz begin at most a period apart.
const TOGETHER: Nanos = 1_100_000;

/// The mark that some editors put before a text in UTF-8.
const MARK: &[u8] = b"\xEF\xBB\xBF";

/// Whether these first bytes are those of a value-change dump: one of the standard's declaration commands.
pub fn looks_like_dump(first: &[u8]) -> bool {
    const COMMANDS: [&[u8]; 8] =
        [b"$comment", b"$date", b"$enddefinitions", b"$scope", b"$timescale", b"$upscope", b"$var", b"$version"];
    let text = first.strip_prefix(MARK).unwrap_or(first).trim_ascii_start();
    let length = text.iter().position(u8::is_ascii_whitespace);
    length.and_then(|length| text.get(..length)).is_some_and(|word| COMMANDS.contains(&word))
}

/// Whether these first bytes are those of a value-change dump with two bytes a letter, with or without their mark.
pub fn looks_like_wide_dump(first: &[u8]) -> bool {
    let (high, text) = match first {
        [0xFF, 0xFE, text @ ..] => (1, text),
        [0xFE, 0xFF, text @ ..] => (0, text),
        [b'$', 0, ..] => (1, first),
        [0, b'$', ..] => (0, first),
        _ => return false,
    };
    let wide =
        text.chunks_exact(2).map_while(|pair| (pair.get(high) == Some(&0)).then(|| pair.get(1 - high).copied())?);
    looks_like_dump(&wide.collect::<Vec<u8>>())
}

/// A value-change dump being read.
pub struct PinsSource {
    name: String,
    dump: Dump<Box<dyn Read + Send>>,
    edges: Edges,
    asked: Asked,
    planned: Result<Probes, String>,
    link: LinkFacts,
    uses: BTreeMap<u32, Vec<Use>>,
    wires: [Option<Ear>; 2],
    wheels: Vec<Bridge>,
    now: Picos,
    waiting: Waiting,
    last_tick: Nanos,
    /// The date of the last item that left.
    given: Nanos,
    ended: bool,
    byte: [u8; 1],
}

/// What a bit of a value is used for.
#[derive(Clone, Copy, Debug)]
struct Use {
    bit: u32,
    what: What,
}

#[derive(Clone, Copy, Debug)]
enum What {
    Wire(Wire),
    Input { bridge: usize, input: usize },
}

/// One wire's receiver.
struct Ear {
    probe: WireProbe,
    receiver: Receiver,
    offset: u64,
    unknown: bool,
    /// Its level was known once.
    known: bool,
}

/// One wheel's half bridge at one place.
struct Bridge {
    place: Place,
    wheel: usize,
    inverted: bool,
    half: HalfBridge,
    changed: bool,
}

impl PinsSource {
    /// Opens a file and tells what is what by its beginning.
    pub fn file(path: &Path, asked: &Asked) -> Result<Self, SourceError> {
        let name = path.display().to_string();
        let open = || {
            File::open(path).map_err(|error| {
                SourceError::Device(format!("{name}: cannot be opened ({error}). Check its name and rights."))
            })
        };
        let looked = Dump::open(open()?.take(LOOK)).and_then(|mut dump| Edges::read(&mut dump, &names(asked)));
        let edges = looked.map_err(|fault| told(&name, fault))?;
        Self::begin(&name, Box::new(open()?), edges, asked)
    }

    /// Reads a stream that begins with `first`, of which at least the header should be there.
    pub fn stream(name: &str, first: Vec<u8>, rest: Box<dyn Read + Send>, asked: &Asked) -> Result<Self, SourceError> {
        let looked = Dump::open(first.as_slice()).and_then(|mut dump| Edges::read(&mut dump, &names(asked)));
        let edges = looked.map_err(|fault| told(name, fault))?;
        Self::begin(name, Box::new(Cursor::new(first).chain(rest)), edges, asked)
    }

    fn begin(name: &str, from: Box<dyn Read + Send>, edges: Edges, asked: &Asked) -> Result<Self, SourceError> {
        let dump = Dump::open(from).map_err(|fault| told(name, fault))?;
        let mut source = Self {
            name: name.to_owned(),
            dump,
            edges,
            asked: asked.clone(),
            planned: Ok(Probes::default()),
            link: LinkFacts::default(),
            uses: BTreeMap::new(),
            wires: [None, None],
            wheels: Vec::new(),
            now: 0,
            waiting: Waiting::default(),
            last_tick: 0,
            given: 0,
            ended: false,
            byte: [0],
        };
        source.last_tick = nanos(source.edges.begins());
        source.plan();
        Ok(source)
    }

    /// Takes what the rover file says of the pins; only before the first input.
    pub fn set_rover(&mut self, rover: RoverPins) {
        self.asked.rover = rover;
        self.plan();
    }

    /// Whether the inputs of one wheel at least are read.
    pub fn has_pins(&self) -> bool {
        !self.wheels.is_empty()
    }

    /// What was found in the dump, a sentence for each wire and wheel.
    pub fn words(&self) -> Vec<String> {
        self.planned.as_ref().map(Probes::words).unwrap_or_default()
    }

    /// Says why the dump cannot be used, where it cannot.
    pub fn check(&self) -> Result<(), SourceError> {
        match &self.planned {
            Ok(_) => Ok(()),
            Err(why) => Err(SourceError::BadFile(format!("{}: {why}.", self.name))),
        }
    }

    /// That no wire was found though there are signals besides the wheels' inputs ([`PinsSource::words`] names them).
    pub fn lacks_wire(&self) -> Option<String> {
        let none = self.planned.as_ref().ok()?.no_wire.as_ref()?;
        let words = "no wire was found, so no bytes were read. Name it with --wire NAME";
        none.looked_at_others.then(|| format!("{}: {words}.", self.name))
    }

    /// At the end: what a cut took with it, and whether that is certain.
    pub fn loss(&self) -> Option<(String, bool)> {
        let Loss { spot, why, sure } = self.dump.loss()?;
        Some((place(&self.name, spot, &why), sure))
    }

    fn plan(&mut self) {
        self.planned = Probes::find(&self.asked, self.dump.signals(), &self.edges);
        let probes = self.planned.clone().unwrap_or_default();
        self.uses = uses(&probes);
        self.link = link(&self.name, &probes);
        self.wires = probes.wires.map(|probe| {
            let receiver = Receiver::new(probe.as_ref()?.clock.bit);
            Some(Ear { probe: probe?, receiver, offset: 0, unknown: false, known: false })
        });
        let bridge = |probe: &probes::WheelProbe| Bridge {
            place: probe.place,
            wheel: probe.wheel,
            inverted: probe.inverted,
            half: HalfBridge::new(probe.inputs.len() > 2),
            changed: false,
        };
        self.wheels = probes.wheels.iter().map(bridge).collect();
    }

    /// Reads on until something may leave, or the dump ends.
    fn read_on(&mut self) -> Result<(), SourceError> {
        for _ in 0..STEPS {
            let step = self.dump.next().map_err(|fault| told(&self.name, fault))?;
            match step {
                // A time that is written again is still the same instant.
                Some(Step::Time(time)) if time == self.now => {}
                Some(Step::Time(time)) => {
                    self.look();
                    self.now = time;
                }
                Some(Step::Scalar(code, level)) => {
                    for used in self.uses.get(&code).into_iter().flatten() {
                        set(&mut self.wires, &mut self.wheels, &mut self.waiting, self.now, used.what, level);
                    }
                }
                Some(Step::Vector(code, bits)) => {
                    for used in self.uses.get(&code).into_iter().flatten() {
                        let level = Level::of_bit(bits, used.bit as usize);
                        set(&mut self.wires, &mut self.wheels, &mut self.waiting, self.now, used.what, level);
                    }
                }
                None => {
                    self.ended = true;
                    break;
                }
            }
        }
        self.settle();
        Ok(())
    }

    /// Half bridges whose inputs changed at this instant are looked at, once all of them have changed.
    fn look(&mut self) {
        for bridge in self.wheels.iter_mut().filter(|bridge| bridge.changed) {
            bridge.changed = false;
            bridge.half.look(self.now);
        }
    }

    /// Nothing has changed up to now; what is decided by that may leave.
    fn settle(&mut self) {
        // Values of this instant may still come, until the dump has ended.
        let now = if self.ended { self.now } else { self.now - 1 };
        if self.ended {
            self.look();
        }
        let mut decided = now;
        for bridge in &mut self.wheels {
            bridge.half.pass(now);
            decided = decided.min(bridge.half.decided_to(now));
            take_told(bridge, &mut self.waiting);
        }
        for (wire, ear) in Wire::BOTH.into_iter().zip(&mut self.wires) {
            if let Some(ear) = ear {
                let heard = ear.receiver.pass(now);
                ear.take(wire, heard, &mut self.waiting);
            }
        }
        self.waiting.decided_to(if self.ended { Nanos::MAX } else { nanos(decided) - TOGETHER });
        if self.ended {
            self.ends();
        }
    }

    /// The end: what is left of the half bridges, the byte under way on each wire, and its clock. The last byte may be
    /// complete a little later than the last thing told.
    fn ends(&mut self) {
        for bridge in &mut self.wheels {
            bridge.half.end();
            take_told(bridge, &mut self.waiting);
        }
        let (mut end, open) = (nanos(self.now), self.dump.ends_open());
        for (wire, ear) in Wire::BOTH.into_iter().zip(&mut self.wires) {
            let Some(ear) = ear else { continue };
            let heard = ear.receiver.over(self.now, open);
            end = heard.map_or(end, |heard| end.max(nanos(heard.at)));
            ear.take(wire, heard, &mut self.waiting);
        }
        for (wire, ear) in Wire::BOTH.into_iter().zip(&self.wires) {
            if let Some(clock) = ear.as_ref().and_then(|ear| ear.clock(wire, end)) {
                self.waiting.add(end, Item::Clock(clock));
            }
        }
        self.waiting.add(end, Item::Tick);
    }

    /// The next tick before what may leave next, where one is due.
    fn tick(&mut self) -> Option<Nanos> {
        let limit = self.waiting.limit().min(nanos(self.now));
        let step = TICK.max(limit.saturating_sub(self.last_tick) / TICKS);
        // Changes that are told as one may leave behind a tick that was due.
        let next = self.last_tick.saturating_add(step).max(self.given);
        (next < limit).then(|| {
            self.last_tick = next;
            next
        })
    }

    /// An item as an input.
    fn input(&mut self, at: Nanos, item: Item) -> Input<'_> {
        match item {
            Item::Byte { wire, offset, byte } => {
                self.byte = [byte];
                let byte_ns = self.wires[wire.index()].as_ref().map_or(0, |ear| ear.probe.clock.byte_ns());
                Input::Chunk(Chunk { wire, offset, bytes: &self.byte, lo: at, hi: at, byte_ns })
            }
            Item::Pins { place, wheels } => Input::Pins(Pins { at, place, wheels }),
            Item::Clock(clock) => Input::Clock(clock),
            Item::Gone(wire) => Input::PortGone { at, wire },
            Item::Back(wire) => Input::PortBack { at, wire },
            Item::Tick => Input::Tick(at),
        }
    }
}

impl Source for PinsSource {
    fn next(&mut self) -> Result<Option<Input<'_>>, SourceError> {
        self.check()?;
        loop {
            if let Some(at) = self.tick() {
                return Ok(Some(Input::Tick(at)));
            }
            if let Some((at, item)) = self.waiting.next(TOGETHER) {
                self.given = at;
                return Ok(Some(self.input(at, item)));
            }
            if self.ended {
                return Ok(None);
            }
            self.read_on()?;
        }
    }

    fn link(&self) -> &LinkFacts {
        &self.link
    }
}

impl Ear {
    fn take(&mut self, wire: Wire, heard: Option<receiver::Heard>, waiting: &mut Waiting) {
        let Some(heard) = heard else { return };
        waiting.add(nanos(heard.at), Item::Byte { wire, offset: self.offset, byte: heard.byte });
        self.offset += 1;
        // The clock is another one from here on: what it was is told.
        let before = self.probe.step().and_then(|step| self.receiver.changed(step));
        if let Some(bit) = before {
            waiting.add(nanos(heard.at), Item::Clock(self.clock_of(bit, wire, nanos(heard.at))));
        }
    }

    /// The sender's clock since it last changed; `None` where the dump's times are too coarse for it.
    fn clock(&self, wire: Wire, at: Nanos) -> Option<LineClock> {
        self.receiver.measured_bit(self.probe.step()?).map(|bit| self.clock_of(bit, wire, at))
    }

    fn clock_of(&self, bit: f64, wire: Wire, at: Nanos) -> LineClock {
        let milli_baud = (1e15 / bit).round() as i64;
        let error = |nominal: u32| ((milli_baud as f64 / (f64::from(nominal) * 1e3) - 1.0) * 1e6).round() as i64;
        let framing_errors = self.receiver.framing_errors();
        LineClock { at, wire, milli_baud, error_ppm: self.probe.nominal.map(error), framing_errors }
    }

    /// Whether the wire's level has just become unknown (true) or known again (false). Before it was ever known it is
    /// only not known yet: dumps begin so.
    fn turns(&mut self, level: Level) -> Option<bool> {
        let unknown = level == Level::Unknown;
        if !self.known {
            self.known = !unknown;
            return None;
        }
        let was = std::mem::replace(&mut self.unknown, unknown);
        (was != unknown).then_some(unknown)
    }
}

/// One bit of a value has this level.
fn set(
    wires: &mut [Option<Ear>; 2],
    wheels: &mut [Bridge],
    waiting: &mut Waiting,
    now: Picos,
    what: What,
    level: Level,
) {
    match what {
        What::Wire(wire) => {
            let Some(ear) = &mut wires[wire.index()] else { return };
            let heard = ear.receiver.edge(now, ear.probe.clock.upright(level));
            ear.take(wire, heard, waiting);
            if let Some(unknown) = ear.turns(level) {
                waiting.add(nanos(now), if unknown { Item::Gone(wire) } else { Item::Back(wire) });
            }
        }
        What::Input { bridge, input } => {
            if let Some(bridge) = wheels.get_mut(bridge) {
                bridge.half.set(input, level);
                bridge.changed = true;
            }
        }
    }
}

fn take_told(bridge: &mut Bridge, waiting: &mut Waiting) {
    for told in bridge.half.told() {
        let duty = |duty: i32| Told::Duty(if bridge.inverted { -duty } else { duty });
        waiting.tells(nanos(told.from), bridge.place, bridge.wheel, told.duty.map_or(Told::Open, duty));
    }
}

fn uses(probes: &Probes) -> BTreeMap<u32, Vec<Use>> {
    let mut uses: BTreeMap<u32, Vec<Use>> = BTreeMap::new();
    for (wire, probe) in Wire::BOTH.into_iter().zip(&probes.wires) {
        if let Some(WireProbe { signal, .. }) = probe {
            uses.entry(signal.code).or_default().push(Use { bit: signal.bit, what: What::Wire(wire) });
        }
    }
    for (bridge, probe) in probes.wheels.iter().enumerate() {
        for (input, signal) in probe.inputs.iter().enumerate() {
            let what = What::Input { bridge, input };
            uses.entry(signal.code).or_default().push(Use { bit: signal.bit, what });
        }
    }
    uses
}

fn link(name: &str, probes: &Probes) -> LinkFacts {
    let facts = |probe: &WireProbe| WireFacts {
        rate: probe.heard_rate(),
        settings: "8N1".to_owned(),
        latency: 0,
        port: format!("{name} {}", probe.name()),
    };
    let wires = [0, 1].map(|wire: usize| probes.wires.get(wire).and_then(Option::as_ref).map(facts));
    let mut duties = <[[DutyKnown; 4]; 2]>::default();
    for probe in &probes.wheels {
        if let Some(known) = duties[probe.place.index()].get_mut(probe.wheel) {
            *known = probe.duty;
        }
    }
    LinkFacts { wires, dump: true, pins: !probes.wheels.is_empty(), duties, ..LinkFacts::default() }
}

fn names(asked: &Asked) -> Vec<&str> {
    asked.wires.iter().map(String::as_str).collect()
}

const fn nanos(picos: Picos) -> Nanos {
    picos.div_euclid(1_000)
}

fn told(name: &str, fault: DumpFault) -> SourceError {
    match fault {
        DumpFault::Io(error) => {
            SourceError::Device(format!("{name}: cannot be read further ({error}). Copy it to a sound disk."))
        }
        DumpFault::Place(spot, why) => SourceError::BadFile(place(name, spot, &why)),
    }
}

fn place(name: &str, Spot { line, byte }: Spot, why: &str) -> String {
    format!("{name}: line {line} (byte {byte}) of this value-change dump: {why}.")
}
