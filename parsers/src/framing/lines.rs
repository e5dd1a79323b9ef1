//! Text lines: a frame is the bytes up to an end mark, a start mark before them where the link has one.
//!
//! The rule is the rover's own; no standard is behind it. One line, its end mark included, is judged so:
//!
//! 1. A kind matches the whole line: a frame.
//! 2. A frame stands at the end of the line: glued, and what is before it is judged for itself. Only a right check
//!    proves that, or, without a check, a first literal of at least four bytes.
//! 3. Known text of a board begins inside the line: what is before it is cut short, the rest is text.
//! 4. The line begins or ends as a frame does: damage. The cause is the first that applies of: no end mark
//!    (truncated); a check stands at its end and is wrong (bad check); it ended too early (truncated); it went on too
//!    long (overlong); a second frame begins inside (glued); then what the first wrong field says.
//! 5. Readable bytes are text, others noise.
//!
//! A line longer than the longest frame and [`LINE`] bytes more is let go of bit by bit, but its last bytes stay, so
//! that a frame at its end is still found.

use memchr::memmem;

use super::find_byte;
use crate::damage::Cause;
use crate::examined::looked_at;
use crate::flow::{Awaited, Flow, Found, Plan, Reading};
use crate::foreign;
use crate::layout::PROOF;
use crate::loose::{LINE, unreadable_tail};
use crate::profile::Part;
use crate::record::Sink;
use crate::word;

/// The marks, and what is known of the line.
#[derive(Clone, Debug)]
pub(crate) struct Lines {
    start: Vec<u8>,
    end: Vec<u8>,
    /// With up to so many bytes of a line there is nothing to say before its end mark.
    waits: usize,
    /// The last byte of the end mark.
    awaited: Awaited,
    run: Run,
    reading: Reading,
}

/// What the line was that is too long to be judged as a whole.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Run {
    /// It is not too long yet.
    None,
    Loose,
    Damage,
}

impl Lines {
    pub(crate) fn new(start: &[u8], end: &[u8], plan: &Plan) -> Self {
        let (start, end, waits) = (start.to_vec(), end.to_vec(), plan.profile.longest + LINE);
        let awaited = end.last().map_or(Awaited::NONE, |last| Awaited::new(*last, *last));
        Self { start, end, waits, awaited, run: Run::None, reading: Reading::default() }
    }

    /// Tells apart what can be told apart. `closing`: no byte follows these.
    pub(crate) fn work(&mut self, closing: bool, plan: &Plan, flow: &mut Flow, sink: &mut impl Sink) {
        loop {
            let rest = flow.rest();
            if let Some((len, kind)) = plan.sure(rest, flow.searched, &mut self.reading) {
                flow.searched = 0;
                self.frame(len, kind, false, plan, flow, sink);
                continue;
            }
            // The rest of a frame that a read has cut mostly holds no end mark.
            let left = rest.len().saturating_sub(flow.searched);
            let none = plan.cut(rest).is_some() && self.lacks_end(left, flow);
            let len = if none { None } else { self.next_end(left, rest, flow) };
            match len {
                _ if self.run == Run::None && len.unwrap_or(rest.len()) > self.waits => {
                    self.open(plan, flow, sink);
                }
                Some(len) => self.line(len, plan, flow, sink),
                None => break,
            }
        }
        if closing {
            self.close(plan, flow, sink);
        } else {
            self.shed(plan, flow, sink);
            let waits = if self.run == Run::None { self.waits } else { 0 };
            flow.wait(waits, self.awaited);
        }
    }

    /// Whether there is no end mark of one byte in the last `len` bytes; `false` says nothing.
    #[inline]
    fn lacks_end(&self, len: usize, flow: &Flow) -> bool {
        matches!(self.end.as_slice(), [end] if flow.lacks(len, |byte| byte == *end))
    }

    /// As [`Lines::find_end`] of `rest`, which is that of `flow`: its last `left` bytes were not searched.
    #[inline]
    fn next_end(&self, left: usize, rest: &[u8], flow: &Flow) -> Option<usize> {
        match (self.end.as_slice(), flow.carry.last()) {
            ([byte], Some(last)) if left <= last.len() => {
                let place = word::find_last(*byte, last, left);
                looked_at(place.map_or(left, |place| place + 1));
                place.map(|place| flow.searched + place + 1)
            }
            _ => self.find_end(rest, flow.searched),
        }
    }

    /// Length of the line, its end mark included. `searched`: in so many bytes is none, apart from one that is cut off.
    pub(super) fn find_end(&self, rest: &[u8], searched: usize) -> Option<usize> {
        let from = searched.saturating_sub(self.end.len().saturating_sub(1));
        let ahead = rest.get(from..)?;
        let place = match self.end.as_slice() {
            [] => None,
            [byte] => find_byte(*byte, ahead),
            mark => {
                let found = memmem::find(ahead, mark);
                looked_at(found.map_or(ahead.len(), |place| place + mark.len()));
                found
            }
        };
        place.map(|place| from + place + self.end.len())
    }

