//! Consistent overhead byte stuffing: no zero inside a frame, a zero byte at its end.
//!
//! Source: Cheshire and Baker, "Consistent Overhead Byte Stuffing", IEEE/ACM Transactions on Networking 7(2), 1999.
//! A code byte n says that n - 1 bytes follow as they are and then a zero, unless n is 255 or the frame ends there.
//! A last code byte 1 behind a full block is not needed and is accepted.
//!
//! A zero with nothing before it is a legal way to bring both sides into step; it carries nothing and counts as noise.

use crate::damage::Cause;
use crate::flow::{Flow, Found, Plan};
use crate::layout::{Layout, Slot};
use crate::profile::{Kind, Part};
use crate::record::Sink;

/// Decodes `encoded`, the bytes before the ending zero, into `out`. `None` where they are no such encoding; what was
/// decoded up to there is left in `out`.
pub fn decode(encoded: &[u8], out: &mut Vec<u8>) -> Option<()> {
    out.clear();
    let mut rest = encoded;
    while let Some((code, behind)) = rest.split_first() {
        let len = usize::from(*code).checked_sub(1)?;
        let Some((block, next)) = behind.split_at_checked(len) else {
            out.extend_from_slice(behind);
            return None;
        };
        if block.contains(&0) {
            return None;
        }
        out.extend_from_slice(block);
        if len < 254 && !next.is_empty() {
            out.push(0);
        }
        rest = next;
    }
    (!encoded.is_empty()).then_some(())
}

/// Appends `body` encoded, without the ending zero.
pub fn encode(body: &[u8], out: &mut Vec<u8>) {
    let mut blocks = body.split(|byte| *byte == 0).peekable();
    while let Some(block) = blocks.next() {
        let mut full = block.chunks_exact(254);
        for part in full.by_ref() {
            out.push(255);
            out.extend_from_slice(part);
        }
        let last = blocks.peek().is_none();
        if !(last && full.remainder().is_empty() && !block.is_empty()) {
            out.push(full.remainder().len() as u8 + 1);
            out.extend_from_slice(full.remainder());
        }
    }
}

/// Room for the body and its values.
#[derive(Clone, Debug, Default)]
pub(crate) struct Cobs {
    searched: usize,
    /// The beginning of this stretch went out already: it was longer than any frame.
    shed: bool,
    body: Vec<u8>,
    slots: Vec<Slot>,
}

impl Cobs {
    /// Tells apart what can be told apart. `closing`: no byte follows these.
    pub(crate) fn work(&mut self, closing: bool, plan: &Plan, flow: &mut Flow, sink: &mut impl Sink) {
        while let Some(len) = self.find_end(flow.rest()) {
            if len == 1 && !self.shed {
                self.idle_zeros(plan, flow, sink);
            } else {
                self.stretch(len, plan, flow, sink);
            }
        }
        if closing {
            let len = flow.rest().len();
            self.head(len, false, plan, flow, sink);
            self.end_stretch(plan, flow, sink);
        } else {
            let spare = flow.rest().len().saturating_sub(plan.profile.longest);
            self.shed |= spare > 0;
            flow.loose(spare, plan, sink);
            self.searched = flow.rest().len();
        }
    }

    fn find_end(&self, rest: &[u8]) -> Option<usize> {
        memchr::memchr(0, rest.get(self.searched..)?).map(|place| self.searched + place + 1)
    }

    fn end_stretch(&mut self, plan: &Plan, flow: &mut Flow, sink: &mut impl Sink) {
        flow.end_loose(plan, sink);
        self.searched = 0;
        self.shed = false;
    }

    /// Zeros with nothing between them, all at once.
    fn idle_zeros(&mut self, plan: &Plan, flow: &mut Flow, sink: &mut impl Sink) {
        let len = flow.rest().iter().take_while(|byte| **byte == 0).count();
        flow.loose(len, plan, sink);
        self.end_stretch(plan, flow, sink);
    }

