//! Attribution: each observed trouble gets exactly one cause when its horizon closes, and keeps it.
//!
//! Three stages. Troubles are observed one by one. Each waits until the next order, or its own horizon, and is then
//! given its cause from what stood between the two orders: start-up text, damage, a deaf tap, how both counters
//! moved. What is then known of the session is a pure function of the ledger of causes.
//!
//! A tick only lets causes out: each is dated by the order or the horizon that closed it.

mod between;
mod breaks;
pub mod cause;
mod series;
pub mod trouble;
pub mod verdict;

use std::collections::BTreeMap;

use wheeltap_parsers::{Cause as Broken, Nanos, TextClass, Wire};

use crate::engine::event::{Event, Flag, Flags, Happening, Values};
use crate::findings::nearly_an_order::{nearly, resembles};
use crate::findings::noise_runs::is_remark;
use crate::findings::reset::{self, ANOTHER_START, Sort};
use crate::findings::{Evidence, Finding, View, in_lines};
use crate::rover::meaning::{KindMeaning, Means};
use crate::rover::state::RoverState;
use crate::timing::counter::{Counter, Step};
use between::{Between, Habit, Steps};
use breaks::Breaks;
use cause::Cause;
use series::{Series, Turns};
use trouble::Trouble;
use verdict::Verdict;

/// A trouble with its cause.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Explained {
    /// What was observed, and where.
    pub trouble: Trouble,
    /// Its place.
    pub place: Evidence,
    /// Why it happened.
    pub cause: Cause,
    /// Of a frame that did not arrive intact: in which way.
    pub damage: Option<Broken>,
    /// When that was decided, nanoseconds.
    pub closed: Nanos,
}

/// A trouble that waits for its cause.
#[derive(Clone, Copy, Debug)]
struct Waiting {
    trouble: Trouble,
    place: Evidence,
    wire: Wire,
    closes: Nanos,
    /// For a jump of the panel's counter: the value before it, and behind it.
    from: i64,
    to: i64,
    /// For such a jump: an order of the old series came again.
    two_series: bool,
    /// For a refusal: the start or the glue before the order in force.
    fresh: Option<Cause>,
    /// For what was hit: the cause, where nothing that stood about it says otherwise.
    likely: Cause,
    /// For a broken frame: in which way.
    damage: Option<Broken>,
}

/// A board's transmit pin can put a few bytes on the wire as it starts. Common practice, no source.
const STRAY: u64 = 4;
/// A sender that repeats does so at rest as well, and within this time. Common practice, no source.
const SILENT: Nanos = 700_000_000;
/// Two orders closer than this after a silence came bunched. Common practice, no source.
const BUNCHED: Nanos = 20_000_000;

/// What an order asks for.
#[derive(Clone, Debug)]
struct Asked {
    kind: usize,
    values: Values,
    /// Whether that is a rest.
    rests: bool,
}

/// The ledger of causes, and what still waits.
#[derive(Clone, Debug)]
pub struct Attribution {
    between: [Between; 2],
    waiting: Vec<Waiting>,
    sequence: Counter,
    panel: Counter,
    last_panel: Option<i64>,
    series: Series,
    turns: Turns,
    last_order: Option<(Evidence, Nanos)>,
    /// The start of the command board before the order in force, if one was.
    fresh: Option<Cause>,
    /// What was refused, if anything was, right before the order in force.
    before: Option<Cause>,
    /// What ended the last silence, while orders that waited meanwhile may still come bunched.
    stalled: Option<(Cause, Nanos)>,
    running: [bool; 2],
    habit: Habit,
    /// What the last order asked for.
    asked: Option<Asked>,
    broken: Breaks,
    ledger: BTreeMap<(Cause, Trouble), u64>,
    decided: Vec<Explained>,
}

