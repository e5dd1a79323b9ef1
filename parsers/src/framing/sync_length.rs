//! Sync, length, payload, check: a fixed beginning, then a byte that says how long the payload is.
//!
//! The rule is the rover's own; no standard is behind it. Only lengths that a kind states are waited for, so that a
//! false length holds back nothing. Where a frame is not intact only its sync bytes are spent, for a good one may
//! begin inside it.
//!
//! Frames of one fixed length are the same without the length byte. They may even have no sync bytes: then a kind's
//! first literal takes their place, and where there is none a frame may begin anywhere. Only one that begins right
//! behind another, or after a silence, is then told from noise when it is broken.

use memchr::memmem;

use crate::damage::Cause;
use crate::examined::looked_at;
use crate::flow::{Awaited, Flow, Found, Plan, Reading};
use crate::profile::Part;
use crate::record::Sink;

/// How long a frame is.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Size {
    /// Its length byte says so; `beyond` as in [`crate::Framing::SyncLength`].
    Said { beyond: usize },
    /// So many bytes, always.
    Fixed(usize),
}

/// The fixed beginning and the length.
#[derive(Clone, Debug)]
pub(crate) struct SyncLength {
    sync: Vec<u8>,
    size: Size,
    /// For each length byte, the first kind that has it.
    says: Box<[Option<usize>; 256]>,
    /// The next byte follows on a frame or on silence.
    aligned: bool,
    /// What is broken here is part of a broken frame before it.
    claimed: bool,
    /// With fewer bytes than this nothing new can be said.
    due: usize,
    reading: Reading,
}

/// What stands at a beginning.
enum Verdict {
    Frame { len: usize, kind: usize },
    Broken { spend: usize, cause: Cause, kind: Option<usize>, claim: usize },
    Loose,
    More,
}

impl SyncLength {
    pub(crate) fn new(sync: &[u8], size: Size, plan: &Plan) -> Self {
        let says = Box::new(std::array::from_fn(|said| says(said as u8, plan)));
        let reading = Reading::default();
        Self { sync: sync.to_vec(), size, says, aligned: true, claimed: false, due: 0, reading }
    }

    /// Tells apart what can be told apart. `closing`: no byte follows these.
    pub(crate) fn work(&mut self, closing: bool, plan: &Plan, flow: &mut Flow, sink: &mut impl Sink) {
        if !closing && flow.rest().len() < self.due {
            return self.wait(flow);
        }
        self.due = 0;
        while !flow.rest().is_empty() {
            if !self.begins(flow.rest()) {
                let ahead = self.ahead(flow.rest(), closing);
                if ahead > 0 {
                    flow.loose(ahead, plan, sink);
                    continue;
                }
            }
            self.claimed = flow.claimed();
            let verdict = self.judge(flow.rest(), closing, plan);
            self.aligned =
                matches!(verdict, Verdict::Frame { .. }) || (self.aligned && matches!(verdict, Verdict::More));
            match verdict {
                Verdict::Frame { len, kind } => {
                    let found =
                        Found { kind, glued: false, reading: &self.reading, from: self.sync.len(), apart: None };
                    flow.frame(len, &found, plan, sink);
                }
                Verdict::Broken { spend, cause, kind, claim } => flow.broken(spend, (cause, kind), claim, plan, sink),
                Verdict::Loose => flow.loose(1, plan, sink),
                Verdict::More => return self.wait(flow),
            }
        }
        self.aligned |= closing;
    }

    /// No byte says anything new before so many are there.
    fn wait(&self, flow: &mut Flow) {
        flow.wait(self.due.saturating_sub(1), Awaited::NONE);
    }

    /// Whether the sync bytes stand at the beginning. They are few.
    #[inline]
    fn begins(&self, rest: &[u8]) -> bool {
        rest.len() >= self.sync.len() && self.sync.iter().zip(rest).all(|(sync, byte)| sync == byte)
    }

    /// Bytes before the next beginning, none of which stands here; one that is cut off at the end counts while bytes may
    /// follow.
    fn ahead(&self, rest: &[u8], closing: bool) -> usize {
        let found = memmem::find(rest, &self.sync);
        looked_at(found.unwrap_or(rest.len()));
        if let Some(place) = found {
            return place;
        }
        let most = if closing { 0 } else { self.sync.len().saturating_sub(1).min(rest.len()) };
        let part = (1..=most).rev().find(|len| rest.ends_with(self.sync.get(..*len).unwrap_or_default()));
        rest.len() - part.unwrap_or(0)
    }

