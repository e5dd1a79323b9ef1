//! Everything that is timed: rhythms, gaps, answers, bunches, the tap's own sleep, tries that notes count.

use wheeltap_parsers::{Interval, Nanos, Wire};

use super::by_time::ByTime;
use super::event::{Event, Happening};
use super::health::Health;
use super::snapshot::times::{KindTimes, Loaded, NotRead, Quantiles, Times as Shown, TriesShown};
use crate::rover::file::{RoverFile, StatedCadence};
use crate::rover::meaning::{KindMeaning, Means, Role, USUAL_BUFFER};
use crate::rover::wheels::Duties;
use crate::timing::answers::{Answers, Reply};
use crate::timing::bunch::{Bunch, Bunched};
use crate::timing::cadence::{Cadence, Came, Rhythm, Step};
use crate::timing::flood::{Flood, STRETCHES_MS};
use crate::timing::link::{LinkFacts, byte_ns};
use crate::timing::resolution::Resolution;
use crate::timing::spread::Spread;
use crate::timing::tries::{Notebook, still_allows};

/// A tap that did not look for longer than this beyond its adapter's own latency was asleep, nanoseconds.
const ASLEEP: Nanos = 50_000_000;
/// Stamps are whole microseconds and clocks are uneven: less than this is neither too close nor a gap, nanoseconds.
const UNEVEN: Nanos = 200_000;
/// A gap inside a record is told from this on, nanoseconds: the jitter that is never called late.
const INSIDE: Nanos = 3_000_000;
/// The longest time a byte can take for its shortest, in hundredths: 2.5 % to either side of the line rate.
const SLOWEST: Nanos = 106;

/// What is kept of one wire.
#[derive(Clone, Debug, Default)]
struct OneWire {
    latency: Nanos,
    /// Shortest time of a byte; 0 when the rate is not known.
    byte: Nanos,
    last: Option<Interval>,
    /// The last read after a sleep ended here.
    slept_to: Option<Nanos>,
    asleep: u64,
    longest_sleep: Nanos,
    together: u64,
    kinds: Vec<OneKind>,
}

/// What is kept of one kind of frame.
#[derive(Clone, Debug)]
struct OneKind {
    /// `None` for the only kind of order: the orders' own rhythm is its.
    cadence: Option<Cadence>,
    frames: u64,
    last: Option<Interval>,
    gaps: Spread,
    late: u64,
    possibly_late: u64,
}

/// What is timed.
// Each is a fact of its own: none follows from another.
#[allow(clippy::struct_excessive_bools)]
#[derive(Clone, Debug)]
pub struct Times {
    orders: Cadence,
    bunch: Bunch,
    /// Gaps between orders while a wheel was meant to turn.
    order_gaps: Spread,
    late: u64,
    possibly_late: u64,
    wires: [OneWire; 2],
    resolution: Resolution,
    flood: Flood,
    /// Answers carry the number of their order.
    numbered: bool,
    /// Somebody listens to the wire back: answers that nobody hears are not missing.
    hears_back: bool,
    answers: Answers,
    delays: Spread,
    no_answer: u64,
    lapse_reports: Spread,
    bunches: u64,
    just_bunched: Option<Bunched>,
    clock_uneven: bool,
    last_order: Option<Interval>,
    /// When an order last came on wire `>`, or what may have been one before it was hit.
    last_sign: Option<Nanos>,
    /// The command board began anew: what it says until its next order is no order that was hit.
    starting: bool,
    last_meant: Option<Duties>,
    silence_told: bool,
    /// Damaged frames on wire `>` since the last order: places at which an order was due.
    damaged_since: i64,
    /// Noise or text since the last order: orders may stand in it, nobody knows how many.
    blurred: bool,
    tries: Notebook,
    buffer: u32,
}