impl Attribution {
    /// An empty ledger; how far the sequence and the panel's counter count.
    pub fn new(sequence_counts: i64, panel_counts: i64) -> Self {
        Self {
            between: Default::default(),
            waiting: Vec::new(),
            sequence: Counter::new(sequence_counts),
            panel: Counter::new(panel_counts),
            last_panel: None,
            series: Series::default(),
            turns: Turns::default(),
            last_order: None,
            fresh: None,
            before: None,
            stalled: None,
            running: [false; 2],
            habit: Habit::default(),
            asked: None,
            broken: Breaks::default(),
            ledger: BTreeMap::new(),
            decided: Vec::new(),
        }
    }

    /// Takes the next event.
    pub fn see(&mut self, event: &Event, view: &View<'_>) {
        match &event.what {
            Happening::Frame(frame) if view.is_order(event) => self.order(event, frame.flags, view),
            Happening::Frame(frame) => self.other_frame(event, frame.flags, view),
            Happening::Damage { cause, raw, .. } => self.damage(event, *cause, raw, view),
            Happening::Noise { .. } => self.noise(event, view),
            Happening::Text { class, raw } => self.text(event, *class, raw, view),
            Happening::Lapse { certain: true } => self.silence(event, Trouble::Lapse),
            Happening::SilentWhileMoving { .. } => self.silence(event, Trouble::Silence),
            Happening::PortGone { .. } | Happening::Lost { .. } => self.deaf(event),
            _ => {}
        }
    }

    /// Closes every horizon that has passed.
    pub fn pass(&mut self, until: Nanos) {
        self.close(|waiting| waiting.closes <= until, None);
    }

    /// The session is over: whatever waits is given the cause that what was heard allows.
    pub fn finish(&mut self) {
        self.close(|_| true, None);
    }

    /// Whether a cause was decided since they were last taken.
    pub fn has_decided(&self) -> bool {
        !self.decided.is_empty()
    }

    /// Causes decided since the last call.
    pub fn decided(&mut self) -> Vec<Explained> {
        std::mem::take(&mut self.decided)
    }

    /// What is known now: where to look. The findings are those of the same moment.
    pub fn verdict(&self, findings: &[Finding]) -> Verdict {
        Verdict::of(&self.ledger, self.waiting.len() as u64).beside(findings)
    }

    fn order(&mut self, event: &Event, flags: Flags, view: &View<'_>) {
        let steps = self.steps(event, view);
        self.close(|waiting| waiting.closes <= event.span.lo, None);
        let between = std::mem::take(&mut self.between[0]);
        let cause = between.cause(steps, self.habit, view.rhythm.period().is_some());
        self.follow(event, steps, between, view);
        let glued = flags.has(Flag::Glued) && view.rover.is_some_and(in_lines);
        let glue = glued.then(|| between.of_glue());
        for waiting in self.waiting.iter_mut().filter(|waiting| waiting.trouble == Trouble::Refused) {
            waiting.fresh = waiting.fresh.or(glue);
        }
        let silent = self.waiting.iter().any(|waiting| waiting.trouble.is_silence());
        self.close(
            |waiting| waiting.wire == Wire::ToDrive && waiting.trouble != Trouble::PanelJump,
            Some((cause, event.at, between)),
        );
        self.flagged(event, (glued, flags.has(Flag::Late)), steps, between, cause);
        let late = flags.has(Flag::Late);
        self.bunched(event, if late { cause.of_late() } else { cause }, silent || late);
        self.fresh = between.start_cause(Wire::ToDrive).or(glue);
        self.before = between.of_refusal();
        // A reader of lines takes a glued order for part of the line before: what hit that line goes on.
        if glue == Some(Cause::Wire) {
            self.between[0].breaks(Cause::Wire);
        }
        self.running[0] = true;
        self.broken.fits(Wire::ToDrive);
        let place = place(event);
        self.last_order = place.map(|place| (place, event.span.lo));
    }

