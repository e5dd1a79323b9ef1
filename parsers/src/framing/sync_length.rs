//! Sync, length, payload, check: a fixed beginning, then a byte that says how long the payload is.
//!
//! The rule is the rover's own; no standard is behind it. Only lengths that a kind states are waited for, so that a
//! false length holds back nothing. Where a frame is not intact only its sync bytes are spent, for a good one may
//! begin inside it.

use memchr::memmem;

use crate::damage::Cause;
use crate::flow::{Flow, Found, Plan};
use crate::layout::Slot;
use crate::profile::Part;
use crate::record::Sink;

/// The fixed beginning and what the length byte leaves out.
#[derive(Clone, Debug)]
pub(crate) struct SyncLength {
    sync: Vec<u8>,
    beyond: usize,
    slots: Vec<Slot>,
}

/// What stands at a beginning.
enum Verdict {
    Frame { len: usize, kind: usize },
    Broken { spend: usize, cause: Cause, kind: Option<usize>, claim: usize },
    More,
}

impl SyncLength {
    pub(crate) fn new(sync: &[u8], beyond: usize) -> Self {
        Self { sync: sync.to_vec(), beyond, slots: Vec::new() }
    }

    /// Tells apart what can be told apart. `closing`: no byte follows these.
    pub(crate) fn work(&mut self, closing: bool, plan: &Plan, flow: &mut Flow, sink: &mut impl Sink) {
        while !flow.rest().is_empty() {
            let ahead = self.ahead(flow.rest(), closing);
            if ahead > 0 {
                flow.loose(ahead, plan, sink);
                continue;
            }
            match self.judge(flow.rest(), closing, plan) {
                Verdict::Frame { len, kind } => {
                    let found = Found { kind, glued: false, slots: &self.slots, from: self.sync.len(), apart: None };
                    flow.frame(len, &found, plan, sink);
                }
                Verdict::Broken { spend, cause, kind, claim } => flow.broken(spend, (cause, kind), claim, plan, sink),
                Verdict::More => return,
            }
        }
    }

    /// Bytes before the next beginning; one that is cut off at the end counts while bytes may follow.
    fn ahead(&self, rest: &[u8], closing: bool) -> usize {
        if let Some(place) = memmem::find(rest, &self.sync) {
            return place;
        }
        let most = if closing { 0 } else { self.sync.len().saturating_sub(1).min(rest.len()) };
        let part = (1..=most).rev().find(|len| rest.ends_with(self.sync.get(..*len).unwrap_or_default()));
        rest.len() - part.unwrap_or(0)
    }

    fn judge(&mut self, rest: &[u8], closing: bool, plan: &Plan) -> Verdict {
        let spend = self.sync.len().max(1);
        let Some(said) = rest.get(spend) else {
            if closing && rest.len() == spend {
                return Verdict::Broken { spend, cause: Cause::Truncated, kind: None, claim: spend };
            }
            return Verdict::More;
        };
        let claim = usize::from(*said) + self.beyond;
        let Some(kind) = says(*said, plan) else {
            let most = plan.kinds().map(|(_, _, layout)| layout.most).max().unwrap_or(0).saturating_add(spend);
            let cause = if claim > most { Cause::Overlong } else { Cause::UnknownWord };
            return Verdict::Broken { spend, cause, kind: None, claim: most.min(plan.profile.longest) };
        };
        let Some(body) = rest.get(spend..claim) else {
            if closing {
                return Verdict::Broken { spend, cause: Cause::Truncated, kind: Some(kind), claim };
            }
            return Verdict::More;
        };
        if let Some(kind) = plan.whole(body, &mut self.slots) {
            return Verdict::Frame { len: claim, kind };
        }
        let nearest = plan.nearest(body, &mut self.slots);
        let (kind, cause) = nearest.map_or((kind, Cause::BadCheck), |(kind, failure)| (kind, failure.cause));
        Verdict::Broken { spend, cause, kind: Some(kind), claim }
    }
}

/// The first kind whose length byte is `said`.
fn says(said: u8, plan: &Plan) -> Option<usize> {
    let mut able = plan.kinds().filter(|(_, kind, _)| match kind.parts.first() {
        Some(Part::Literal(bytes)) => bytes.first() == Some(&said),
        _ => false,
    });
    able.next().map(|(index, ..)| index)
}
