//! The engine: every input goes in here and nowhere else; events, findings and snapshots come out.
//!
//! The same inputs give the same events, for any cutting of the bytes that keeps each byte's interval and any cutting
//! of ticks. Cloning the engine keeps its place in the session.

mod by_time;
mod correction;
pub mod event;
mod health;
mod legs;
mod look;
mod merge;
mod open_line;
pub mod reaction;
mod rules;
mod seen;
pub mod snapshot;
mod take;
mod tally;
mod times;
pub mod wheel_check;
pub mod words;

use std::collections::VecDeque;
use std::sync::Arc;

use wheeltap_parsers::{Cause, Chunk, Decoder, Framing, Input, Interval, Nanos, Profile, Record, Sink, What, Wire};

use crate::findings::attribution::Attribution;
use crate::findings::{Finding, Need, NotJudged, View, gives};
use crate::rover::file::RoverFile;
use crate::rover::state::RoverState;
use crate::timing::cadence::Rhythm;
use crate::timing::counter::Counter;
use crate::timing::link::{LinkFacts, WireFacts};
use correction::Corrections;
use event::{Event, Frame, Happening, Raw, Values};
use health::Health;
use legs::Legs;
use merge::Merge;
use reaction::Reactions;
use rules::Rules;
use seen::Seen;
use tally::Tally;
use times::Times;
use wheel_check::WheelCheck;

/// How many of the last events a snapshot can show.
const SHOWN: usize = 400;

/// The whole pipeline: decode, rover, timing, findings.
pub struct Engine {
    link: LinkFacts,
    rover: Option<Arc<RoverFile>>,
    decoders: [Option<Decoder>; 2],
    merge: Merge,
    now: Nanos,
    state: Option<RoverState>,
    times: Times,
    sequence: Counter,
    panel: Counter,
    health: [Health; 2],
    /// Bytes received of each wire, decided or not.
    received: [u64; 2],
    port_open: [bool; 2],
    /// Place of the last intact order on its wire; 0 before the first.
    last_order: u64,
    legs: Legs,
    notes: Vec<(Nanos, String)>,
    tally: Tally,
    /// For each wire, a line that nothing has ended yet.
    open_lines: [Option<open_line::OpenLine>; 2],
    reactions: Reactions,
    seen: Seen,
    check: WheelCheck,
    corrections: Corrections,
    attribution: Attribution,
    rules: Rules,
    /// The newest events before those in `out`.
    recent: VecDeque<Event>,
    out: Vec<Event>,
    ended: bool,
}

impl Clone for Engine {
    fn clone(&self) -> Self {
        Self {
            link: self.link.clone(),
            rover: self.rover.clone(),
            decoders: self.decoders.clone(),
            merge: self.merge.clone(),
            now: self.now,
            state: self.state.clone(),
            times: self.times.clone(),
            sequence: self.sequence.clone(),
            panel: self.panel.clone(),
            health: self.health.clone(),
            received: self.received,
            port_open: self.port_open,
            last_order: self.last_order,
            legs: self.legs.clone(),
            notes: self.notes.clone(),
            tally: self.tally.clone(),
            open_lines: self.open_lines,
            reactions: self.reactions.clone(),
            seen: self.seen.clone(),
            check: self.check.clone(),
            corrections: self.corrections.clone(),
            attribution: self.attribution.clone(),
            rules: self.rules.clone(),
            recent: self.recent.clone(),
            out: self.out.clone(),
            ended: self.ended,
        }
    }
}

