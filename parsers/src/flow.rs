//! The flow of one wire: the bytes taken in, the stretch of them that is no frame, and the way out.
//!
//! The bytes of the carry are, in wire order: first those that are certainly part of no frame and wait for the end of
//! their line, then those not told apart yet.

use std::sync::Arc;

use crate::carry::Carry;
use crate::chunk::{Chunk, Nanos, Wire};
use crate::damage::Cause;
use crate::examined::looked_at;
use crate::fields::Value;
use crate::layout::{Failure, Layout, Slot};
use crate::loose::Loose;
use crate::outlet::Outlet;
use crate::profile::{Framing, Kind, Part, Profile};
use crate::record::{Record, Sink, What};
use crate::rigid::{Checked, Rigid};
use crate::word;

/// Bytes of a read that is short: most frames go on behind it.
const SHORT: usize = 8;

/// A frame's fields that are handed on without taking memory for them.
const FEW: usize = 32;

/// A profile with what is worked out once about it.
#[derive(Clone, Debug)]
pub(crate) struct Plan {
    pub(crate) profile: Arc<Profile>,
    layouts: Vec<Layout>,
    /// What stands around the parts of a kind of lines; elsewhere nothing.
    start: Vec<u8>,
    end: Vec<u8>,
    /// For each byte, the kind known by its length alone that it begins: see [`Plan::sure`].
    sure: Box<[Sure; 256]>,
    /// For each byte, whether a kind can begin with it.
    begins: Box<[bool; 256]>,
}

/// How a frame begins: its first byte, and the kind known by its length alone that this begins.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Begun {
    byte: u8,
    sure: Sure,
}

/// A kind known by its length alone.
#[derive(Clone, Copy, Debug)]
struct Sure {
    /// Bytes on the wire; 0 where there is no such kind.
    len: usize,
    kind: usize,
}

impl Plan {
    pub(crate) fn new(profile: Arc<Profile>) -> Self {
        let layouts: Vec<Layout> = profile.kinds.iter().map(Layout::new).collect();
        let (start, end) = match &profile.framing {
            Framing::Lines { start, end } => (start.clone(), end.clone()),
            _ => Default::default(),
        };
        let sure = Box::new([Sure { len: 0, kind: 0 }; 256]);
        let mut plan = Self { profile, layouts, start, end, sure, begins: Box::new([false; 256]) };
        for byte in 0..=u8::MAX {
            let begins = plan.begun_by(byte).next().is_some();
            plan.begins[usize::from(byte)] = begins;
            if let Some(sure) = plan.sure_of(byte) {
                plan.sure[usize::from(byte)] = sure;
            }
        }
        plan
    }

    /// The kinds whose body can begin with `byte`, as far as their first part says so.
    fn begun_by(&self, byte: u8) -> impl Iterator<Item = (usize, &Kind, &Layout)> {
        self.kinds().filter(move |(_, kind, _)| match kind.parts.first() {
            Some(Part::Literal(bytes)) => bytes.first().is_none_or(|first| *first == byte),
            _ => true,
        })
    }

    /// Whether `body` can be one of a kind, by its first byte.
    #[inline]
    pub(crate) fn may_begin(&self, body: &[u8]) -> bool {
        body.first().is_none_or(|first| self.begins[usize::from(*first)])
    }

    /// The kind known by its length alone whose body `byte` begins, where it begins no other.
    fn sure_of(&self, byte: u8) -> Option<Sure> {
        let mut begun = self.begun_by(byte);
        let ((index, kind, layout), None) = (begun.next()?, begun.next()) else { return None };
        let rigid = layout.rigid.as_ref().filter(|rigid| rigid.len <= self.profile.longest)?;
        let len = self.start.len() + rigid.len + self.end.len();
        kind.never_ends_early(&self.profile.framing).then_some(Sure { len, kind: index })
    }

    /// The kinds in the order they are tried.
    pub(crate) fn kinds(&self) -> impl Iterator<Item = (usize, &Kind, &Layout)> {
        self.profile.kinds.iter().zip(&self.layouts).enumerate().map(|(index, (kind, layout))| (index, kind, layout))
    }

    /// Length and kind of the intact frame at the front of `rest`, found without a search for its end: its kind has one
    /// length and is the only one that begins so, the end mark stands there, and cannot stand before. `None` says nothing.
    /// `tried`: the first so many bytes were tried before.
    #[inline]
    pub(crate) fn sure(&self, rest: &[u8], tried: usize, reading: &mut Reading) -> Option<(usize, usize)> {
        self.sure_of_kind(self.sure[usize::from(*rest.get(self.start.len())?)], rest, tried, reading)
    }