    /// The next `len` bytes end with a zero.
    fn stretch(&mut self, len: usize, plan: &Plan, flow: &mut Flow, sink: &mut impl Sink) {
        self.searched = 0;
        self.shed |= len > plan.profile.longest;
        let stretch = flow.rest().get(..len).unwrap_or_default();
        if !self.shed
            && let Some(kind) = self.whole(stretch, plan)
        {
            return self.frame(len, kind, false, plan, flow, sink);
        }
        let stretch = flow.rest().get(..len).unwrap_or_default();
        let found = self.at_end(stretch, plan);
        self.head(found.unwrap_or(len), found.is_none(), plan, flow, sink);
        self.end_stretch(plan, flow, sink);
        if let Some(place) = found {
            let rest = flow.rest().get(..len - place).unwrap_or_default();
            if let Some(kind) = self.whole(rest, plan) {
                self.frame(len - place, kind, true, plan, flow, sink);
            }
        }
    }

    fn whole(&mut self, stretch: &[u8], plan: &Plan) -> Option<usize> {
        decode(stretch.strip_suffix(&[0])?, &mut self.body)?;
        plan.whole(&self.body, &mut self.slots)
    }

    fn frame(&self, len: usize, kind: usize, glued: bool, plan: &Plan, flow: &mut Flow, sink: &mut impl Sink) {
        let found = Found { kind, glued, slots: &self.slots, from: 0, apart: Some(&self.body) };
        flow.frame(len, &found, plan, sink);
    }

    /// Place of the longest frame at the end of `stretch`, of the lengths a kind can be encoded to.
    fn at_end(&mut self, stretch: &[u8], plan: &Plan) -> Option<usize> {
        let (least, most) = lengths(plan)?;
        let most =
            most.min(plan.profile.longest).min(if self.shed { stretch.len() } else { stretch.len().saturating_sub(1) });
        for len in (least..=most).rev() {
            let place = stretch.len() - len;
            if self.whole(stretch.get(place..).unwrap_or_default(), plan).is_some() {
                return Some(place);
            }
        }
        None
    }

    /// The next `len` bytes are no intact frame. `ended`: they hold the ending zero.
    fn head(&mut self, len: usize, ended: bool, plan: &Plan, flow: &mut Flow, sink: &mut impl Sink) {
        let bytes = flow.rest().get(..len).unwrap_or_default();
        match self.diagnose(bytes, ended, plan) {
            Some(damage) if !self.shed => flow.damage(len, damage, false, plan, sink),
            _ => flow.loose(len, plan, sink),
        }
    }

    /// Cause and kind of a broken frame; `None` where `bytes` are not like a frame.
    fn diagnose(&mut self, bytes: &[u8], ended: bool, plan: &Plan) -> Option<(Cause, Option<usize>)> {
        let encoded = if ended { bytes.strip_suffix(&[0])? } else { bytes };
        let decoded = decode(encoded, &mut self.body).is_some();
        let begun = plan.kinds().find(|(_, kind, _)| starts(kind, &self.body)).map(|(index, ..)| index);
        let (least, most) = lengths(plan)?;
        let sized = ended && (least..=most).contains(&bytes.len());
        if begun.is_none() && !sized {
            return None;
        }
        let cause = match plan.nearest(&self.body, &mut self.slots) {
            _ if !ended => Cause::Truncated,
            _ if sized => Cause::BadCheck,
            _ if bytes.len() < least => Cause::Truncated,
            _ if bytes.len() > most => Cause::Overlong,
            Some((_, failure)) if decoded => failure.cause,
            _ => Cause::Truncated,
        };
        Some((cause, begun))
    }
}

/// Whether `body` begins with the first literal of `kind`.
fn starts(kind: &Kind, body: &[u8]) -> bool {
    matches!(kind.parts.first(), Some(Part::Literal(first)) if body.starts_with(first))
}

/// Fewest and most bytes of a frame on the wire over all kinds, the ending zero included.
fn lengths(plan: &Plan) -> Option<(usize, usize)> {
    let one = |layout: &Layout| {
        let most = layout.most.min(plan.profile.longest);
        (layout.least + layout.least.div_ceil(254).max(1) + 1, most + most / 254 + 2)
    };
    plan.kinds()
        .map(|(_, _, layout)| one(layout))
        .reduce(|(least, most), other| (least.min(other.0), most.max(other.1)))
}
