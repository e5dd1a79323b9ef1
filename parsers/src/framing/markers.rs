//! Marker bytes: bytes from a first value up are never data, so that each of them begins or ends something.
//!
//! The rule is the rover's own; no standard is behind it. A frame runs from a marker that can begin a kind to the next
//! marker. Where that is no intact frame, only its first byte is spent: what follows up to the next beginning is
//! remains of it, or text.

use crate::damage::Cause;
use crate::examined::looked_at;
use crate::flow::{Awaited, Flow, Found, Plan, Reading};
use crate::profile::Part;
use crate::record::Sink;

/// The smallest marker, and room for values.
#[derive(Clone, Debug)]
pub(crate) struct Markers {
    first: u8,
    /// For each byte, the first kind it begins and the most bytes any kind it begins can have.
    begins: Box<[Option<(usize, usize)>; 256]>,
    /// Any marker.
    awaited: Awaited,
    reading: Reading,
}

/// What stands at a marker that can begin a frame.
enum Verdict {
    Frame {
        len: usize,
        kind: usize,
    },
    Broken {
        cause: Cause,
        kind: usize,
        claim: usize,
    },
    /// So many bytes the frame begun can have at most.
    More {
        most: usize,
    },
}

impl Markers {
    pub(crate) fn new(first: u8, plan: &Plan) -> Self {
        let begins = Box::new(std::array::from_fn(|byte| begins(byte as u8, plan)));
        Self { first, begins, awaited: Awaited::new(first, u8::MAX), reading: Reading::default() }
    }

    /// Tells apart what can be told apart. `closing`: no byte follows these.
    pub(crate) fn work(&mut self, closing: bool, plan: &Plan, flow: &mut Flow, sink: &mut impl Sink) {
        let mut last = plan.begun(self.first);
        while !flow.rest().is_empty() {
            let rest = flow.rest();
            if let Some((len, kind)) = plan.sure_like(&mut last, rest, flow.searched, &mut self.reading) {
                flow.searched = 0;
                self.frame(len, kind, plan, flow, sink);
                continue;
            }
            if !closing
                && let Some(len) = plan.cut(rest)
                && flow.lacks(rest.len().saturating_sub(flow.searched.max(1)), |byte| byte >= self.first)
            {
                // As for [`Verdict::More`]: a kind known by its length has no other.
                return flow.wait(len - 1, self.awaited);
            }
            let ahead = rest.iter().position(|byte| self.begins(*byte).is_some()).unwrap_or(rest.len());
            looked_at(ahead);
            if ahead > 0 {
                flow.searched = 0;
                flow.loose(ahead, plan, sink);
                continue;
            }
            let claimed = flow.claimed();
            match self.judge(rest, flow.searched, closing, claimed, plan) {
                Verdict::Frame { len, kind } => self.frame(len, kind, plan, flow, sink),
                Verdict::Broken { cause, kind, claim } => flow.broken(1, (cause, Some(kind)), claim, plan, sink),
                Verdict::More { most } => {
                    // With one byte less than the most it is not yet too long.
                    return flow.wait(most.saturating_sub(1), self.awaited);
                }
            }
            flow.searched = 0;
        }
    }

    fn frame(&self, len: usize, kind: usize, plan: &Plan, flow: &mut Flow, sink: &mut impl Sink) {
        let found = Found { kind, glued: false, reading: &self.reading, from: 0, apart: None };
        flow.frame(len, &found, plan, sink);
    }

    #[inline]
    fn begins(&self, byte: u8) -> Option<(usize, usize)> {
        self.begins[usize::from(byte)]
    }

    fn judge(&mut self, rest: &[u8], searched: usize, closing: bool, claimed: bool, plan: &Plan) -> Verdict {
        let Some((kind, most)) = rest.first().and_then(|byte| self.begins(*byte)) else {
            return Verdict::More { most: 0 };
        };
        let most = most.min(plan.profile.longest);
        let from = searched.max(1);
        let inside = rest.get(from..most.min(rest.len())).unwrap_or_default();
        let broken = |cause, kind| Verdict::Broken { cause, kind, claim: most };
        let next = inside.iter().position(|byte| *byte >= self.first);
        looked_at(next.map_or(inside.len(), |next| next + 1));
        let Some(next) = next else {
            return match rest.len() < most {
                true if closing => broken(Cause::Truncated, kind),
                true => Verdict::More { most },
                false => broken(Cause::Overlong, kind),
            };
        };
        let len = from + next + 1;
        if inside.get(next).is_some_and(|byte| self.begins(*byte).is_some()) {
            return broken(Cause::Truncated, kind);
        }
        let body = rest.get(..len).unwrap_or_default();
        if let Some(kind) = plan.whole(body, &mut self.reading) {
            return Verdict::Frame { len, kind };
        }
        if claimed {
            return broken(Cause::BadCheck, kind);
        }
        let (kind, cause) = self.nearest(body, kind, plan);
        broken(cause, kind)
    }

    fn nearest(&mut self, body: &[u8], kind: usize, plan: &Plan) -> (usize, Cause) {
        let able = plan.kinds().find(|(index, ..)| *index == kind);
        if able.is_some_and(|(_, _, layout)| body.len() < layout.least) {
            return (kind, Cause::Truncated);
        }
        plan.nearest(body, &mut self.reading.slots)
            .map_or((kind, Cause::BadCheck), |(kind, failure)| (kind, failure.cause))
    }
}

/// The first kind that `byte` begins, and the most bytes any kind it begins can have.
fn begins(byte: u8, plan: &Plan) -> Option<(usize, usize)> {
    let able = plan.kinds().filter(|(_, kind, _)| match kind.parts.first() {
        Some(Part::Literal(bytes)) => bytes.first() == Some(&byte),
        _ => false,
    });
    able.map(|(index, _, layout)| (index, layout.most)).reduce(|(index, most), (_, other)| (index, most.max(other)))
}