    /// As [`Plan::sure`] where no start mark is. Most frames begin as `last`, the one before, did: then the place of the next
    /// one does not wait for a look-up.
    #[inline]
    pub(crate) fn sure_like(
        &self,
        last: &mut Begun,
        rest: &[u8],
        tried: usize,
        reading: &mut Reading,
    ) -> Option<(usize, usize)> {
        let byte = *rest.first()?;
        if byte != last.byte {
            *last = self.begun(byte);
        }
        self.sure_of_kind(last.sure, rest, tried, reading)
    }

    /// How frames begin with `byte`.
    #[inline]
    pub(crate) fn begun(&self, byte: u8) -> Begun {
        Begun { byte, sure: self.sure[usize::from(byte)] }
    }

    #[inline]
    fn sure_of_kind(&self, sure: Sure, rest: &[u8], tried: usize, reading: &mut Reading) -> Option<(usize, usize)> {
        // Frames that a read has cut leave here, and all of links without such a kind.
        let due = sure.len <= rest.len() && sure.len > tried;
        (due && self.is_sure(sure, rest, reading)).then_some((sure.len, sure.kind))
    }

    /// Where `rest` may begin a frame that [`Plan::sure`] finds when more of it is there: the length of that.
    #[inline]
    pub(crate) fn cut(&self, rest: &[u8]) -> Option<usize> {
        let len = self.sure[usize::from(*rest.get(self.start.len())?)].len;
        (rest.len() < len).then_some(len)
    }

    fn is_sure(&self, Sure { len, kind }: Sure, rest: &[u8], reading: &mut Reading) -> bool {
        let behind = len - self.end.len();
        let body = rest.get(self.start.len()..behind).unwrap_or_default();
        let rigid = self.layouts.get(kind).and_then(|layout| layout.rigid.as_ref());
        stands_at(rest, 0, &self.start)
            && stands_at(rest, behind, &self.end)
            && rigid.is_some_and(|rigid| reading.take_rigid(rigid, body, None))
    }

    /// The first kind that `body` is as a whole; its values stand in `reading` then.
    #[inline]
    pub(crate) fn whole(&self, body: &[u8], reading: &mut Reading) -> Option<usize> {
        self.whole_from(0, body, reading)
    }

    /// As [`Plan::whole`], the kinds before number `first` left out.
    #[inline]
    pub(crate) fn whole_from(&self, first: usize, body: &[u8], reading: &mut Reading) -> Option<usize> {
        let mut able = self.kinds().skip(first).filter(|(_, _, layout)| layout.fits(body));
        able.find(|(_, kind, layout)| reading.take(kind, layout, body)).map(|(index, ..)| index)
    }

    /// The first kind and the span of its check, where that is the same in every frame of it.
    pub(crate) fn check_of_first(&self) -> Option<(&Rigid, &Checked)> {
        let rigid = self.layouts.first()?.rigid.as_ref()?;
        Some((rigid, rigid.check()?))
    }

    /// How far `body` can be read as the kind it is most like, and why no further.
    pub(crate) fn nearest(&self, body: &[u8], slots: &mut Vec<Slot>) -> Option<(usize, Failure)> {
        let mut best: Option<(usize, Failure)> = None;
        for (index, kind, layout) in self.kinds() {
            let Err(failure) = layout.read(kind, body, slots) else {
                continue;
            };
            if best.is_none_or(|(_, other)| failure.parts > other.parts) {
                best = Some((index, failure));
            }
        }
        best
    }
}

/// Whether `mark` stands in `bytes` from `place` on; most marks are one byte or none.
#[inline]
fn stands_at(bytes: &[u8], place: usize, mark: &[u8]) -> bool {
    match mark {
        [] => true,
        [byte] => bytes.get(place) == Some(byte),
        _ => bytes.get(place..).is_some_and(|behind| behind.starts_with(mark)),
    }
}

/// Room for the values of one frame.
#[derive(Clone, Debug, Default)]
pub(crate) struct Reading {
    /// Values that need no text of the frame; used where `plain`.
    values: Vec<Value<'static>>,
    /// Values as a layout reads them.
    pub(crate) slots: Vec<Slot>,
    plain: bool,
}

impl Reading {
    /// Whether `body` is an intact frame as `rigid` reads them. `register` as for [`Rigid::read`].
    #[inline]
    pub(crate) fn take_rigid(&mut self, rigid: &Rigid, body: &[u8], register: Option<u32>) -> bool {
        self.plain = true;
        rigid.read(body, register, &mut self.values)
    }

