//! Frames between end bytes that never stand inside one, because they are encoded away.
//!
//! Three encodings share this: [`cobs`], [`slip`] and [`stuffed`], each with its source. Where the bytes up to an end
//! byte are no frame, one that ends there is looked for, of the lengths a kind can be encoded to: text of a board may
//! stand before it with no end byte between. Not so under RFC 1662: there a flag begins each frame, and where it did not
//! arrive the frame did not arrive intact.

use super::{cobs, find_byte, slip, stuffed};
use crate::damage::Cause;
use crate::flow::{Awaited, Flow, Found, Plan, Reading};
use crate::layout::Layout;
use crate::profile::{Kind, Part};
use crate::record::Sink;
use crate::tally::Tally;

/// How the bytes between two end bytes are encoded.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Code {
    Cobs,
    Slip,
    Stuffed,
}

impl Code {
    const fn end(self) -> u8 {
        match self {
            Self::Cobs => cobs::END,
            Self::Slip => slip::END,
            Self::Stuffed => stuffed::FLAG,
        }
    }

    /// Whether the end byte may stand before a frame as well and then belongs to it.
    const fn may_begin(self) -> bool {
        !matches!(self, Self::Cobs)
    }

    /// Takes the encoding off the frame at the front of `wire`, up to its end byte.
    #[inline]
    fn unwrap(self, wire: &[u8], out: impl FnMut(u64, usize)) -> Option<usize> {
        match self {
            Self::Cobs => cobs::unwrap(wire, out),
            Self::Slip => slip::unwrap(wire, out),
            Self::Stuffed => stuffed::unwrap(wire, out),
        }
    }

    fn decode(self, encoded: &[u8], out: &mut Vec<u8>) -> Option<()> {
        match self {
            Self::Cobs => cobs::decode(encoded, out),
            Self::Slip => slip::decode(encoded, out),
            Self::Stuffed => stuffed::decode(encoded, out),
        }
    }

    /// Fewest and most bytes on the wire of a body of `least` to `most` bytes, end byte included.
    fn lengths(self, least: usize, most: usize) -> (usize, usize) {
        match self {
            Self::Cobs => (least + 2, most + most / 254 + 2),
            Self::Slip | Self::Stuffed => (least + 1, 2 * most + 2),
        }
    }
}

/// Where the stretch up to the next end byte stands, and room for a body and its values.
#[derive(Clone, Debug)]
pub(crate) struct Delimited {
    code: Code,
    /// Fewest bytes a frame has on the wire.
    least: usize,
    /// The beginning of this stretch went out already: it was longer than any frame.
    shed: bool,
    body: Vec<u8>,
    reading: Reading,
}

impl Delimited {
    pub(crate) fn new(code: Code, plan: &Plan) -> Self {
        let least = lengths(code, plan).map_or(usize::MAX, |(least, _)| least);
        Self { code, least, shed: false, body: Vec::new(), reading: Reading::default() }
    }

    /// Tells apart what can be told apart. `closing`: no byte follows these.
    pub(crate) fn work(&mut self, closing: bool, plan: &Plan, flow: &mut Flow, sink: &mut impl Sink) {
        if !closing && self.goes_on(flow, plan.profile.longest) {
            return self.wait(plan, flow);
        }
        loop {
            if !self.shed
                && flow.rest().len() >= self.least
                && let Some((len, kind)) = self.front(flow.rest(), plan)
            {
                flow.searched = 0;
                self.frame(len, kind, false, plan, flow, sink);
                continue;
            }
            match self.find_end(flow.rest(), flow.searched) {
                Some(1) => self.idle_ends(plan, flow, sink),
                Some(len) => self.stretch(len, plan, flow, sink),
                None => break,
            }
        }
        if closing {
            let len = flow.rest().len();
            self.head(len, false, plan, flow, sink);
            self.end_stretch(plan, flow, sink);
        } else {
            let spare = flow.rest().len().saturating_sub(plan.profile.longest.max(1));
            self.shed |= spare > 0;
            if spare > 0 {
                flow.loose(spare, plan, sink);
            }
            self.wait(plan, flow);
        }
    }

    #[inline]
    fn wait(&self, plan: &Plan, flow: &mut Flow) {
        flow.wait(plan.profile.longest, Awaited::new(self.code.end(), self.code.end()));
    }

    /// Whether the stretch begun goes on with all bytes that are new. Not asked where they are more than those searched
    /// before: then it is no more work to begin the stretch anew.
    #[inline]
    fn goes_on(&self, flow: &Flow, longest: usize) -> bool {
        let rest = flow.rest();
        let new = rest.get(flow.searched..).filter(|new| new.len() <= flow.searched && rest.len() <= longest);
        new.is_some_and(|new| find_byte(self.code.end(), new).is_none())
    }