impl Engine {
    /// An engine at the start of a session. Without a rover file every line is text and nothing is meant.
    pub fn new(link: LinkFacts, rover: Option<Arc<RoverFile>>) -> Self {
        let open = Wire::BOTH.map(|wire| link.wire(wire).is_some());
        let decoder = |wire: Wire| open[wire.index()].then(|| decoder(wire, rover.as_deref()));
        let counts =
            rover.as_ref().map_or([256; 2], |rover| [rover.meaning.sequence_counts, rover.meaning.panel_counts]);
        Self {
            decoders: Wire::BOTH.map(decoder),
            merge: Merge::new(open),
            now: 0,
            state: rover.as_ref().map(|rover| RoverState::new(Arc::clone(&rover.meaning))),
            times: Times::new(rover.as_deref(), &link),
            sequence: Counter::new(counts[0]),
            panel: Counter::new(counts[1]),
            health: Default::default(),
            received: [0; 2],
            port_open: open,
            last_order: 0,
            legs: Legs::default(),
            notes: Vec::new(),
            tally: Tally::default(),
            open_lines: [None; 2],
            reactions: Reactions::default(),
            seen: Seen::default(),
            check: WheelCheck::new(rover.as_ref()),
            corrections: Corrections::default(),
            attribution: Attribution::new(counts[0], counts[1]),
            rules: Rules::new(rover.as_deref(), &link),
            recent: VecDeque::new(),
            out: Vec::new(),
            ended: false,
            link,
            rover,
        }
    }

    /// An engine at the start of the same session, with the same rover file.
    pub fn afresh(&self) -> Self {
        Self::new(self.link.clone(), self.rover.clone())
    }

    /// How the session was listened to.
    pub const fn link(&self) -> &LinkFacts {
        &self.link
    }

    /// The rover file in use.
    pub fn rover(&self) -> Option<&RoverFile> {
        self.rover.as_deref()
    }

    /// The moves of the legs that began with the last input, one for each event that says so, in their order.
    pub fn legs_begun(&self) -> &[String] {
        self.legs.begun()
    }

    /// The latest instant that any input has named.
    pub const fn now(&self) -> Nanos {
        self.now
    }

    /// The wheel check: sheets from this session's notes.
    pub const fn check(&self) -> &WheelCheck {
        &self.check
    }

    /// Mean turn corrections of straight moves, where the link orders a twist.
    pub fn turn_corrections(&self) -> Vec<snapshot::wheel_check::MeanTurn> {
        self.corrections.measured()
    }

    /// Takes one input; the events it lets out, in order of time.
    pub fn push(&mut self, input: Input<'_>) -> &[Event] {
        self.keep_shown();
        match input {
            Input::Chunk(chunk) => self.chunk(&chunk),
            Input::Tick(at) => self.tick(at),
            Input::Pins(pins) => self.merge.remark(bare(pins.at, None, Happening::Pins(pins))),
            Input::Clock(clock) => {
                self.merge.add(clock.wire, bare(clock.at, Some(clock.wire), Happening::Clock(clock)));
            }
            Input::Note { at, text } => {
                // A sheet orders its remarks by their time itself; the person at the desk need not wait for the wire.
                self.check.note(at, text);
                self.merge.remark(bare(at, None, Happening::Note(text.into())));
            }
            Input::PortGone { at, wire } => self.port(at, wire, false),
            Input::PortBack { at, wire } => self.port(at, wire, true),
            Input::Lost { at, since, wire, bytes, damaged } => {
                self.decode(wire, |decoder, sink| decoder.cut(sink));
                let begins = since.min(at);
                let lost = bare(begins.max(self.merge.newest(wire)), Some(wire), Happening::Lost { bytes, damaged });
                self.merge.add(wire, Event { span: Interval::new(begins, lost.at), ..lost });
            }
        }
        self.drain(None);
        &self.out
    }

    /// The input has ended: lets everything out.
    pub fn finish(&mut self) -> &[Event] {
        self.keep_shown();
        if !self.ended {
            self.ended = true;
            for wire in Wire::BOTH {
                self.decode(wire, |decoder, sink| decoder.cut(sink));
            }
            self.drain(Some(self.now));
        }
        &self.out
    }

    /// Findings so far, worst first, then by first time.
    pub fn findings(&self) -> Vec<Finding> {
        self.rules.findings(&self.gives())
    }

    /// Rules that cannot judge on this link, and what it lacks.
    pub fn not_judged(&self) -> Vec<NotJudged> {
        self.rules.not_judged(&self.gives(), self.link.dump)
    }

