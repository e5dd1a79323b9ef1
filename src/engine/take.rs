//! What an event does to the rover, the clocks and the legs, in order of time.

use wheeltap_parsers::foreign::ResetCause;
use wheeltap_parsers::{Cause, Framing, Interval, Nanos, TextClass, Value, Wire};

use super::by_time::ByTime;
use super::event::{Event, Flag, Frame, Happening, MOST};
use super::legs::Change;
use super::open_line::OpenLine;
use super::{Engine, bare};
use crate::rover::meaning::{Means, Role, Verb};
use crate::rover::state::{Effect, Fields, motion_words};
use crate::rover::wheels::{LegEnd, Twist};
use crate::timing::cadence::{Came, Step};
use crate::timing::counter::Step as Count;

/// The clocks of two boards differ by no more than one part in so many. Common practice for ceramic resonators, no
/// source.
const CLOCKS: Nanos = 200;
/// Silence of this many periods while a wheel is meant to turn is told.
const SILENT_PERIODS: Nanos = 3;

impl Engine {
    /// Takes one event in order of time.
    pub(super) fn take(&mut self, mut event: Event) {
        self.now = self.now.max(event.at);
        if let Some(wire) = event.wire {
            self.health[wire.index()].count(&event);
            self.take_record(wire, &event);
        }
        let open = event.wire.and_then(|wire| self.open_lines[wire.index()].take());
        let leg = match &mut event.what {
            Happening::Frame(frame) => {
                // A reader of lines still holds what was cut short, and takes both for one line.
                if open.is_some_and(|open| open.goes_on(event.offset, event.span.lo)) {
                    frame.flags.set(Flag::Glued);
                }
                event.wire.and_then(|wire| self.take_frame(wire, frame, (event.span, event.offset)))
            }
            Happening::Damage { cause, kind, raw, obeyed } => {
                if let Some(wire) = event.wire {
                    let end = event.offset + event.len;
                    self.open_lines[wire.index()] =
                        self.rover.as_deref().and_then(|rover| OpenLine::of(rover, wire, (*cause, raw), end, event.at));
                }
                *obeyed = event.wire.is_some_and(|wire| self.take_damage(wire, *cause, *kind, raw));
                None
            }
            Happening::Text { class, .. } => event.wire.and_then(|wire| self.take_text(wire, *class, event.at)),
            Happening::PortGone { .. } | Happening::PortBack { .. } => {
                self.take_port(event.wire, event.at, matches!(event.what, Happening::PortBack { .. }))
            }
            Happening::Pins(pins) => {
                self.seen.take_pins(*pins);
                None
            }
            Happening::Clock(clock) => {
                self.seen.take_clock(*clock);
                None
            }
            Happening::Lost { .. } => event.wire.and_then(|wire| self.deaf(wire, event.at, false)),
            Happening::Note(text) => {
                if **text == *super::reaction::TAP {
                    self.reactions.tapped(event.at);
                }
                self.times.note(text);
                let place = self.notes.partition_point(|(at, _)| *at <= event.at);
                self.notes.insert(place, (event.at, text.to_string()));
                None
            }
            _ => None,
        };
        let (at, wire) = (event.at, event.wire);
        let said = self.says_lapsed(&event);
        // It speaks of an order before the one in force: that one may have come just in time, or never.
        let of_another = said && self.state.as_ref().is_some_and(|state| state.lapsed().is_none());
        let lapsed = said && leg == Some(false);
        let place = (event.span, event.offset);
        self.tell(event);
        if let Some(bunched) = self.times.bunched() {
            self.tell(beside(place, wire, bunched));
        }
        if lapsed || of_another {
            self.tell(self.of_last_order(at, Happening::Lapse { certain: lapsed }));
        }
        if let Some(begins) = leg {
            if begins {
                self.reactions.pressed(at);
            }
            self.tell(Event { offset: place.1, ..bare(at, wire, Happening::Leg { begins }) });
        }
    }

    /// What the time of a record alone tells: of the tap, of its adapter, of a gap inside it.
    fn take_record(&mut self, wire: Wire, event: &Event) {
        if event.len == 0 {
            return;
        }
        let told = self.times.record(wire, event);
        if told != ByTime::default() {
            for what in told.happenings() {
                self.tell(beside((event.span, event.offset), Some(wire), what));
            }
        }
        match event.what {
            Happening::Damage { .. } => self.times.broken(wire, true),
            Happening::Text { .. } | Happening::Noise { .. } => self.times.broken(wire, false),
            _ => {}
        }
        let hit = event.what.may_be_frame() && !matches!(event.what, Happening::Frame(_));
        if hit && wire == Wire::ToDrive {
            self.times.hit(event.at);
        }
    }