impl Times {
    /// Nothing timed yet.
    pub fn new(rover: Option<&RoverFile>, link: &LinkFacts) -> Self {
        let stated = rover.and_then(|rover| match rover.cadence {
            StatedCadence::Learn => None,
            StatedCadence::OnChange => Some(Rhythm::OnChange),
            StatedCadence::Every(period) => Some(Rhythm::Every(period)),
            StatedCadence::WhileMoving(period) => Some(Rhythm::WhileMoving(period)),
        });
        let mut times = Self {
            orders: Cadence::new(stated),
            bunch: Bunch::default(),
            order_gaps: Spread::default(),
            late: 0,
            possibly_late: 0,
            wires: Wire::BOTH.map(|wire| OneWire { kinds: kinds(rover, wire), ..OneWire::default() }),
            resolution: Resolution::default(),
            flood: Flood::default(),
            numbered: rover.is_some_and(numbered),
            hears_back: false,
            answers: Answers::default(),
            delays: Spread::default(),
            no_answer: 0,
            lapse_reports: Spread::default(),
            bunches: 0,
            just_bunched: None,
            clock_uneven: false,
            last_order: None,
            last_sign: None,
            starting: false,
            last_meant: None,
            silence_told: false,
            damaged_since: 0,
            blurred: false,
            tries: Notebook::default(),
            buffer: rover.map_or(USUAL_BUFFER, |rover| rover.meaning.reader.buffer),
        };
        times.listen(link);
        times
    }

    /// How the wires are listened to.
    pub fn listen(&mut self, link: &LinkFacts) {
        for wire in Wire::BOTH {
            let Some(facts) = link.wire(wire) else { continue };
            let one = &mut self.wires[wire.index()];
            (one.latency, one.byte) = (facts.latency, byte_ns(facts.rate));
        }
        self.hears_back = link.wire(Wire::FromDrive).is_some();
    }

    /// Rhythm of the orders.
    pub fn rhythm(&self) -> Rhythm {
        self.orders.rhythm()
    }

    /// Nine in ten recent frames are dated no wider than this.
    pub fn resolution(&self) -> Option<Nanos> {
        self.resolution.measured()
    }

    /// Takes a record of a wire; what its time alone tells.
    pub fn record(&mut self, wire: Wire, event: &Event) -> ByTime {
        match wire {
            Wire::ToDrive => self.flood.take(event.begins, event.span, event.len),
            Wire::FromDrive => self.answers.heard(true),
        }
        let one = &mut self.wires[wire.index()];
        let (before, frame) = (one.last.replace(event.span), matches!(event.what, Happening::Frame(_)));
        one.together += u64::from(frame && before.is_some_and(|before| one.delivered_together(event, before)));
        let close = before.and_then(|before| one.too_close(event, before));
        self.clock_uneven |= close.is_some() && wire == Wire::ToDrive;
        ByTime { asleep: one.asleep(event), close, gap_inside: one.gap_inside(event) }
    }

    /// A frame of a known kind that is no order.
    pub fn frame(&mut self, wire: Wire, kind: usize, at: Interval, meaning: &KindMeaning) {
        self.resolution.take(at.width());
        let asleep = self.wires[wire.index()].slept_over(at);
        let Some(one) = self.wires[wire.index()].kinds.get_mut(kind) else { return };
        one.frames += 1;
        if let Some(last) = one.last.replace(at) {
            one.gaps.add(at.since(last));
        }
        if let Some(cadence) = &mut one.cadence {
            if asleep {
                return cadence.interrupt();
            }
            match cadence.take(at, Step::PLAIN) {
                // Single orders of several kinds are judged by the rhythm of all orders together.
                _ if meaning.role == Role::Order => {}
                Came::Late(_) => one.late += 1,
                Came::PossiblyLate => one.possibly_late += 1,
                Came::OnTime => {}
            }
        }
    }