    fn gives(&self) -> Vec<Need> {
        let tapped = Wire::BOTH.map(|wire| self.link.wire(wire).is_some());
        let mut gives = gives(self.rover.as_deref(), tapped, self.times.rhythm());
        if self.link.wires.iter().flatten().any(|facts| facts.rate.is_some()) {
            gives.push(Need::LineRate);
        }
        gives.extend(self.link.pins.then_some(Need::Pins));
        gives.extend(self.link.dump.then_some(Need::Levels));
        gives
    }

    fn chunk(&mut self, chunk: &Chunk<'_>) {
        self.now = self.now.max(chunk.hi);
        self.received[chunk.wire.index()] += chunk.bytes.len() as u64;
        if self.decoders[chunk.wire.index()].is_none() {
            self.open_wire(chunk.wire);
        }
        self.decode(chunk.wire, |decoder, sink| decoder.push(chunk, sink));
    }

    /// A wire that was not known as tapped speaks up: a stream names its wires only as they come.
    fn open_wire(&mut self, wire: Wire) {
        self.decoders[wire.index()] = Some(decoder(wire, self.rover.as_deref()));
        self.merge.set_open(wire, true);
        self.port_open[wire.index()] = true;
        let unknown = || WireFacts { rate: None, settings: "8N1".to_owned(), latency: 0, port: "stream".to_owned() };
        let facts = self.link.later.clone().unwrap_or_else(unknown);
        self.link.wires[wire.index()].get_or_insert(facts);
        self.times.listen(&self.link);
    }

    fn tick(&mut self, at: Nanos) {
        self.now = self.now.max(at);
        for wire in Wire::BOTH {
            self.decode(wire, |decoder, sink| decoder.tick(at, sink));
            self.merge.passed(wire, at);
        }
    }

    fn port(&mut self, at: Nanos, wire: Wire, back: bool) {
        self.now = self.now.max(at);
        if !back {
            self.decode(wire, |decoder, sink| decoder.cut(sink));
        }
        let dump = self.link.dump;
        let what = if back { Happening::PortBack { dump } } else { Happening::PortGone { dump } };
        self.merge.add(wire, bare(at, Some(wire), what));
        self.merge.set_open(wire, back);
    }

    /// Runs the wire's decoder and puts its records into the merge.
    fn decode(&mut self, wire: Wire, run: impl FnOnce(&mut Decoder, &mut IntoMerge<'_>)) {
        if let Some(decoder) = &mut self.decoders[wire.index()] {
            run(decoder, &mut IntoMerge(&mut self.merge));
        }
    }

    /// Lets out what may leave; `end` is the end of the session when it has come.
    fn drain(&mut self, end: Option<Nanos>) {
        let held = [0, 1].map(|wire: usize| self.decoders[wire].as_ref().and_then(Decoder::held_since));
        let begun = self.decoders[Wire::ToDrive.index()].as_ref().and_then(Decoder::held_from);
        while let Some(event) = self.merge.next(held, end.is_some()) {
            let orders = event.wire == Some(Wire::ToDrive) && event.len > 0;
            let quiet = if orders { event.begins.lo } else { self.merge.quiet_to(Wire::ToDrive, begun) };
            self.timers(self.merge.sure_at(&event, held), quiet);
            self.explain(event.span.lo);
            self.take(event);
        }
        let until = end.unwrap_or_else(|| self.merge.sure_to(held));
        self.timers([until; 2], self.merge.quiet_to(Wire::ToDrive, begun));
        self.explain(until);
        if end.is_some() {
            self.attribution.finish();
            self.hand_causes();
        }
        let view = view(self.rover.as_deref(), self.state.as_ref(), self.times.rhythm(), &self.link);
        self.rules.pass(until, &view);
    }

    /// Closes the horizons up to here.
    fn explain(&mut self, until: Nanos) {
        self.attribution.pass(until);
        self.hand_causes();
    }

    /// The rules hear of each cause that was decided.
    fn hand_causes(&mut self) {
        if !self.attribution.has_decided() {
            return;
        }
        for explained in self.attribution.decided() {
            self.rules.explained(&explained);
        }
    }

    /// Rules see the event, it is kept for showing, and it goes out.
    fn tell(&mut self, event: Event) {
        let view = view(self.rover.as_deref(), self.state.as_ref(), self.times.rhythm(), &self.link);
        if self.rover.is_none() {
            self.tally.count(&event);
        }
        // Where the recording ends inside a frame, nothing hit that frame.
        let ends_here =
            self.ended && event.wire.is_some_and(|wire| event.offset + event.len == self.received[wire.index()]);
        if !(ends_here && matches!(event.what, Happening::Damage { cause: Cause::Truncated, .. })) {
            self.rules.see(&event, &view);
            self.attribution.see(&event, &view);
        }
        self.hand_causes();
        self.out.push(event);
    }

    /// What the last input let out is kept for showing; legs are shown by themselves.
    fn keep_shown(&mut self) {
        self.legs.next_input();
        for event in self.out.drain(..).filter(|event| !matches!(event.what, Happening::Leg { .. })) {
            if self.recent.len() == SHOWN {
                self.recent.pop_front();
            }
            self.recent.push_back(event);
        }
    }

    /// The newest events, the newest last.
    fn shown(&self) -> Vec<&Event> {
        let all = self.recent.iter().chain(&self.out).filter(|event| !matches!(event.what, Happening::Leg { .. }));
        let mut all: Vec<&Event> = all.collect();
        all.split_off(all.len().saturating_sub(SHOWN))
    }
}

/// What rules see besides the event.
fn view<'a>(rover: Option<&'a RoverFile>, state: Option<&'a RoverState>, rhythm: Rhythm, link: &LinkFacts) -> View<'a> {
    let wires = link.wires.each_ref();
    let rates = wires.map(|facts| facts.as_ref().and_then(|facts| facts.rate));
    let dump = link.dump.then_some(link.duties);
    View { rover, state, rhythm, tapped: wires.map(Option::is_some), rates, dump }
}

/// Puts records into the merge.
struct IntoMerge<'a>(&'a mut Merge);

