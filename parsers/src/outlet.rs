//! The outlet: adjoining pieces of one nature joined to one record, and the records let out.

use crate::carry::Carry;
use crate::chunk::{Interval, Wire};
use crate::damage::Cause;
use crate::foreign::TextClass;
use crate::record::{EXCERPT, Record, Sink, What};

/// Bytes behind the place where a broken frame should have ended that still count as its remains: a glitch may have
/// put a byte or two into it.
const SLACK: u64 = 2;

/// Lets out the records of one wire. Holds at most one back: the one that may still grow.
#[derive(Clone, Debug)]
pub(crate) struct Outlet {
    wire: Wire,
    open: Option<Open>,
    excerpt: Vec<u8>,
}

/// A record that may still grow.
#[derive(Clone, Copy, Debug)]
struct Open {
    offset: u64,
    len: u64,
    begins: Interval,
    at: Interval,
    what: Held,
}

#[derive(Clone, Copy, Debug)]
enum Held {
    Noise,
    Text(TextClass),
    /// `claim`: place where it should have ended. `reach`: place up to which noise counts as its remains.
    Damage {
        cause: Cause,
        kind: Option<usize>,
        claim: u64,
        reach: u64,
    },
}

impl Outlet {
    pub(crate) fn new(wire: Wire) -> Self {
        Self { wire, open: None, excerpt: Vec::new() }
    }

    /// The first `len` bytes of `carry` are noise: joined to noise or damage right before them.
    pub(crate) fn noise(&mut self, carry: &mut Carry, len: usize, sink: &mut impl Sink) {
        let mut left = len;
        if let Some(Open { what: Held::Damage { reach, .. }, .. }) = self.open {
            let remains = (reach.saturating_sub(carry.offset())).min(left as u64) as usize;
            self.grow(carry, remains);
            left -= remains;
        }
        if left == 0 {
            return;
        }
        if !matches!(self.open, Some(Open { what: Held::Noise, .. })) {
            self.begin(carry, Held::Noise, sink);
        }
        self.grow(carry, left);
    }

    /// The first `len` bytes are text. `open`: more of it may follow by [`Outlet::more`].
    pub(crate) fn text(&mut self, carry: &mut Carry, len: usize, class: TextClass, open: bool, sink: &mut impl Sink) {
        if let Some(Open { what: Held::Damage { reach, .. }, .. }) = self.open
            && class == TextClass::Free
            && !open
            && carry.offset() + len as u64 <= reach
        {
            self.grow(carry, len);
            return;
        }
        self.cut_short(carry.offset());
        self.begin(carry, Held::Text(class), sink);
        self.grow(carry, len);
        if !open {
            self.flush(sink);
        }
    }

    /// The first `len` bytes belong to the record that is open.
    pub(crate) fn more(&mut self, carry: &mut Carry, len: usize, sink: &mut impl Sink) {
        if self.open.is_some() {
            self.grow(carry, len);
        } else {
            self.noise(carry, len, sink);
        }
    }

    /// The first `len` bytes are all there is of a broken frame. `open` as for [`Outlet::text`].
    pub(crate) fn damage(
        &mut self,
        carry: &mut Carry,
        len: usize,
        (cause, kind): (Cause, Option<usize>),
        open: bool,
        sink: &mut impl Sink,
    ) {
        self.begin(carry, Held::Damage { cause, kind, claim: 0, reach: 0 }, sink);
        self.grow(carry, len);
        if !open {
            self.flush(sink);
        }
    }

    /// The first `len` bytes begin a broken frame that should have had `claim` bytes; what remains of it may follow.
    /// One that begins inside another's claim is part of that one.
    pub(crate) fn broken(
        &mut self,
        carry: &mut Carry,
        len: usize,
        (cause, kind): (Cause, Option<usize>),
        claim: usize,
        sink: &mut impl Sink,
    ) {
        let ends = carry.offset() + claim.max(len) as u64;
        match &mut self.open {
            Some(Open { what: Held::Damage { cause, claim, reach, .. }, .. }) if carry.offset() < *claim => {
                if *cause == Cause::Truncated {
                    *cause = Cause::Glued;
                }
                *reach = (*reach).max(ends + SLACK);
            }
            _ => self.begin(carry, Held::Damage { cause, kind, claim: ends, reach: ends + SLACK }, sink),
        }
        self.grow(carry, len);
    }

    /// Whether a broken frame is open that should have gone on past `offset`: what is broken there is part of it.
    pub(crate) fn claims(&self, offset: u64) -> bool {
        matches!(self.open, Some(Open { what: Held::Damage { claim, .. }, .. }) if offset < claim)
    }

    /// Something whole begins at `offset`: a broken frame that should have gone on past it was cut short.
    #[inline]
    pub(crate) fn cut_short(&mut self, offset: u64) {
        if let Some(Open { what: Held::Damage { cause, claim, .. }, .. }) = &mut self.open
            && offset < *claim
            && *cause != Cause::Glued
        {
            *cause = Cause::Truncated;
        }
    }

    fn begin(&mut self, carry: &Carry, what: Held, sink: &mut impl Sink) {
        self.flush(sink);
        let begins = carry.interval(0);
        self.open = Some(Open { offset: carry.offset(), len: 0, begins, at: begins, what });
    }

    fn grow(&mut self, carry: &mut Carry, len: usize) {
        let len = len.min(carry.bytes().len());
        let Some(open) = self.open.as_mut().filter(|_| len > 0) else {
            return;
        };
        open.at = carry.interval(len - 1);
        open.len += len as u64;
        let room = EXCERPT.saturating_sub(self.excerpt.len());
        self.excerpt.extend(carry.bytes().iter().take(room.min(len)));
        carry.spend(len);
    }

    /// Lets out the record that was open.
    #[inline]
    pub(crate) fn flush(&mut self, sink: &mut impl Sink) {
        if let Some(open) = self.open.take() {
            self.let_out(open, sink);
        }
    }

    #[cold]
    fn let_out(&mut self, open: Open, sink: &mut impl Sink) {
        let excerpt = self.excerpt.as_slice();
        let what = match open.what {
            Held::Noise => What::Noise { excerpt },
            Held::Text(class) => What::Text { class, excerpt },
            Held::Damage { cause, kind, .. } => What::Damage { cause, kind, excerpt },
        };
        let Open { offset, len, begins, at, .. } = open;
        sink.record(&Record { wire: self.wire, offset, len, at, begins, what });
        self.excerpt.clear();
    }

    /// Whether a record is held back.
    #[inline]
    pub(crate) fn is_open(&self) -> bool {
        self.open.is_some()
    }

    /// When the last byte held back so far was complete.
    pub(crate) fn held_at(&self) -> Option<Interval> {
        self.open.map(|open| open.at)
    }

    /// When the first byte held back so far was complete.
    pub(crate) fn held_from(&self) -> Option<Interval> {
        self.open.map(|open| open.begins)
    }

    /// Place of the first byte held back, where one is.
    pub(crate) fn held(&self) -> Option<u64> {
        self.open.map(|open| open.offset)
    }
}