    /// An order that the drive board takes: how it kept the rhythm.
    pub fn order(&mut self, at: Interval, step: Step, meant: Option<Duties>) -> Came {
        // What counts is what the sender asked for last, whatever the drive board has made of it since.
        let last = std::mem::replace(&mut self.last_meant, meant);
        let moving = last.is_some_and(|duties| duties != [0; 4]);
        let step = Step { moving, same: last == meant, ..step };
        let blurred = std::mem::take(&mut self.blurred) && !step.counted;
        let anew = step.anew || std::mem::take(&mut self.clock_uneven) || blurred;
        let damaged = std::mem::take(&mut self.damaged_since);
        let unsure = damaged > 0 || step.places > 1;
        let step = Step { anew, unsure, places: step.places.max(1 + damaged), ..step };
        let asleep = self.wires[Wire::ToDrive.index()].slept_over(at);
        if anew || asleep {
            self.bunch.interrupt();
        }
        let came = if asleep {
            self.orders.interrupt();
            Came::OnTime
        } else {
            self.orders.take(at, step)
        };
        match came {
            Came::Late(_) => self.late += 1,
            Came::PossiblyLate => self.possibly_late += 1,
            Came::OnTime => {}
        }
        if let Some(last) = self.last_order.filter(|_| step.moving && !anew) {
            self.order_gaps.add(at.since(last));
        }
        if let Some(period) = self.rhythm().period() {
            let due = step.moving && !unsure && !asleep;
            self.just_bunched = self.bunch.take(at, period, due);
            self.bunches += u64::from(self.just_bunched.is_some());
        }
        self.last_order = Some(at);
        self.last_sign = Some(at.hi);
        self.starting = false;
        self.silence_told = false;
        came
    }

    /// The bunch that ended with the order taken last.
    pub fn bunched(&mut self) -> Option<Happening> {
        let Bunched { frames, gap } = self.just_bunched.take()?;
        Some(Happening::Bunched { frames, gap })
    }

    /// An order with this number is on the wire; its answer, where that was dated before it.
    pub fn sent(&mut self, number: i64, at: Interval, offset: u64) -> Option<Reply> {
        let reply = if self.numbered && self.hears_back { self.answers.sent(number, at, offset) } else { None };
        self.answer(reply)
    }

    /// An answer to the order with this number came.
    pub fn answered(&mut self, number: i64, at: Interval) -> Option<Reply> {
        let reply = if self.numbered && self.hears_back { self.answers.answered(number, at) } else { None };
        self.answer(reply)
    }

    fn answer(&mut self, reply: Option<Reply>) -> Option<Reply> {
        if let Some(reply) = reply {
            self.delays.add(reply.delay);
        }
        reply
    }

    /// The drive board reports that the order that came at `order` ran out.
    pub fn lapse_reported(&mut self, at: Interval, order: Interval) {
        self.lapse_reports.add(at.since(order));
    }

    /// Something came on wire `>` that may have been an order before it was hit: the sender sends.
    pub fn hit(&mut self, at: Nanos) {
        if !self.starting {
            self.last_sign = self.last_order.map(|_| at);
        }
    }

    /// Whether anything stood on wire `>` since the last order that may have been one before it was hit.
    pub const fn hit_since(&self) -> bool {
        self.damaged_since > 0 || self.blurred
    }

    /// A broken frame, text or noise stood on the wire.
    pub fn broken(&mut self, wire: Wire, damage: bool) {
        match wire {
            Wire::ToDrive => {
                self.damaged_since += i64::from(damage);
                self.blurred |= !damage;
            }
            Wire::FromDrive => self.answers.hit(),
        }
    }

    /// The board that sends on this wire began anew, or nobody listened to it.
    pub fn anew(&mut self, wire: Wire) {
        self.answers.forget();
        self.wires[wire.index()].last = None;
        if wire == Wire::ToDrive {
            self.starting = true;
            self.orders.interrupt();
            self.bunch.interrupt();
        }
        for kind in &mut self.wires[wire.index()].kinds {
            kind.last = None;
            if let Some(cadence) = &mut kind.cadence {
                cadence.interrupt();
            }
        }
    }

    /// Bytes of a wire may have stood on it unheard; it may go on so until something is heard, unless it `listens`.
    pub fn deaf(&mut self, wire: Wire, listens: bool) {
        match wire {
            Wire::ToDrive => (self.last_order, self.last_sign) = (None, None),
            Wire::FromDrive => self.answers.heard(listens),
        }
    }