    /// How the command board sends: whether it repeats what is in force.
    fn follow(&mut self, event: &Event, steps: Steps, between: Between, view: &View<'_>) {
        self.habit.news += u64::from(steps.panel == Some(Step::Next));
        self.habit.repeats += u64::from(steps.panel == Some(Step::Repeat));
        let (Happening::Frame(frame), Some(kind)) = (&event.what, view.kind(event)) else {
            self.asked = None;
            return;
        };
        let rests = !view.state.is_some_and(RoverState::moving);
        if let Some(asked) = &mut self.asked {
            let same = asked.kind == frame.kind && frame.values.same_but(&asked.values, |place| numbers(kind, place));
            self.habit.same += u64::from(same);
            self.habit.other += u64::from(!same);
            let silent = self.last_order.is_some_and(|(place, _)| event.span.lo - place.at >= SILENT);
            self.habit.silent_rests += u64::from(silent && asked.rests && between.is_quiet());
            asked.rests = rests;
            if same {
                return;
            }
        }
        self.asked = Some(Asked { kind: frame.kind, values: frame.values.clone(), rests });
    }

    /// Troubles that the order itself shows.
    fn flagged(&mut self, event: &Event, (glued, late): (bool, bool), steps: Steps, between: Between, cause: Cause) {
        let started = between.of_new_number();
        let mut known = |trouble, cause| self.known(event, trouble, cause);
        if glued {
            known(Trouble::Glued, between.of_glue());
        }
        if late {
            known(Trouble::Late, cause.of_late());
        }
        match steps.sequence {
            Some(Step::Gap(_)) if steps.turn => known(Trouble::SequenceGap, Cause::TwoSenders),
            Some(Step::Back(_)) if steps.turn => known(Trouble::SequenceOrder, Cause::TwoSenders),
            Some(Step::Gap(_)) => known(Trouble::SequenceGap, between.of_missing()),
            Some(Step::Restart) => known(Trouble::SequenceRestart, started.unwrap_or(Cause::Restarted)),
            Some(Step::Back(_)) => known(Trouble::SequenceOrder, started.unwrap_or(Cause::NumberBack)),
            Some(Step::Repeat) => known(Trouble::SequenceOrder, started.unwrap_or(Cause::SentTwice)),
            _ => {}
        }
        let whole = matches!(steps.sequence, Some(Step::Next) | None) && between.is_quiet();
        match (steps.panel, whole) {
            (Some(Step::Gap(_) | Step::Restart), true) => {
                if self.goes_on_elsewhere(steps) {
                    self.known(event, Trouble::PanelJump, Cause::TwoSeries);
                } else {
                    self.wait_for_series(event, steps);
                }
            }
            (Some(Step::Back(_)), true) => {
                let elsewhere = self.goes_on_elsewhere(steps);
                let cause = if elsewhere { Cause::TwoSeries } else { Cause::OutOfTurn };
                self.known(event, Trouble::PanelBack, cause);
            }
            _ => {}
        }
    }

    /// The panel's counter left one series: whether it goes on with another, where two are known.
    fn goes_on_elsewhere(&mut self, steps: Steps) -> bool {
        let jump = steps.panel_before.zip(self.last_panel);
        jump.is_some_and(|(from, to)| self.series.jumps(from, to))
    }

    /// Orders that come close together right after a silence.
    fn bunched(&mut self, event: &Event, cause: Cause, silent: bool) {
        if silent {
            self.stalled = Some((cause, event.span.hi));
            return;
        }
        let Some((cause, before)) = self.stalled.take() else { return };
        if event.span.hi - before < BUNCHED && event.span.width() < BUNCHED / 4 {
            self.known(event, Trouble::Bunch, cause);
            self.stalled = Some((cause, event.span.hi));
        }
    }

    fn other_frame(&mut self, event: &Event, flags: Flags, view: &View<'_>) {
        let Some(wire) = event.wire else { return };
        if wire == Wire::FromDrive {
            self.answered(event, view);
        }
        self.running[wire.index()] = true;
        self.broken.fits(wire);
        if flags.has(Flag::Refused) {
            // Through an adapter a refusal can be heard before the order that it is for.
            self.wait(event, Trouble::Refused);
            let of_before = self.before.filter(|_| self.is_of_another(event, view));
            if let Some(waiting) = self.waiting.last_mut() {
                waiting.wire = Wire::ToDrive;
                waiting.fresh = waiting.fresh.or(of_before);
            }
        }
    }