    #[inline]
    fn judge(&mut self, rest: &[u8], closing: bool, plan: &Plan) -> Verdict {
        match self.size {
            Size::Said { beyond } => self.said(rest, beyond, closing, plan),
            Size::Fixed(len) => self.fixed(rest, len, closing, plan),
        }
    }

    #[inline]
    fn said(&mut self, rest: &[u8], beyond: usize, closing: bool, plan: &Plan) -> Verdict {
        let spend = self.sync.len().max(1);
        let Some(said) = rest.get(spend) else {
            if closing && rest.len() == spend {
                return Verdict::Broken { spend, cause: Cause::Truncated, kind: None, claim: spend };
            }
            return Verdict::More;
        };
        let claim = usize::from(*said) + beyond;
        let Some(kind) = self.says[usize::from(*said)] else {
            let most = plan.kinds().map(|(_, _, layout)| layout.most).max().unwrap_or(0).saturating_add(spend);
            let cause = if claim > most { Cause::Overlong } else { Cause::UnknownWord };
            return Verdict::Broken { spend, cause, kind: None, claim: most.min(plan.profile.longest) };
        };
        self.whole(rest, spend, (kind, claim), closing, plan)
    }

    /// What stands in the next `claim` bytes, begun as `kind`.
    #[inline]
    fn whole(
        &mut self,
        rest: &[u8],
        spend: usize,
        (kind, claim): (usize, usize),
        closing: bool,
        plan: &Plan,
    ) -> Verdict {
        let claim = claim.max(spend);
        let Some(body) = rest.get(self.sync.len()..claim) else {
            if closing {
                return Verdict::Broken { spend, cause: Cause::Truncated, kind: Some(kind), claim };
            }
            self.due = claim;
            return Verdict::More;
        };
        if let Some(kind) = plan.whole(body, &mut self.reading) {
            return Verdict::Frame { len: claim, kind };
        }
        let (kind, cause) = self.nearest(body, kind, plan);
        Verdict::Broken { spend, cause, kind: Some(kind), claim }
    }

    #[cold]
    fn nearest(&mut self, body: &[u8], kind: usize, plan: &Plan) -> (usize, Cause) {
        let nearest = if self.claimed { None } else { plan.nearest(body, &mut self.reading.slots) };
        nearest.map_or((kind, Cause::BadCheck), |(kind, failure)| (kind, failure.cause))
    }

    fn fixed(&mut self, rest: &[u8], len: usize, closing: bool, plan: &Plan) -> Verdict {
        let Some(body) = rest.get(self.sync.len()..rest.len().min(len.max(self.sync.len()))) else {
            return Verdict::More;
        };
        let Some(begun) = begun(body, plan) else {
            return if self.sync.is_empty() {
                Verdict::Loose
            } else {
                Verdict::Broken { spend: self.sync.len(), cause: Cause::UnknownWord, kind: None, claim: len }
            };
        };
        let readable = || rest.iter().take(len).all(|byte| matches!(byte, b' '..=b'~' | b'\t' | b'\r' | b'\n'));
        let known = !self.sync.is_empty() || begun.literal || (self.aligned && !readable());
        // Where it is not known to be a frame, nobody asks what is wrong with it.
        self.claimed |= !known;
        let verdict = self.whole(rest, self.sync.len().max(1), (begun.kind, len), closing, plan);
        if known || !matches!(verdict, Verdict::Broken { .. }) { verdict } else { Verdict::Loose }
    }
}

/// A kind that can begin here, and whether its first literal says so.
struct Begun {
    kind: usize,
    literal: bool,
}

/// The first kind whose first literal stands at the beginning of `body`, as far as that goes.
fn begun(body: &[u8], plan: &Plan) -> Option<Begun> {
    let mut able = plan.kinds().filter_map(|(kind, shape, _)| match shape.parts.first() {
        Some(Part::Literal(bytes)) => {
            let seen = body.len().min(bytes.len());
            (body.get(..seen) == bytes.get(..seen)).then_some(Begun { kind, literal: true })
        }
        _ => Some(Begun { kind, literal: false }),
    });
    able.next()
}

/// The first kind whose length byte is `said`.
fn says(said: u8, plan: &Plan) -> Option<usize> {
    let mut able = plan.kinds().filter(|(_, kind, _)| match kind.parts.first() {
        Some(Part::Literal(bytes)) => bytes.first() == Some(&said),
        _ => false,
    });
    able.next().map(|(index, ..)| index)
}