    /// The line is too long: lets its beginning go.
    #[cold]
    fn open(&mut self, plan: &Plan, flow: &mut Flow, sink: &mut impl Sink) {
        let seen = flow.rest().get(..plan.profile.longest + LINE).unwrap_or_default();
        let begins = self.begun(seen, plan);
        let text = foreign::find(seen, &plan.profile.start_up).map(|(place, _)| place).filter(|place| *place < LINE);
        self.run = Run::Loose;
        match (text, begins) {
            (Some(place), _) => self.torn(place, plan, flow, sink),
            (None, Some(kind)) => {
                flow.damage(LINE, (Cause::Overlong, Some(kind)), true, plan, sink);
                self.run = Run::Damage;
            }
            (None, None) => flow.loose(LINE, plan, sink),
        }
        flow.searched = flow.searched.saturating_sub(text.unwrap_or(LINE));
    }

    /// Of a line too long, lets everything go that can be no part of a frame at its end.
    fn shed(&mut self, plan: &Plan, flow: &mut Flow, sink: &mut impl Sink) {
        let spare = flow.rest().len().saturating_sub(plan.profile.longest);
        if self.run != Run::None {
            self.run_on(spare, plan, flow, sink);
        }
    }

    #[cold]
    fn run_on(&mut self, len: usize, plan: &Plan, flow: &mut Flow, sink: &mut impl Sink) {
        match self.run {
            Run::Damage => flow.more(len, sink),
            _ => flow.loose(len, plan, sink),
        }
    }

    /// The next `len` bytes are a line.
    fn line(&mut self, len: usize, plan: &Plan, flow: &mut Flow, sink: &mut impl Sink) {
        flow.searched = 0;
        let line = flow.rest().get(..len).unwrap_or_default();
        if self.run == Run::None
            && let Some(kind) = self.body(line, true).and_then(|body| plan.whole(body, &mut self.reading))
        {
            return self.frame(len, kind, false, plan, flow, sink);
        }
        self.no_frame(len, plan, flow, sink);
    }

    /// The next `len` bytes are a line and no frame as a whole.
    #[cold]
    fn no_frame(&mut self, len: usize, plan: &Plan, flow: &mut Flow, sink: &mut impl Sink) {
        let line = flow.rest().get(..len).unwrap_or_default();
        let found = self.at_end(line, plan);
        let head = found.map_or(len, |(place, _)| place);
        if self.run == Run::None {
            self.head(head, found.is_none(), plan, flow, sink);
        } else {
            self.run_on(head, plan, flow, sink);
        }
        self.end_run(plan, flow, sink);
        if let Some((place, kind)) = found {
            // Judging the head has used the slots.
            let rest = flow.rest().get(..len - place).unwrap_or_default();
            if let Some(body) = self.body(rest, true) {
                plan.whole(body, &mut self.reading);
            }
            self.frame(len - place, kind, true, plan, flow, sink);
        }
    }

    fn end_run(&mut self, plan: &Plan, flow: &mut Flow, sink: &mut impl Sink) {
        if std::mem::replace(&mut self.run, Run::None) == Run::Damage {
            flow.outlet.flush(sink);
        }
        flow.end_loose(plan, sink);
    }

    fn frame(&self, len: usize, kind: usize, glued: bool, plan: &Plan, flow: &mut Flow, sink: &mut impl Sink) {
        let found = Found { kind, glued, reading: &self.reading, from: self.start.len(), apart: None };
        flow.frame(len, &found, plan, sink);
    }