    /// Whether an answer names another order than the last one; where answers have no numbers it may.
    fn is_of_another(&self, event: &Event, view: &View<'_>) -> bool {
        let number = view.whole(event, Means::AnswersSequence);
        number.is_none() || number != self.sequence.last()
    }

    /// A good frame on the wire back ends what stood before it; a hello may tell of a reset that no text told.
    fn answered(&mut self, event: &Event, view: &View<'_>) {
        let mut between = std::mem::take(&mut self.between[1]);
        let hello = reset::hello(event, view).filter(|_| self.running[1] && between.start.is_none());
        if let Some(sort) = hello {
            between.starts(event.at, sort, true);
            self.wait(event, Trouble::Start);
        }
        self.close(|waiting| waiting.wire == Wire::FromDrive, Some((Cause::Stopped, event.at, between)));
    }

    /// A broken frame.
    fn damage(&mut self, event: &Event, way: Broken, raw: &[u8], view: &View<'_>) {
        let Some(wire) = event.wire else { return };
        let likely = self.broken.likely(wire, (way, raw, event.len), view);
        self.hit(event, Trouble::Damage, likely);
        if let Some(waiting) = self.waiting.last_mut() {
            waiting.damage = Some(way);
        }
    }

    fn noise(&mut self, event: &Event, view: &View<'_>) {
        let Some(wire) = event.wire else { return };
        let between = &mut self.between[wire.index()];
        between.remark = is_remark(event);
        if between.remark {
            between.stray = true;
            return;
        }
        let likely = self.broken.of_bytes(wire, event.len, view);
        self.hit(event, Trouble::Noise, likely);
    }

    fn hit(&mut self, event: &Event, trouble: Trouble, likely: Cause) {
        let Some(wire) = event.wire else { return };
        let between = &mut self.between[wire.index()];
        if trouble == Trouble::Noise && event.len <= STRAY {
            between.stray = true;
        } else {
            between.breaks(likely);
        }
        self.wait(event, trouble);
        if let Some(waiting) = self.waiting.last_mut() {
            waiting.likely = likely;
        }
    }

    fn text(&mut self, event: &Event, class: TextClass, raw: &[u8], view: &View<'_>) {
        let Some(wire) = event.wire else { return };
        let Some(sort) = reset::sort(class) else {
            let between = &mut self.between[wire.index()];
            between.stray |= class == TextClass::Free;
            between.remark = !resembles(raw, view);
            if let Some(order) = nearly(event, view) {
                let likely = self.broken.of_line(raw, &order);
                self.hit(event, Trouble::Nearly, likely);
            }
            return;
        };
        let mid_run = self.running[wire.index()] || !matches!(sort, Sort::Power | Sort::Other);
        let between = &mut self.between[wire.index()];
        let again = between.start.is_none_or(|start| event.at - start.at > ANOTHER_START);
        between.starts(event.at, sort, mid_run);
        if again && mid_run {
            self.wait(event, Trouble::Start);
        }
    }

    fn silence(&mut self, event: &Event, trouble: Trouble) {
        let place = self.last_order.map(|(place, _)| place);
        let at = event.at;
        let place =
            place.map_or(Evidence { at, wire: Wire::ToDrive, offset: 0, len: 0 }, |place| Evidence { at, ..place });
        self.push(trouble, place, Wire::ToDrive, at, None);
    }

    fn deaf(&mut self, event: &Event) {
        if let Some(wire) = event.wire {
            let cause = match event.what {
                Happening::Lost { damaged: false, .. } => Cause::NotKept,
                Happening::Lost { damaged: true, .. } => Cause::FileDamaged,
                _ => Cause::Tap,
            };
            self.between[wire.index()].deaf.get_or_insert(cause);
            self.known(event, Trouble::Deaf, cause);
        }
    }

    fn wait_for_series(&mut self, event: &Event, steps: Steps) {
        self.wait(event, Trouble::PanelJump);
        if let (Some(waiting), Some(from)) = (self.waiting.last_mut(), steps.panel_before) {
            (waiting.from, waiting.to) = (from, self.last_panel.unwrap_or(from));
        }
    }