    /// When silence is told, if a wheel is meant to turn and nobody else says when.
    pub fn silent_at(&self, periods: Nanos) -> Option<Nanos> {
        let period = self.rhythm().period().filter(|_| !self.silence_told)?;
        self.last_sign.map(|last| last + periods * period)
    }

    /// Silence was told at `at`; since when nothing has come.
    pub fn silence(&mut self, at: Nanos) -> Nanos {
        self.silence_told = true;
        self.last_sign.unwrap_or(at)
    }

    /// When an order is given up that was not answered.
    pub fn given_up_at(&self) -> Option<Nanos> {
        self.answers.given_up_at()
    }

    /// Gives it up: place and time of the order, where nothing on the wire back explains it.
    pub fn give_up(&mut self) -> Option<(u64, Nanos)> {
        let sent = self.answers.give_up()?;
        self.no_answer += 1;
        Some((sent.offset, sent.at.hi))
    }

    /// A person's remark.
    pub fn note(&mut self, text: &str) {
        self.tries.read(text);
    }

    /// The rhythm of the orders in words.
    pub fn words(&self) -> String {
        self.orders.words()
    }

    /// All of it for showing.
    pub fn shown(&self, rover: Option<&RoverFile>, health: &[Health; 2]) -> Shown {
        let not_read = STRETCHES_MS.iter().zip(self.flood.most(self.wires[0].byte));
        let dropped = |bytes: u64| bytes.saturating_sub(self.buffer.into());
        let tries = self.tries.sorts().iter().map(|tries| TriesShown {
            what: tries.what.clone(),
            tries: tries.tries,
            failed: tries.failed,
            // Rounded up: what is shown never claims more than was proven.
            still_allows: (still_allows(tries.failed, tries.tries) * 1000.0).ceil() as u32,
        });
        Shown {
            orders: self.order_times(),
            kinds: Wire::BOTH.into_iter().flat_map(|wire| self.kinds_shown(wire, rover)).collect(),
            answers: quantiles(&self.delays),
            no_answer: self.no_answer,
            not_judged: self.answers.not_judged(),
            numbered: self.numbered && self.hears_back,
            lapse_reports: quantiles(&self.lapse_reports),
            bunched: self.bunches,
            together: [self.wires[0].together, self.wires[1].together],
            asleep: [self.wires[0].asleep, self.wires[1].asleep],
            longest_sleep: self.wires[0].longest_sleep.max(self.wires[1].longest_sleep),
            load: Wire::BOTH.map(|wire| self.load(wire, &health[wire.index()])),
            buffer: self.buffer,
            not_read: not_read.map(|(ms, [a, b])| NotRead { ms: *ms, dropped: [dropped(a), dropped(b)] }).collect(),
            tries: tries.collect(),
            tries_not_understood: self.tries.not_understood(),
        }
    }

    fn order_times(&self) -> Option<KindTimes> {
        let frames = self.order_gaps.count();
        (frames > 0).then(|| KindTimes {
            wire: Wire::ToDrive,
            name: "orders in a move".to_owned(),
            frames,
            rhythm: self.words(),
            gaps: quantiles(&self.order_gaps),
            late: self.late,
            possibly_late: self.possibly_late,
        })
    }

    fn kinds_shown(&self, wire: Wire, rover: Option<&RoverFile>) -> Vec<KindTimes> {
        let Some(profile) = rover.and_then(|rover| rover.profile(wire)) else { return Vec::new() };
        let all = profile.kinds.iter().zip(&self.wires[wire.index()].kinds).filter(|(_, kind)| kind.frames > 0);
        all.map(|(profile, kind)| KindTimes {
            wire,
            name: profile.name.clone(),
            frames: kind.frames,
            rhythm: kind.cadence.as_ref().map_or_else(|| self.words(), Cadence::words),
            gaps: quantiles(&kind.gaps),
            late: kind.late,
            possibly_late: kind.possibly_late,
        })
        .collect()
    }

