//! The figures of one session, taken from the engine's events as they come.

use std::collections::BTreeMap;

use wheeltap_parsers::{Nanos, TextClass, Value, Wire};

use crate::engine::Engine;
use crate::engine::event::{Event, Flag, Frame, Happening, MOST};
use crate::findings::Finding;
use crate::rover::file::RoverFile;
use crate::rover::meaning::{Means, Role};
use crate::rover::mecanum::body_motion;
use crate::rover::state::Fields;
use crate::rover::wheels::Duties;

/// A time between orders from which on it is a pause, nanoseconds.
const PAUSE: Nanos = 1_000_000_000;
/// An answer later than this answers nothing, nanoseconds.
const NO_ANSWER: Nanos = 2_000_000_000;
/// How long after a duty step its sag is looked for, nanoseconds.
const SAG_WITHIN: Nanos = 300_000_000;
/// A step of the strongest duty that counts, thousandths.
const STEP: i32 = 200;

/// Legs of one move.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Legs {
    /// How many ended.
    pub count: u64,
    time: Nanos,
    turn: i64,
    orders: i64,
}

impl Legs {
    /// Mean length, seconds.
    pub fn mean_s(self) -> Option<f64> {
        (self.count > 0).then(|| self.time as f64 / self.count as f64 / 1e9)
    }

    /// Mean turn ordered while such a leg lasted, per cent.
    pub fn correction(self) -> Option<f64> {
        (self.orders > 0).then(|| self.turn as f64 / self.orders as f64 / 10.0)
    }
}

/// A duty step whose sag is being looked for.
#[derive(Clone, Copy, Debug)]
struct Step {
    at: Nanos,
    by: i32,
    before: i64,
    lowest: i64,
}

/// A leg that may go on, or whose move is not yet known: that is told behind the events of an input.
#[derive(Clone, Debug)]
struct Fresh {
    name: Option<String>,
    began: Nanos,
    ended: Option<Nanos>,
    turn: i64,
    orders: i64,
}

/// The figures of one session.
#[derive(Clone, Debug, Default)]
pub struct Side {
    /// What is stated about it: name and value.
    pub settings: Vec<(String, String)>,
    /// Good frames of each wire.
    pub frames: [u64; 2],
    /// Damaged frames of each wire.
    pub damaged: [u64; 2],
    /// Orders.
    pub orders: u64,
    /// Orders certainly late.
    pub late: u64,
    /// Orders with frames missing before them.
    pub gaps_in_sequence: u64,
    /// Answers to orders.
    pub answered: u64,
    /// Refusals among them.
    pub refused: u64,
    /// Certain lapses.
    pub lapses: u64,
    /// Legs begun.
    pub leg_count: u64,
    /// Times between orders, pauses left out, microseconds.
    pub between_us: Vec<i64>,
    /// Delays from an order to its answer, microseconds.
    pub delays_us: Vec<i64>,
    /// Sag of the pack per full step of duty, microvolts.
    pub sags_uv: Vec<i64>,
    /// Legs by move.
    pub legs: BTreeMap<String, Legs>,
    /// What was found.
    pub findings: Vec<Finding>,
    last_order: Option<Nanos>,
    unanswered: Option<Nanos>,
    strongest: i32,
    volts: Option<i64>,
    step: Option<Step>,
    /// Legs that are not yet among `legs`: those of the last input, and the one that may go on.
    fresh: Vec<Fresh>,
    /// The turn of the last order. Whether it belongs to the open leg or begins another is told behind it.
    turn: Option<i64>,
}

impl Side {
    /// A session of which these things are stated.
    pub fn new(settings: Vec<(String, String)>) -> Self {
        Self { settings, ..Self::default() }
    }

    /// What is stated under this name.
    pub fn setting(&self, name: &str) -> Option<&str> {
        self.settings.iter().find(|(other, _)| other == name).map(|(_, value)| value.as_str())
    }

    /// Takes the next event. `rover` is what the engine decodes with.
    pub fn see(&mut self, event: &Event, rover: Option<&RoverFile>) {
        match &event.what {
            Happening::Frame(frame) => self.frame(event, frame, rover),
            Happening::Damage { .. } => self.damaged[event.wire.map_or(0, Wire::index)] += 1,
            Happening::Text { class: TextClass::Start { .. }, .. } => {
                self.unanswered = None;
                self.last_order = None;
            }
            Happening::Lapse { certain: true } => self.lapses += 1,
            Happening::Leg { begins } => self.leg(*begins, event.at),
            Happening::PortGone { .. } | Happening::Lost { .. } => (self.last_order, self.unanswered) = (None, None),
            _ => {}
        }
    }

    /// The session has ended.
    pub fn end(&mut self, engine: &Engine) {
        self.findings = engine.findings();
        self.close_step();
        self.keep_turn();
        if let Some(leg) = self.fresh.pop() {
            self.file(&leg);
        }
    }