impl Sink for IntoMerge<'_> {
    fn record(&mut self, record: &Record<'_>) {
        self.0.add(record.wire, event_of(record));
    }
}

/// The decoder of a wire, as the rover file has it, or for lines of text.
fn decoder(wire: Wire, rover: Option<&RoverFile>) -> Decoder {
    let profile = rover.and_then(|rover| rover.profile(wire).cloned());
    Decoder::new(wire, profile.unwrap_or_else(|| unknown(rover)))
}

/// What an unknown link looks like: lines of text ended by LF, start-up text known as the rover file says.
fn unknown(rover: Option<&RoverFile>) -> Arc<Profile> {
    let start_up = rover.and_then(|rover| rover.profiles.iter().flatten().next()).map(|known| known.start_up.clone());
    Arc::new(Profile {
        framing: Framing::Lines { start: Vec::new(), end: b"\n".to_vec() },
        kinds: Vec::new(),
        longest: 512,
        start_up: start_up.unwrap_or_default(),
        idle: 100_000_000,
    })
}

/// An event with no bytes.
fn bare(at: Nanos, wire: Option<Wire>, what: Happening) -> Event {
    let span = Interval::new(at, at);
    Event { at, span, begins: span, wire, offset: 0, len: 0, what }
}

fn event_of(record: &Record<'_>) -> Event {
    let what = match record.what {
        What::Frame { kind, values, glued, bytes } => {
            let mut flags = event::Flags::default();
            if glued {
                flags.set(event::Flag::Glued);
            }
            Happening::Frame(Frame {
                kind,
                values: Values::new(values),
                flags,
                raw: Raw::new(bytes),
                meant: None,
                confirmed: None,
                reply: None,
            })
        }
        What::Damage { cause, kind, excerpt } => Happening::Damage { cause, kind, raw: excerpt.into(), obeyed: false },
        What::Text { class, excerpt } => Happening::Text { class, raw: excerpt.into() },
        What::Noise { excerpt } => Happening::Noise { raw: excerpt.into() },
    };
    Event {
        at: record.at.hi,
        span: record.at,
        begins: record.begins,
        wire: Some(record.wire),
        offset: record.offset,
        len: record.len,
        what,
    }
}