    /// Whether `body` is an intact frame of `kind`, whose layout is `layout`.
    #[inline]
    pub(crate) fn take(&mut self, kind: &Kind, layout: &Layout, body: &[u8]) -> bool {
        if let Some(rigid) = &layout.rigid {
            return self.take_rigid(rigid, body, None);
        }
        self.plain = false;
        layout.read(kind, body, &mut self.slots).is_ok()
    }
}

/// Bytes and records of one wire.
#[derive(Clone, Debug)]
pub(crate) struct Flow {
    wire: Wire,
    pub(crate) carry: Carry,
    pub(crate) outlet: Outlet,
    loose: Loose,
    /// So many of the bytes not told apart are known to hold no end of a frame.
    pub(crate) searched: usize,
    wait: Wait,
}

/// Bytes that may come before there is anything new to say.
#[derive(Clone, Copy, Debug, Default)]
struct Wait {
    /// So many more, at most.
    left: usize,
    awaited: Awaited,
}

/// Bytes that are waited for.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Awaited {
    first: u8,
    /// That one and the next, so many of them.
    count: u16,
}

impl Awaited {
    /// No byte.
    pub(crate) const NONE: Self = Self { first: 0, count: 0 };

    /// Those from `first` to `last`.
    pub(crate) fn new(first: u8, last: u8) -> Self {
        Self { first, count: (u16::from(last) + 1).saturating_sub(first.into()) }
    }

    /// Whether none of `bytes` is waited for.
    #[inline]
    fn go_on(self, bytes: &[u8]) -> bool {
        looked_at(bytes.len());
        // Asked at once: how a byte of data compares nobody can foresee.
        !bytes.iter().any(|byte| u16::from(byte.wrapping_sub(self.first)) < self.count)
    }
}

impl Flow {
    pub(crate) fn new(wire: Wire, exacting: bool) -> Self {
        let (outlet, loose) = (Outlet::new(wire), Loose::new(exacting));
        Self { wire, carry: Carry::default(), outlet, loose, searched: 0, wait: Wait::default() }
    }

    /// All bytes not told apart were searched. With up to `most` of them there is nothing new to say, unless one of those
    /// `awaited` is among them.
    #[inline]
    pub(crate) fn wait(&mut self, most: usize, awaited: Awaited) {
        self.searched = self.rest().len();
        self.wait = Wait { left: most.saturating_sub(self.searched), awaited };
    }

    /// Whether `bytes`, which were just taken in, are few and say nothing new: what was begun goes on with them.
    #[inline]
    pub(crate) fn goes_on(&mut self, bytes: &[u8]) -> bool {
        let goes_on = bytes.len() <= SHORT.min(self.wait.left) && self.wait.awaited.go_on(bytes);
        if goes_on {
            self.wait.left -= bytes.len();
            self.searched += bytes.len();
        }
        goes_on
    }

    /// Takes `byte`, all that `chunk` holds, where it says nothing new and follows on the bytes before it without a silence
    /// longer than `idle`. Otherwise takes nothing. This is what [`Flow::goes_on`] says, with less work.
    #[inline]
    pub(crate) fn take_one(&mut self, byte: u8, chunk: &Chunk<'_>, idle: Nanos) -> bool {
        if self.wait.left == 0 || chunk.offset != self.carry.end() || chunk.byte_ns > idle {
            return false;
        }
        let first_lo = self.carry.first_lo(chunk);
        if self.carry.may_be_silent(first_lo, idle) || !self.wait.awaited.go_on(&[byte]) {
            return false;
        }
        self.wait.left -= 1;
        self.searched += 1;
        self.carry.push_one(byte, chunk, first_lo);
        true
    }

    /// Something new is said.
    #[inline]
    pub(crate) fn wait_no_more(&mut self) {
        self.wait.left = 0;
    }

    /// The bytes not told apart yet.
    #[inline]
    pub(crate) fn rest(&self) -> &[u8] {
        self.carry.bytes().get(self.loose.waiting()..).unwrap_or_default()
    }

    /// Whether none of the last `len` bytes is `wanted`. `false` says nothing.
    #[inline]
    pub(crate) fn lacks(&self, len: usize, wanted: impl Fn(u8) -> bool) -> bool {
        let Some(last) = self.carry.last().filter(|last| len <= last.len()) else { return false };
        looked_at(len);
        word::lacks(last, len, wanted)
    }

    /// Whether what is broken here is part of a broken frame before it, so that its cause is not asked for.
    pub(crate) fn claimed(&self) -> bool {
        self.loose.is_closed() && self.outlet.claims(self.carry.offset())
    }