    fn find_end(&self, rest: &[u8], searched: usize) -> Option<usize> {
        let begun = self.code.may_begin() && rest.first() == Some(&self.code.end());
        let from = searched.max(usize::from(begun));
        let len = find_byte(self.code.end(), rest.get(from..)?).map(|place| from + place + 1)?;
        Some(if begun && len == 2 { 1 } else { len })
    }

    fn end_stretch(&mut self, plan: &Plan, flow: &mut Flow, sink: &mut impl Sink) {
        flow.end_loose(plan, sink);
        flow.searched = 0;
        self.shed = false;
    }

    /// End bytes with nothing between them, all at once; the last of them stays where it may begin a frame.
    fn idle_ends(&mut self, plan: &Plan, flow: &mut Flow, sink: &mut impl Sink) {
        let ends = flow.rest().iter().take_while(|byte| **byte == self.code.end()).count();
        flow.noise(ends - usize::from(self.code.may_begin()), plan, sink);
        flow.searched = 0;
    }

    /// The next `len` bytes end with an end byte and are no frame.
    fn stretch(&mut self, len: usize, plan: &Plan, flow: &mut Flow, sink: &mut impl Sink) {
        flow.searched = 0;
        self.shed |= len > plan.profile.longest;
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

    /// The stretch without its end bytes.
    fn inner<'a>(&self, stretch: &'a [u8], ended: bool) -> Option<&'a [u8]> {
        let end = [self.code.end()];
        let inner = if ended { stretch.strip_suffix(&end)? } else { stretch };
        Some(inner.strip_prefix(&end).filter(|_| self.code.may_begin()).unwrap_or(inner))
    }

    fn whole(&mut self, stretch: &[u8], plan: &Plan) -> Option<usize> {
        self.front(stretch, plan).filter(|(len, _)| *len == stretch.len()).map(|(_, kind)| kind)
    }

    /// Length and kind of the intact frame at the front of `wire`. Its end is found, its encoding taken off and its check
    /// worked out in one go.
    #[inline]
    fn front(&mut self, wire: &[u8], plan: &Plan) -> Option<(usize, usize)> {
        let begun = usize::from(self.code.may_begin() && wire.first() == Some(&self.code.end()));
        let near = wire.get(begun..wire.len().min(plan.profile.longest))?;
        let first = plan.check_of_first();
        let mut tally = Tally::new(first.map(|(_, span)| (&span.check, span.begun, (span.from, span.to))));
        let body = &mut self.body;
        body.clear();
        let out = |word: u64, len| {
            tally.take(word, len);
            let until = body.len() + len;
            body.extend_from_slice(&word.to_le_bytes());
            body.truncate(until);
        };
        let len = begun + self.code.unwrap(near, out)?;
        let of_first = first.filter(|(rigid, _)| rigid.len == self.body.len());
        let kind = match of_first {
            Some((rigid, _)) if self.reading.take_rigid(rigid, &self.body, Some(tally.ended())) => Some(0),
            _ => plan.whole_from(usize::from(of_first.is_some()), &self.body, &mut self.reading),
        };
        Some((len, kind?))
    }

    fn frame(&self, len: usize, kind: usize, glued: bool, plan: &Plan, flow: &mut Flow, sink: &mut impl Sink) {
        let found = Found { kind, glued, reading: &self.reading, from: 0, apart: Some(&self.body) };
        flow.frame(len, &found, plan, sink);
    }

    /// Place of the longest frame at the end of `stretch`, of the lengths a kind can be encoded to.
    fn at_end(&mut self, stretch: &[u8], plan: &Plan) -> Option<usize> {
        if self.code == Code::Stuffed {
            return None;
        }
        let (least, most) = lengths(self.code, plan)?;
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

    /// The next `len` bytes are no intact frame. `ended`: they hold the end byte.
    fn head(&mut self, len: usize, ended: bool, plan: &Plan, flow: &mut Flow, sink: &mut impl Sink) {
        let bytes = flow.rest().get(..len).unwrap_or_default();
        if bytes.is_empty() {
            return;
        }
        match self.diagnose(bytes, ended, plan) {
            Some(damage) if !self.shed => flow.damage(len, damage, false, plan, sink),
            _ => flow.loose(len, plan, sink),
        }
    }

    /// Cause and kind of a broken frame; `None` where `bytes` are not like a frame.
    fn diagnose(&mut self, bytes: &[u8], ended: bool, plan: &Plan) -> Option<(Cause, Option<usize>)> {
        let decoded = self.code.decode(self.inner(bytes, ended)?, &mut self.body).is_some();
        let begun = plan.kinds().find(|(_, kind, _)| starts(kind, &self.body)).map(|(index, ..)| index);
        let (least, most) = lengths(self.code, plan)?;
        let sized = ended && (least..=most).contains(&bytes.len());
        if begun.is_none() && !sized {
            return None;
        }
        let cause = match plan.nearest(&self.body, &mut self.reading.slots) {
            _ if !ended => Cause::Truncated,
            // Told only where all parts were there and the check held.
            Some((_, failure)) if decoded && failure.cause == Cause::OutOfRange => failure.cause,
            _ if sized => Cause::BadCheck,
            _ if bytes.len() < least => Cause::Truncated,
            _ => Cause::Overlong,
        };
        Some((cause, begun))
    }
}