    fn frame(&mut self, event: &Event, frame: &Frame, rover: Option<&RoverFile>) {
        let Some(wire) = event.wire else { return };
        self.frames[wire.index()] += 1;
        let Some(rover) = rover else { return };
        let kind = rover.profile(wire).and_then(|profile| profile.kinds.get(frame.kind));
        let (Some(kind), Some(meaning)) = (kind, rover.meaning.kinds[wire.index()].get(frame.kind)) else { return };
        let mut values = [Value::Int(0); MOST];
        let count = values.iter_mut().zip(frame.values.iter()).map(|(place, value)| *place = value).count();
        let fields = Fields { meaning, fields: &kind.fields, values: values.get(..count).unwrap_or(&[]) };
        match meaning.role {
            Role::Order if wire == Wire::ToDrive => self.order(event, frame),
            Role::Answer => self.answer(event, frame, fields),
            Role::Hello => self.hello(fields),
            _ => {}
        }
    }

    fn order(&mut self, event: &Event, frame: &Frame) {
        self.orders += 1;
        self.late += u64::from(frame.flags.has(Flag::Late));
        self.gaps_in_sequence += u64::from(frame.flags.has(Flag::SequenceGap));
        let between = self.last_order.map(|last| event.at - last);
        self.between_us.extend(between.filter(|between| *between < PAUSE).map(|between| between / 1000));
        self.last_order = Some(event.at);
        self.unanswered = Some(event.at);
        if let Some(meant) = frame.meant {
            self.meant(event.at, meant);
        }
    }

    fn meant(&mut self, at: Nanos, meant: Duties) {
        let strongest = meant.iter().map(|duty| duty.abs()).max().unwrap_or(0);
        let by = strongest - self.strongest;
        self.strongest = strongest;
        if let Some(before) = self.volts.filter(|_| by >= STEP) {
            self.close_step();
            self.step = Some(Step { at, by, before, lowest: before });
        }
        self.keep_turn();
        self.turn = Some(i64::from(body_motion(meant).wz));
    }

    /// The last order belongs to the open leg.
    fn keep_turn(&mut self) {
        let Some(turn) = self.turn.take() else { return };
        if let Some(leg) = self.fresh.last_mut().filter(|leg| leg.ended.is_none()) {
            leg.turn += turn;
            leg.orders += 1;
        }
    }

    fn answer(&mut self, event: &Event, frame: &Frame, fields: Fields<'_>) {
        if let Some(order) = self.unanswered.take().filter(|order| event.at - order < NO_ANSWER) {
            self.answered += 1;
            self.refused += u64::from(frame.flags.has(Flag::Refused));
            self.delays_us.push((event.at - order) / 1000);
        }
        let Some(volts) = fields.thousandths(Means::Volts).map(|millivolts| millivolts * 1000) else { return };
        self.volts = Some(volts);
        match &mut self.step {
            Some(step) if event.at - step.at <= SAG_WITHIN => step.lowest = step.lowest.min(volts),
            Some(_) => self.close_step(),
            None => {}
        }
    }

    /// A sag is told per full step, so that steps of all sizes can stand together.
    fn close_step(&mut self) {
        if let Some(step) = self.step.take() {
            self.sags_uv.push((step.before - step.lowest) * 1000 / i64::from(step.by.max(1)));
        }
    }

    fn hello(&mut self, fields: Fields<'_>) {
        self.unanswered = None;
        let Some(firmware) = fields.word(Means::Firmware) else { return };
        let name = "firmware heard".to_owned();
        match self.settings.iter_mut().find(|(other, _)| *other == name) {
            Some((_, known)) if !known.split(", ").any(|one| one == firmware) => *known += &format!(", {firmware}"),
            Some(_) => {}
            None => self.settings.push((name, firmware.to_owned())),
        }
    }

    fn leg(&mut self, begins: bool, at: Nanos) {
        if let Some(leg) = self.fresh.last_mut().filter(|leg| leg.ended.is_none()) {
            leg.ended = Some(at);
        }
        self.leg_count += u64::from(begins);
        if begins {
            self.fresh.push(Fresh { name: None, began: at, ended: None, turn: 0, orders: 0 });
        } else {
            self.turn = None;
        }
    }

    /// The moves of the legs that began with the last input, in their order: of a short move the same read can bring
    /// the beginning and the end.
    pub fn name_legs(&mut self, names: &[String]) {
        let unnamed = self.fresh.iter_mut().filter(|leg| leg.name.is_none());
        for (leg, name) in unnamed.zip(names) {
            leg.name = Some(name.clone());
        }
        let goes_on = self.fresh.pop_if(|leg| leg.ended.is_none());
        for leg in std::mem::take(&mut self.fresh) {
            self.file(&leg);
        }
        self.fresh.extend(goes_on);
    }

    fn file(&mut self, leg: &Fresh) {
        let legs = self.legs.entry(leg.name.clone().unwrap_or_default()).or_default();
        legs.turn += leg.turn;
        legs.orders += leg.orders;
        if let Some(ended) = leg.ended {
            legs.count += 1;
            legs.time += ended - leg.began;
        }
    }
}
