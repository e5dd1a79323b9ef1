//! Inputs of the engine that own their bytes, and other cuttings of them that say the same.

use wheeltap_parsers::{Chunk, Input, Nanos, Wire};

/// An input that owns its bytes.
#[derive(Clone, Debug)]
pub enum Heard {
    Chunk { wire: Wire, offset: u64, bytes: Vec<u8>, lo: Nanos, hi: Nanos, byte_ns: Nanos },
    Note { at: Nanos, text: String },
    Other(Input<'static>),
}

impl Heard {
    pub fn of(input: &Input<'_>) -> Self {
        match *input {
            Input::Chunk(Chunk { wire, offset, bytes, lo, hi, byte_ns }) => {
                Self::Chunk { wire, offset, bytes: bytes.to_vec(), lo, hi, byte_ns }
            }
            Input::Note { at, text } => Self::Note { at, text: text.to_owned() },
            Input::Tick(at) => Self::Other(Input::Tick(at)),
            Input::PortGone { at, wire } => Self::Other(Input::PortGone { at, wire }),
            Input::PortBack { at, wire } => Self::Other(Input::PortBack { at, wire }),
            Input::Lost { at, since, wire, bytes, damaged } => {
                Self::Other(Input::Lost { at, since, wire, bytes, damaged })
            }
            Input::Pins(pins) => Self::Other(Input::Pins(pins)),
            Input::Clock(clock) => Self::Other(Input::Clock(clock)),
        }
    }

    pub fn input(&self) -> Input<'_> {
        match self {
            Self::Chunk { wire, offset, bytes, lo, hi, byte_ns } => {
                Input::Chunk(Chunk { wire: *wire, offset: *offset, bytes, lo: *lo, hi: *hi, byte_ns: *byte_ns })
            }
            Self::Note { at, text } => Input::Note { at: *at, text },
            Self::Other(input) => *input,
        }
    }

    /// Nothing in it can have happened before this; `None` for a tick.
    fn not_before(&self) -> Option<Nanos> {
        match *self {
            Self::Chunk { lo, .. } => Some(lo),
            Self::Note { at, .. }
            | Self::Other(
                Input::PortGone { at, .. }
                | Input::PortBack { at, .. }
                | Input::Lost { at, .. }
                | Input::Note { at, .. },
            ) => Some(at),
            Self::Other(Input::Pins(pins)) => Some(pins.at),
            Self::Other(Input::Tick(_) | Input::Chunk(_) | Input::Clock(_)) => None,
        }
    }
}

/// A row of numbers that looks random and is the same for the same beginning (xorshift, Marsaglia 2003).
struct Row(u64);

impl Row {
    fn next(&mut self, below: u64) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0 % below.max(1)
    }
}

/// The same session with some bytes altered, so that frames do not end, and with remarks and a lost port in it: all
/// that a session can hold. `share` per mille of the inputs are hit.
pub fn troubled(inputs: &mut Vec<Heard>, seed: u64, share: u16) {
    let mut row = Row(seed | 1);
    let calm = std::mem::take(inputs);
    let mut latest = 0;
    for mut input in calm {
        let hit = row.next(1000) < u64::from(share);
        match &mut input {
            Heard::Chunk { bytes, hi, .. } => {
                latest = latest.max(*hi);
                if let (true, Some(last)) = (hit, bytes.last_mut()) {
                    *last ^= 1 << row.next(8);
                }
            }
            Heard::Other(Input::Tick(at)) => latest = latest.max(*at),
            _ => {}
        }
        inputs.push(input);
        if hit {
            add(inputs, latest, row.next(24));
        }
    }
}

/// What else a session can hold, at this time.
fn add(inputs: &mut Vec<Heard>, at: Nanos, kind: u64) {
    let wire = if kind.is_multiple_of(2) { Wire::ToDrive } else { Wire::FromDrive };
    match kind {
        0..=5 => inputs.push(Heard::Note { at, text: format!("remark {}", inputs.len()) }),
        6..=7 => inputs.push(Heard::Other(Input::Lost { at, since: at, wire, bytes: 7, damaged: false })),
        8..=9 => {
            inputs.push(Heard::Other(Input::PortGone { at, wire }));
            inputs.push(Heard::Other(Input::PortBack { at, wire }));
        }
        _ => {}
    }
}

/// The same session cut otherwise. `share` per cent of the reads are cut, and as many ticks are left out or put in,
/// each of them true: nothing that comes behind a tick was complete before it. The last tick stays: it says how far the
/// session was heard.
pub fn recut(inputs: &[Heard], seed: u64, share: u8) -> Vec<Heard> {
    let mut row = Row(seed | 1);
    let mut cut = Vec::new();
    let last_tick = inputs.iter().rposition(|input| input.not_before().is_none());
    for (place, input) in inputs.iter().enumerate() {
        let chosen = row.next(100) < u64::from(share);
        match input {
            Heard::Other(Input::Tick(_)) if chosen && last_tick != Some(place) => {}
            Heard::Chunk { .. } if chosen => pieces(input.clone(), &mut row, &mut cut),
            _ => cut.push(input.clone()),
        }
    }
    with_ticks(cut, &mut row, share)
}

fn pieces(whole: Heard, row: &mut Row, into: &mut Vec<Heard>) {
    let mut left = whole;
    loop {
        let Input::Chunk(chunk) = left.input() else { return };
        if chunk.bytes.len() < 2 {
            break;
        }
        let at = 1 + row.next(chunk.bytes.len() as u64) as usize;
        if at == chunk.bytes.len() {
            break;
        }
        let (head, tail) = chunk.split_at(at);
        let (head, tail) = (Heard::of(&Input::Chunk(head)), Heard::of(&Input::Chunk(tail)));
        into.push(head);
        left = tail;
    }
    into.push(left);
}

/// Puts ticks in, where they are true.
fn with_ticks(inputs: Vec<Heard>, row: &mut Row, share: u8) -> Vec<Heard> {
    let mut bound = Nanos::MAX;
    let mut bounds: Vec<Nanos> = inputs
        .iter()
        .rev()
        .map(|input| {
            bound = bound.min(input.not_before().unwrap_or(Nanos::MAX));
            bound
        })
        .collect();
    bounds.reverse();
    let mut out = Vec::new();
    let mut ticked = 0;
    for (input, bound) in inputs.into_iter().zip(bounds) {
        while bound != Nanos::MAX && bound > ticked && row.next(100) < u64::from(share) {
            ticked += 1 + row.next((bound - ticked) as u64) as i64;
            out.push(Heard::Other(Input::Tick(ticked)));
        }
        out.push(input);
    }
    out
}