    /// Share of the line in use: over all of the time it was heard, and in its busiest second. No line carries more than
    /// all of it: what lies above comes of times that are known no better.
    fn load(&self, wire: Wire, health: &Health) -> Option<Loaded> {
        let byte = self.wires[wire.index()].byte;
        let (first, last) = (health.first_byte?, health.last_byte?);
        // The shortest byte time is 2.5 % below ten bit times.
        let busy = |bytes: u64, time: Nanos| (bytes as i64 * byte * 1000 / 975 * 1000 / time.max(1)).min(1000) as u32;
        let over = last - first;
        (byte > 0 && over > 0).then(|| Loaded {
            mean: busy(health.bytes, over),
            busiest_second: busy(health.busiest, over.clamp(1, 1_000_000_000)),
        })
    }
}

impl OneWire {
    /// Both could have come at their rhythm and were only handed over together.
    fn delivered_together(&self, event: &Event, before: Interval) -> bool {
        event.span.hi - before.hi <= event.len as Nanos * self.byte
    }

    fn too_close(&self, event: &Event, before: Interval) -> Option<Nanos> {
        let by = before.lo + event.len as Nanos * self.byte - event.span.hi;
        (self.byte > 0 && by > UNEVEN).then_some(by)
    }

    /// Only frames that came whole: what hit a damaged one accounts for its time as well.
    fn gap_inside(&self, event: &Event) -> Option<Nanos> {
        let needs = event.len.saturating_sub(1) as Nanos * self.byte * SLOWEST / 100;
        let by = event.span.lo - event.begins.hi - needs;
        let record = matches!(event.what, Happening::Frame(_));
        (record && self.byte > 0 && by > INSIDE).then_some(by)
    }

    /// Nobody looked for so long before this that its time tells nothing of a rhythm.
    fn slept_over(&self, at: Interval) -> bool {
        at.width() - self.latency > ASLEEP
    }

    fn asleep(&mut self, event: &Event) -> Option<Nanos> {
        let lasted = event.span.width() - self.latency;
        let another = self.slept_to.is_none_or(|slept| event.span.lo >= slept);
        if lasted <= ASLEEP {
            return None;
        }
        self.slept_to = Some(event.span.hi);
        if !another {
            return None;
        }
        self.asleep += 1;
        self.longest_sleep = self.longest_sleep.max(lasted);
        Some(lasted)
    }
}

/// Whether the drive board's answers carry the number of their order.
fn numbered(rover: &RoverFile) -> bool {
    let [orders, back] = &rover.meaning.kinds;
    let numbers = |kind: &KindMeaning| kind.role == Role::Order && kind.field(Means::Sequence).is_some();
    orders.iter().any(numbers) && back.iter().any(answers)
}

/// Whether a kind answers an order by its number.
pub fn answers(kind: &KindMeaning) -> bool {
    matches!(kind.role, Role::Answer | Role::Report) && kind.field(Means::AnswersSequence).is_some()
}

fn kinds(rover: Option<&RoverFile>, wire: Wire) -> Vec<OneKind> {
    let Some(rover) = rover else { return Vec::new() };
    let kinds = &rover.meaning.kinds[wire.index()];
    let orders = kinds.iter().filter(|kind| kind.role == Role::Order).count();
    let one = |kind: &KindMeaning| OneKind {
        cadence: (kind.role != Role::Order || orders > 1).then(Cadence::plain),
        frames: 0,
        last: None,
        gaps: Spread::default(),
        late: 0,
        possibly_late: 0,
    };
    kinds.iter().map(one).collect()
}

fn quantiles(spread: &Spread) -> Option<Quantiles> {
    let [half, most, nearly_all] = [500, 950, 999].map(|per_mille| spread.quantile(per_mille));
    let ends = |interval: Interval| [interval.lo.max(0), interval.hi.max(0)];
    Some(Quantiles {
        count: spread.count(),
        half: ends(half?),
        most: ends(most?),
        nearly_all: ends(nearly_all?),
        longest: ends(spread.longest()?),
    })
}