    /// Whether the drive board itself says with this frame that a deadline ran out.
    fn says_lapsed(&self, event: &Event) -> bool {
        let Happening::Frame(frame) = &event.what else { return false };
        let kinds = event.wire.and_then(|wire| Some(&self.rover.as_ref()?.meaning.kinds[wire.index()]));
        kinds.and_then(|kinds| kinds.get(frame.kind)).is_some_and(|kind| kind.role == Role::Lapse)
    }

    /// Deadlines, silences and missing answers that are certain: on wire `>` no order can still come that ended before the
    /// first of `sure`, on wire `<` no answer before the second. By `quiet` something more begins on wire `>`: that is no
    /// silence, whatever it turns out to be.
    pub(super) fn timers(&mut self, sure: [Nanos; 2], quiet: Nanos) {
        loop {
            let lapse = self.state.as_ref().and_then(crate::rover::state::RoverState::runs_out);
            let lapse = lapse.filter(|at| *at <= sure[0]);
            let silence = self.silent_at().filter(|at| *at <= quiet.min(sure[0]));
            let no_answer = self.times.given_up_at().filter(|at| *at <= sure[1]);
            let Some(next) = [lapse, silence, no_answer].into_iter().flatten().min() else { return };
            if lapse == Some(next) {
                self.lapse(next);
            } else if silence == Some(next) {
                self.silent(next);
            } else {
                self.no_answer(next);
            }
        }
    }

    /// The oldest order that waits for an answer waits no longer.
    fn no_answer(&mut self, at: Nanos) {
        let Some((offset, since)) = self.times.give_up() else { return };
        self.now = self.now.max(at);
        let event = bare(at, Some(Wire::ToDrive), Happening::NoAnswer { since });
        self.tell(Event { offset, ..event });
    }

    fn lapse(&mut self, at: Nanos) {
        self.now = self.now.max(at);
        if let Some(state) = &mut self.state {
            state.run_out(at);
        }
        self.tell(self.of_last_order(at, Happening::Lapse { certain: true }));
        if self.legs.stops(at, LegEnd::Lapse) == Change::Ended {
            self.tell(self.of_last_order(at, Happening::Leg { begins: false }));
        }
    }

    /// When silence is told, if orders are due and a wheel is meant to turn.
    fn silent_at(&self) -> Option<Nanos> {
        let moving = self.state.as_ref().is_some_and(crate::rover::state::RoverState::moving);
        let due = moving && self.port_open[Wire::ToDrive.index()];
        if due { self.times.silent_at(SILENT_PERIODS) } else { None }
    }

    fn silent(&mut self, at: Nanos) {
        let since = self.times.silence(at);
        self.tell(self.of_last_order(at, Happening::SilentWhileMoving { since }));
    }

    /// Something that the last order shows, at a moment between bytes.
    fn of_last_order(&self, at: Nanos, what: Happening) -> Event {
        Event { offset: self.last_order, ..bare(at, Some(Wire::ToDrive), what) }
    }