/// Whether `body` begins with the first literal of `kind`.
fn starts(kind: &Kind, body: &[u8]) -> bool {
    matches!(kind.parts.first(), Some(Part::Literal(first)) if body.starts_with(first))
}

/// Fewest and most bytes of a frame on the wire over all kinds, the end byte included.
fn lengths(code: Code, plan: &Plan) -> Option<(usize, usize)> {
    let one = |layout: &Layout| code.lengths(layout.least, layout.most.min(plan.profile.longest));
    plan.kinds()
        .map(|(_, _, layout)| one(layout))
        .reduce(|(least, most), other| (least.min(other.0), most.max(other.1)))
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use std::sync::Arc;

    use super::*;
    use crate::check::Check;
    use crate::examined::wagon;
    use crate::profile::{Framing, Profile};

    /// What a body of `len` bytes takes on the wire where all of them are `byte`, its end byte included.
    fn on_wire(code: Code, len: usize, byte: u8) -> usize {
        let (body, mut wire) = (vec![byte; len], Vec::new());
        match code {
            Code::Cobs => cobs::encode(&body, &mut wire),
            Code::Slip => slip::encode(&body, &mut wire),
            Code::Stuffed => stuffed::encode(&body, &mut wire),
        }
        wire.len() + 1
    }

    /// The encoders, which the vectors of documents hold, do no better and no worse: a body of end bytes takes most under
    /// escapes and least under COBS, where each stands for itself in a code byte. Beyond them: an end byte before it, or the
    /// last code byte behind a full block that is not needed.
    #[test]
    fn a_body_takes_no_fewer_and_no_more_bytes_than_the_lengths_say() {
        for len in (0..20).chain([253, 254, 255, 256, 507, 508, 509, 510, 1016]) {
            for code in [Code::Slip, Code::Stuffed] {
                let (least, most) = code.lengths(len, len);
                assert_eq!(
                    (least, most),
                    (on_wire(code, len, 0x11), on_wire(code, len, code.end()) + 1),
                    "{code:?} {len}"
                );
            }
            let long_form = usize::from(len > 0 && len % 254 == 0);
            let (least, most) = Code::Cobs.lengths(len, len);
            assert_eq!(
                (least, most),
                (on_wire(Code::Cobs, len, 0), on_wire(Code::Cobs, len, 0x11) + long_form),
                "{len}"
            );
        }
        assert_eq!(Code::Slip.lengths(3, 5), (4, 12));
        assert_eq!(Code::Cobs.lengths(3, 300), (5, 303));
    }
    /// Each zero stands for itself in a code byte, so that 255 bytes and more need one code byte besides where zeros are
    /// among them (Cheshire and Baker), and two where none is.
    #[test]
    fn a_long_body_of_zeros_is_found() {
        for (byte, len) in [(0, 254), (0, 255), (0, 600), (0x11, 254), (0x11, 255), (0x11, 600)] {
            let parts = vec![wagon::lit(&[0x22]), wagon::lit(&vec![byte; len - 1])];
            let kinds = vec![wagon::kind("long", parts, Vec::new(), Check::none())];
            let (framing, start_up) = (Framing::Cobs, Vec::new());
            let mut profile = Profile { framing, kinds, longest: 700, start_up, idle: wagon::IDLE };
            let wire = profile.encode(0, &[]).unwrap();
            profile.longest = wire.len();
            assert_eq!(profile.faults(), Vec::<String>::new(), "{byte} {len}");
            let profile = Arc::new(profile);
            let told = wagon::told(&profile, &wire);
            assert!(
                told.len() == 1 && told[0].starts_with(&format!("{} frame 0 ", wire.len())),
                "{byte} {len}: {told:?}"
            );
        }
    }
}