    /// The line without its marks, where it begins with one. `ended`: it ends with the other, as `find_end` has seen.
    #[inline]
    fn body<'a>(&self, line: &'a [u8], ended: bool) -> Option<&'a [u8]> {
        let body = if self.start.is_empty() { line } else { line.strip_prefix(self.start.as_slice())? };
        if ended { body.get(..body.len().checked_sub(self.end.len())?) } else { Some(body) }
    }

    /// Place and kind of the longest proven frame at the end of `line`, the whole line left out.
    fn at_end(&mut self, line: &[u8], plan: &Plan) -> Option<(usize, usize)> {
        let from = line.len().saturating_sub(plan.profile.longest).max(1);
        for place in from..line.len() {
            let body = line.get(place..).and_then(|tail| self.body(tail, true)).filter(|body| plan.may_begin(body));
            if let Some(kind) = body.and_then(|body| proven(body, plan, &mut self.reading)) {
                return Some((place, kind));
            }
        }
        None
    }

    /// The next `len` bytes are no intact frame. `ended`: they hold the end mark.
    fn head(&mut self, len: usize, ended: bool, plan: &Plan, flow: &mut Flow, sink: &mut impl Sink) {
        let bytes = flow.rest().get(..len).unwrap_or_default();
        if bytes.is_empty() {
            return;
        }
        match foreign::find(bytes, &plan.profile.start_up) {
            Some((place, _)) => {
                self.torn(place, plan, flow, sink);
                flow.loose(len - place, plan, sink);
            }
            None => match self.diagnose(bytes, ended, plan) {
                Some(damage) => flow.damage(len, damage, false, plan, sink),
                None => flow.loose(len, plan, sink),
            },
        }
    }

    /// The next `len` bytes end where a board's text begins.
    fn torn(&mut self, len: usize, plan: &Plan, flow: &mut Flow, sink: &mut impl Sink) {
        let bytes = flow.rest().get(..len).unwrap_or_default();
        let frame = bytes.len() - unreadable_tail(bytes);
        let kind = self.begun(bytes.get(..frame).unwrap_or_default(), plan);
        if kind.is_some() {
            flow.damage(frame, (Cause::Truncated, kind), false, plan, sink);
        }
        let left = if kind.is_some() { len - frame } else { len };
        flow.loose(left, plan, sink);
        flow.end_loose(plan, sink);
    }

    /// The kind that `bytes` begin as.
    fn begun(&mut self, bytes: &[u8], plan: &Plan) -> Option<usize> {
        let body = self.body(bytes, false).filter(|body| !body.is_empty())?;
        let mut begun = plan.kinds().filter(|(_, kind, layout)| layout.begins(kind, body, &mut self.reading.slots));
        begun.next().map(|(index, ..)| index)
    }

    /// Cause and kind of a broken frame; `None` where `bytes` are not like a frame.
    fn diagnose(&mut self, bytes: &[u8], ended: bool, plan: &Plan) -> Option<(Cause, Option<usize>)> {
        let body = self.body(bytes, ended)?;
        let mut best: Option<(usize, Cause, usize)> = None;
        for (index, kind, layout) in plan.kinds() {
            let begins = layout.begins(kind, body, &mut self.reading.slots);
            let failed_check = ended && layout.check_at_end(kind, body) == Some(false);
            let alike = begins || (failed_check && layout.fits(body) && layout.most < usize::MAX);
            if !alike {
                continue;
            }
            let failure = layout.read(kind, body, &mut self.reading.slots).err();
            let parts = failure.map_or(kind.parts.len(), |failure| failure.parts);
            let cause = match failure {
                _ if !ended => Cause::Truncated,
                _ if failed_check => Cause::BadCheck,
                _ if bytes.len() > plan.profile.longest => Cause::Overlong,
                Some(failure) => failure.cause,
                None => Cause::Overlong,
            };
            if best.is_none_or(|(other, ..)| parts > other) {
                best = Some((parts, cause, index));
            }
        }
        let (_, cause, kind) = best?;
        let field = matches!(cause, Cause::OutOfRange | Cause::UnknownWord | Cause::NotANumber);
        let cause = if field && self.second_inside(body, plan) { Cause::Glued } else { cause };
        Some((cause, Some(kind)))
    }

    /// Whether another frame begins inside `body`.
    fn second_inside(&mut self, body: &[u8], plan: &Plan) -> bool {
        let near = body.len().min(plan.profile.longest);
        let tails = (1..near).filter_map(|place| body.get(place..)?.strip_prefix(self.start.as_slice()));
        tails.filter(|tail| plan.may_begin(tail)).any(|tail| {
            plan.kinds().any(|(_, kind, layout)| match kind.parts.first() {
                Some(Part::Literal(first)) => {
                    tail.len() > first.len() && layout.begins(kind, tail, &mut self.reading.slots)
                }
                _ => false,
            })
        })
    }

    /// No byte follows: what is left has no end mark.
    #[cold]
    fn close(&mut self, plan: &Plan, flow: &mut Flow, sink: &mut impl Sink) {
        let len = flow.rest().len();
        if self.run == Run::None {
            self.head(len, false, plan, flow, sink);
        } else {
            self.run_on(len, plan, flow, sink);
        }
        self.end_run(plan, flow, sink);
        flow.searched = 0;
    }
}

/// The kind that `body` is as a whole, where that is certain enough inside a line.
fn proven(body: &[u8], plan: &Plan, reading: &mut Reading) -> Option<usize> {
    let mut able = plan.kinds().filter(|(_, kind, layout)| {
        let literal = match kind.parts.first() {
            Some(Part::Literal(bytes)) => bytes.len(),
            _ => 0,
        };
        let enough = if kind.check.is_none() { PROOF } else { 0 };
        layout.fits(body) && literal >= enough
    });
    able.find(|(_, kind, layout)| reading.take(kind, layout, body)).map(|(index, ..)| index)
}