    /// Takes a good frame; `Some(begins)` when a leg began or ended with it.
    fn take_frame(&mut self, wire: Wire, frame: &mut Frame, (span, offset): (Interval, u64)) -> Option<bool> {
        let rover = self.rover.clone()?;
        let profile = rover.profile(wire)?;
        let meaning = rover.meaning.kinds[wire.index()].get(frame.kind)?;
        let kind = profile.kinds.get(frame.kind)?;
        self.times.frame(wire, frame.kind, span, meaning);
        let mut values = [Value::Int(0); MOST];
        let mut count = 0;
        for (place, value) in values.iter_mut().zip(frame.values.iter()) {
            *place = value;
            count += 1;
        }
        let fields = Fields { meaning, fields: &kind.fields, values: values.get(..count)? };
        let steps = self.counters(wire, fields, &mut frame.flags);
        let number = fields.whole(Means::Sequence);
        if super::times::answers(meaning) && wire == Wire::FromDrive {
            let number = fields.whole(Means::AnswersSequence);
            frame.reply = number.and_then(|number| self.times.answered(number, span));
        }
        if meaning.role == Role::Ignored {
            frame.flags.set(Flag::Ignored);
        }
        if wire == Wire::ToDrive && meaning.role == Role::Order {
            self.possibly_lapsed(span);
            self.last_order = offset;
        }
        // A reader of lines takes the text before it for part of the line, and knows no such line.
        let swallowed = frame.flags.has(Flag::Glued) && matches!(profile.framing, Framing::Lines { .. });
        if swallowed && wire == Wire::ToDrive {
            frame.meant = self.state.as_ref().and_then(crate::rover::state::RoverState::meant);
            if meaning.role == Role::Order {
                self.judge(span, steps, number.is_some(), frame);
            }
            return None;
        }
        if let Some(number) = number.filter(|_| wire == Wire::ToDrive && meaning.role == Role::Order) {
            frame.reply = self.times.sent(number, span, offset);
        }
        self.take_twist(wire, fields, span.hi);
        if let Some(version) = fields.word(Means::Firmware) {
            self.check.heard_firmware(version);
        }
        let state = self.state.as_mut()?;
        if let Some(order) = state.order().filter(|_| meaning.role == Role::Lapse && wire == Wire::FromDrive) {
            self.times.lapse_reported(span, order.at);
        }
        let in_force = state.order().map(|order| order.at.hi);
        let effect = state.take(wire, fields, span);
        frame.meant = state.meant();
        match effect {
            Effect::Ordered => {
                self.judge(span, steps, number.is_some(), frame);
                return self.leg_of_order(span.hi, frame);
            }
            Effect::Answered(false) => {
                frame.flags.set(Flag::Refused);
                if let Some(at) = in_force.filter(|at| state.order().map(|order| order.at.hi) != Some(*at)) {
                    self.legs.taken_back(at);
                }
            }
            Effect::DriveBoardUp => {
                self.times.anew(wire);
                return self.leg_ends(span.hi, LegEnd::Lapse);
            }
            Effect::Lapsed => return self.leg_ends(span.hi, LegEnd::Lapse),
            Effect::Answered(true) if state.answered() == Some(true) => {
                frame.confirmed = state.confirmed();
            }
            Effect::None if meaning.role == Role::Report => frame.confirmed = state.confirmed(),
            Effect::Answered(true) | Effect::None => {}
        }
        // A duty alone can change a move in force.
        if meaning.role == Role::Order { self.leg_of_order(span.hi, frame) } else { None }
    }

    /// How the driver steers, where an order states a turn of its own.
    fn take_twist(&mut self, wire: Wire, fields: Fields<'_>, at: Nanos) {
        // The same fields may hold something else beside another verb.
        let drives = |verb: &str| {
            let verbs = self.rover.as_ref().map(|rover| rover.meaning.verbs.as_slice()).unwrap_or_default();
            verbs.iter().any(|(word, means)| word == verb && *means == Verb::Drive)
        };
        let twisted = wire == Wire::ToDrive && fields.meaning.role == Role::Order;
        if !twisted || fields.word(Means::Verb).is_some_and(|verb| !drives(verb)) {
            if twisted {
                self.corrections.ends(at);
            }
            return;
        }
        let full = self.rover.as_ref().map_or(1, |rover| rover.meaning.mixer.full.max(1));
        let part = |means| fields.thousandths(means).map(|value| (value.saturating_mul(1000) / full) as i32);
        if let (Some(vx), Some(vy), Some(wz)) = (part(Means::Ahead), part(Means::Left), part(Means::Turn)) {
            self.corrections.take(at, Twist { vx, vy, wz });
        }
    }

    /// Sequence and panel counters of an order; how many places it came after the one before.
    fn counters(&mut self, wire: Wire, fields: Fields<'_>, flags: &mut super::event::Flags) -> i64 {
        if wire != Wire::ToDrive {
            return 1;
        }
        let mut steps = 1;
        if let Some(value) = fields.whole(Means::Sequence) {
            match self.sequence.take(value, self.times.hit_since()) {
                Count::Gap(missing) => {
                    flags.set(Flag::SequenceGap);
                    steps += missing;
                }
                Count::Repeat => flags.set(Flag::SequenceRepeat),
                Count::Back(_) => flags.set(Flag::SequenceBack),
                Count::Restart => flags.set(Flag::SequenceRestart),
                Count::First | Count::Next => {}
            }
        }
        if let Some(value) = fields.whole(Means::PanelCounter) {
            match self.panel.take(value, self.times.hit_since()) {
                Count::Gap(_) => flags.set(Flag::PanelGap),
                Count::Back(_) => flags.set(Flag::PanelBack),
                Count::First | Count::Next | Count::Repeat | Count::Restart => {}
            }
        }
        if flags.has(Flag::SequenceRestart) || flags.has(Flag::SequenceBack) { 0 } else { steps }
    }