    /// The next `len` bytes are part of no frame.
    pub(crate) fn loose(&mut self, len: usize, plan: &Plan, sink: &mut impl Sink) {
        self.loose.take(len, &mut self.carry, &mut self.outlet, &plan.profile.start_up, sink);
    }

    /// The next `len` bytes are noise, whatever they look like.
    pub(crate) fn noise(&mut self, len: usize, plan: &Plan, sink: &mut impl Sink) {
        self.end_loose(plan, sink);
        self.outlet.noise(&mut self.carry, len, sink);
    }

    /// The line of loose bytes ends here.
    #[inline]
    pub(crate) fn end_loose(&mut self, plan: &Plan, sink: &mut impl Sink) {
        if self.loose.is_closed() {
            return;
        }
        self.loose.end(&mut self.carry, &mut self.outlet, &plan.profile.start_up, sink);
    }

    /// Everything ends here: silence, a port gone, the end of input. Nothing may be left to tell apart.
    pub(crate) fn close(&mut self, plan: &Plan, sink: &mut impl Sink) {
        self.end_loose(plan, sink);
        self.outlet.cut_short(self.carry.end());
        self.outlet.flush(sink);
    }

    /// The next `len` bytes are a frame. Its values are those of `reading`; their text stands in `apart` or, where that
    /// is `None`, in the frame from its byte `from` on.
    #[inline]
    pub(crate) fn frame(&mut self, len: usize, found: &Found<'_>, plan: &Plan, sink: &mut impl Sink) {
        if !self.loose.is_closed() || self.outlet.is_open() {
            self.end_before(plan, sink);
        }
        let Some(bytes) = self.carry.bytes().get(..len).filter(|bytes| !bytes.is_empty()) else {
            return;
        };
        let (offset, at, begins) = (self.carry.offset(), self.carry.interval(len - 1), self.carry.interval(0));
        let (wire, kind, glued) = (self.wire, found.kind, found.glued);
        let mut let_out = |values: &[Value<'_>]| {
            let what = What::Frame { kind, values, glued, bytes };
            sink.record(&Record { wire, offset, len: len as u64, at, begins, what });
        };
        if found.reading.plain {
            let_out(&found.reading.values);
        } else {
            let body = found.apart.unwrap_or_else(|| bytes.get(found.from..).unwrap_or_default());
            with_values(&found.reading.slots, body, let_out);
        }
        self.carry.spend(len);
    }

    /// A frame begins: what was begun before it ends.
    #[cold]
    fn end_before(&mut self, plan: &Plan, sink: &mut impl Sink) {
        self.end_loose(plan, sink);
        self.outlet.cut_short(self.carry.offset());
        self.outlet.flush(sink);
    }

    /// The next `len` bytes are a broken frame, `open` where more of it follows.
    pub(crate) fn damage(
        &mut self,
        len: usize,
        (cause, kind): (Cause, Option<usize>),
        open: bool,
        plan: &Plan,
        sink: &mut impl Sink,
    ) {
        self.end_loose(plan, sink);
        self.outlet.damage(&mut self.carry, len, (cause, kind), open, sink);
    }

    /// The next `len` bytes belong to the broken frame that is open.
    pub(crate) fn more(&mut self, len: usize, sink: &mut impl Sink) {
        self.outlet.more(&mut self.carry, len, sink);
    }

    /// The next `len` bytes begin a broken frame that should have had `claim` bytes.
    pub(crate) fn broken(
        &mut self,
        len: usize,
        (cause, kind): (Cause, Option<usize>),
        claim: usize,
        plan: &Plan,
        sink: &mut impl Sink,
    ) {
        self.end_loose(plan, sink);
        self.outlet.broken(&mut self.carry, len, (cause, kind), claim, sink);
    }
}

/// Hands the values of `slots` on, their text taken from `body`.
fn with_values(slots: &[Slot], body: &[u8], mut hand_on: impl FnMut(&[Value<'_>])) {
    let mut few = [Value::Int(0); FEW];
    if let Some(room) = few.get_mut(..slots.len()) {
        room.iter_mut().zip(slots).for_each(|(value, slot)| *value = slot.value(body));
        hand_on(room);
    } else {
        let many: Vec<Value<'_>> = slots.iter().map(|slot| slot.value(body)).collect();
        hand_on(&many);
    }
}

/// A frame found at the front of the bytes not told apart.
pub(crate) struct Found<'a> {
    pub(crate) kind: usize,
    pub(crate) glued: bool,
    pub(crate) reading: &'a Reading,
    pub(crate) from: usize,
    pub(crate) apart: Option<&'a [u8]>,
}