    fn wait(&mut self, event: &Event, trouble: Trouble) {
        let (Some(place), Some(wire)) = (place(event), event.wire) else { return };
        self.push(trouble, place, wire, event.at, self.fresh);
    }

    fn push(&mut self, trouble: Trouble, place: Evidence, wire: Wire, at: Nanos, fresh: Option<Cause>) {
        let closes = at + trouble.horizon();
        self.waiting.push(Waiting {
            trouble,
            place,
            wire,
            closes,
            from: 0,
            to: 0,
            two_series: false,
            fresh,
            likely: Cause::Wire,
            damage: None,
        });
    }

    /// A trouble whose cause is known at once.
    fn known(&mut self, event: &Event, trouble: Trouble, cause: Cause) {
        if let Some(place) = place(event) {
            self.enter(Explained { trouble, place, cause, damage: None, closed: event.at });
        }
    }

    /// Gives those that `due` picks their cause: of the silence that an order has ended, or of what was heard so far.
    fn close(&mut self, due: impl Fn(&Waiting) -> bool, ended: Option<(Cause, Nanos, Between)>) {
        if self.waiting.is_empty() {
            return;
        }
        let (closing, waiting) = self.waiting.drain(..).partition(|one| due(one));
        self.waiting = waiting;
        for one in closing {
            let between = ended.map_or(self.between[one.wire.index()], |(_, _, between)| between);
            let cause = match one.trouble {
                Trouble::PanelJump => Some(if one.two_series { Cause::TwoSeries } else { Cause::Radio }),
                Trouble::Lapse | Trouble::Silence => Some(ended.map_or(between.of_silence(), |(cause, ..)| cause)),
                // Whatever was hit about then is what was refused, under whichever number.
                Trouble::Refused => Some(between.of_refusal().or(one.fresh).unwrap_or(Cause::Reader)),
                _ => between.of_hit(one.wire, one.trouble, (one.place.len <= STRAY, one.likely)),
            };
            if let Some(cause) = cause {
                let closed = ended.map_or(one.closes, |(_, at, _)| at);
                let Waiting { trouble, place, damage, .. } = one;
                self.enter(Explained { trouble, place, cause, damage, closed });
            }
        }
    }

    fn enter(&mut self, explained: Explained) {
        *self.ledger.entry((explained.cause, explained.trouble)).or_default() += 1;
        self.decided.push(explained);
    }

    /// How both counters moved with this order. They go on over a restart, so that it shows in them.
    fn steps(&mut self, event: &Event, view: &View<'_>) -> Steps {
        let hit = self.between[0].is_hit();
        let number = view.whole(event, Means::Sequence);
        let sequence = number.map(|value| self.sequence.take(value, hit));
        let jumps = matches!(sequence, Some(Step::Gap(_) | Step::Back(_) | Step::Restart));
        let turn = number.is_some_and(|number| self.turns.take(number, jumps));
        let panel_before = self.last_panel;
        let value = view.whole(event, Means::PanelCounter);
        let panel = value.map(|value| self.panel.take(value, hit));
        if let Some(value) = value {
            for waiting in
                self.waiting.iter_mut().filter(|waiting| waiting.trouble == Trouble::PanelJump && !waiting.two_series)
            {
                waiting.two_series |= self.series.comes_back(value, (waiting.from, waiting.to));
            }
            self.last_panel = Some(value);
        }
        Steps { sequence, turn, panel, panel_before }
    }
}

/// Whether a field of this kind only numbers the order.
fn numbers(kind: &KindMeaning, place: usize) -> bool {
    matches!(kind.fields.get(place), Some(Means::Sequence | Means::PanelCounter))
}

/// Where an event stands; a moment between bytes stands before the next byte.
fn place(event: &Event) -> Option<Evidence> {
    Some(Evidence { at: event.at, wire: event.wire?, offset: event.offset, len: event.len })
}