    /// An order that came near the end of the one before it: the deadline may have run out just before.
    fn possibly_lapsed(&mut self, span: Interval) {
        let runs_out = self.state.as_ref().and_then(crate::rover::state::RoverState::runs_out);
        // The drive board's own clock may run a little fast.
        let length = self.state.as_ref().and_then(|state| state.order()?.deadline).unwrap_or(0);
        if let Some(at) = runs_out.filter(|at| *at < span.hi + length / CLOCKS) {
            self.tell(self.of_last_order(at, Happening::Lapse { certain: false }));
        }
    }

    /// Rhythm of the orders. `steps` is 0 where the one before says nothing of this one.
    fn judge(&mut self, span: Interval, steps: i64, counted: bool, frame: &mut Frame) {
        let step = Step { places: steps, counted, anew: steps == 0, ..Step::PLAIN };
        match self.times.order(span, step, frame.meant) {
            Came::Late(_) => frame.flags.set(Flag::Late),
            Came::PossiblyLate => frame.flags.set(Flag::PossiblyLate),
            Came::OnTime => {}
        }
    }

    fn leg_of_order(&mut self, at: Nanos, frame: &mut Frame) -> Option<bool> {
        let state = self.state.as_ref()?;
        let meant = state.meant()?;
        let name = match state.order().and_then(|order| order.name.as_deref()) {
            Some(name) => name,
            None => motion_words(state.twist()?, state.scrub()),
        };
        match self.legs.moves(at, name, meant) {
            Change::None => None,
            Change::Began => Some(true),
            Change::Ended => Some(false),
            Change::Changed => {
                frame.flags.set(Flag::NoRestBetween);
                Some(true)
            }
        }
    }

    fn leg_ends(&mut self, at: Nanos, end: LegEnd) -> Option<bool> {
        (self.legs.stops(at, end) == Change::Ended).then_some(false)
    }

    /// A lenient reader may obey a broken number.
    fn take_damage(&mut self, wire: Wire, cause: Cause, kind: Option<usize>, raw: &[u8]) -> bool {
        let Some(rover) = self.rover.clone() else { return false };
        let (Some(state), Some(kind), Wire::ToDrive) = (&mut self.state, kind, wire) else { return false };
        let Some(profile) = rover.profile(wire) else { return false };
        let (Some(layout), Some(meaning)) = (profile.kinds.get(kind), rover.meaning.kinds[0].get(kind)) else {
            return false;
        };
        let number = matches!(cause, Cause::NotANumber | Cause::OutOfRange);
        let [wheeltap_parsers::Part::Literal(head), wheeltap_parsers::Part::Field(0)] = layout.parts.as_slice() else {
            return false;
        };
        let rest = raw.strip_prefix(head.as_slice()).filter(|_| number && layout.check.is_empty());
        match (rest, meaning.fields.first()) {
            (Some(rest), Some(means)) => state.take_broken_number(*means, rest),
            _ => false,
        }
    }

    fn take_text(&mut self, wire: Wire, class: TextClass, at: Nanos) -> Option<bool> {
        if !starts(class) {
            return None;
        }
        self.times.anew(wire);
        match wire {
            Wire::ToDrive => {
                self.sequence.forget();
                self.panel.forget();
                None
            }
            Wire::FromDrive => {
                if let Some(state) = &mut self.state {
                    state.drive_board_started();
                }
                self.leg_ends(at, LegEnd::Cut)
            }
        }
    }

    fn take_port(&mut self, wire: Option<Wire>, at: Nanos, back: bool) -> Option<bool> {
        let wire = wire?;
        self.port_open[wire.index()] = back;
        self.deaf(wire, at, back)
    }

    /// Something may have stood on the wire that was not heard: no deadline or rhythm is judged across it.
    fn deaf(&mut self, wire: Wire, at: Nanos, listens: bool) -> Option<bool> {
        self.times.anew(wire);
        self.times.deaf(wire, listens);
        if wire != Wire::ToDrive {
            return None;
        }
        self.sequence.forget();
        self.panel.forget();
        self.corrections.ends(at);
        if let Some(state) = &mut self.state {
            state.not_heard();
        }
        self.leg_ends(at, LegEnd::Cut)
    }
}

/// What happened at a record, which is none itself.
fn beside((span, offset): (Interval, u64), wire: Option<Wire>, what: Happening) -> Event {
    Event { offset, ..bare(span.hi, wire, what) }
}

/// Whether this text says that its board has just started.
fn starts(class: TextClass) -> bool {
    matches!(class, TextClass::Start { .. } | TextClass::Reset(_)) && class != TextClass::Reset(ResetCause::Sleep)
}
