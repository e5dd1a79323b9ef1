//! The strength of a line: how often a small injury of the orders seen would be obeyed as something else.
//!
//! Each distinct order frame is injured in every way there is: one bit flipped, two neighbouring bytes swapped, one byte
//! lost. The drive board's reader, as the rover file models it, then reads what is left, with silence behind it. A real
//! reader may be more lenient than its model.

pub mod cure;
pub mod injury;
pub mod outcome;
pub mod reader;

use std::collections::BTreeMap;

use crate::rover::file::RoverFile;
use injury::{Injury, injuries};
use outcome::{Becomes, Sort};
use reader::{Reader, Standing};

/// Most frames that are injured; each takes some hundred readings.
pub const MOST: usize = 120;

/// What became of all injuries of one kind.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Total {
    /// How many there were.
    pub tried: u64,
    /// Obeyed as sent: the injury did no harm.
    pub same: u64,
    /// Not obeyed: the rover goes on as before.
    pub nothing: u64,
    /// Obeyed as something else.
    pub other: u64,
}

/// One kind of harm.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Harm {
    /// What becomes of what.
    pub becomes: Becomes,
    /// How often.
    pub count: u64,
    /// Of so many injuries of such frames.
    pub of: u64,
    /// A frame as sent, and as it came.
    pub example: (Vec<u8>, Vec<u8>),
}

/// The strength of the orders seen.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Strength {
    /// Distinct frames that were injured.
    pub frames: usize,
    /// Distinct frames beyond [`MOST`].
    pub left_out: usize,
    /// By [`Injury`].
    pub totals: [Total; 3],
    /// Worst first.
    pub harms: Vec<Harm>,
}

impl Strength {
    /// Of these frames as they stood on the wire to the drive board. `None` when the file has no frames for that wire.
    pub fn of(rover: &RoverFile, frames: &[Vec<u8>]) -> Option<Self> {
        let reader = Reader::new(rover)?;
        let mut distinct: Vec<&[u8]> = frames.iter().map(Vec::as_slice).collect();
        distinct.sort_unstable();
        distinct.dedup();
        let left_out = distinct.len().saturating_sub(MOST);
        // Spread over all of them, so that a counter in the frames does not leave the last moves out.
        let step = distinct.len().div_ceil(MOST).max(1);
        let chosen: Vec<&[u8]> = distinct.iter().step_by(step).copied().collect();
        let mut trial =
            Trial { reader: &reader, totals: Default::default(), of: BTreeMap::new(), harms: BTreeMap::new() };
        let grounds = grounds(&reader, &chosen);
        for frame in &chosen {
            trial.frame(frame, &before(&reader, &grounds, frame));
        }
        Some(Self { frames: chosen.len(), left_out, totals: trial.totals, harms: trial.harms() })
    }
}

/// Orders that may have been in force before another: some frames and the move they lead to.
type Ground<'a> = Vec<&'a [u8]>;

/// Most frames from which grounds are made, and most grounds.
const GROUNDS: usize = 20;

/// Grounds that stand differently, a wheel moving on each: single frames, then a frame (a duty, say) and a move.
fn grounds<'a>(reader: &Reader<'_>, all: &[&'a [u8]]) -> Vec<Ground<'a>> {
    let few = || all.iter().copied().take(GROUNDS);
    let pairs = few().flat_map(|first| few().map(move |then| vec![first, then]));
    let mut seen: Vec<Standing> = Vec::new();
    let mut found = Vec::new();
    for ground in all.iter().map(|one| vec![*one]).chain(pairs) {
        let standing = reader.after(&ground);
        if found.len() < GROUNDS && standing.moving() && !seen.contains(&standing) {
            seen.push(standing);
            found.push(ground);
        }
    }
    found
}

/// Two grounds on which `frame` makes a difference; any two where it makes none.
fn before<'a>(reader: &Reader<'_>, grounds: &[Ground<'a>], frame: &[u8]) -> Vec<Ground<'a>> {
    let matters = |ground: &&Ground<'a>| {
        let with: Ground<'_> = ground.iter().copied().chain([frame]).collect();
        reader.after(ground) != reader.after(&with)
    };
    let found: Vec<Ground<'a>> = grounds.iter().filter(matters).take(2).cloned().collect();
    if found.is_empty() { grounds.iter().take(2).cloned().collect() } else { found }
}

/// The counting.
struct Trial<'a> {
    reader: &'a Reader<'a>,
    totals: [Total; 3],
    /// Injuries by the sort of the frame.
    of: BTreeMap<Sort, u64>,
    harms: BTreeMap<Becomes, (u64, (Vec<u8>, Vec<u8>))>,
}

impl Trial<'_> {
    fn frame(&mut self, frame: &[u8], before: &[Ground<'_>]) {
        let fresh = [Vec::new()];
        let grounds = if before.is_empty() { fresh.as_slice() } else { before };
        let after = |bytes: &[u8]| -> Vec<Standing> {
            let on = |ground: &Ground<'_>| {
                let pieces: Vec<&[u8]> = ground.iter().copied().chain([bytes]).collect();
                self.reader.after(&pieces)
            };
            grounds.iter().map(on).collect()
        };
        let stood: Vec<(Standing, Standing)> =
            grounds.iter().map(|ground| self.reader.after(ground)).zip(after(frame)).collect();
        let sort = Sort::of(&stood);
        let all: Vec<_> = injuries(frame)
            .into_iter()
            .map(|(injury, came)| (injury, outcome::becomes(&stood, &after(&came)), came))
            .collect();
        for (injury, becomes, came) in all {
            self.count(injury, sort, becomes, frame, came);
        }
    }

    fn count(&mut self, injury: Injury, sort: Sort, becomes: Becomes, frame: &[u8], came: Vec<u8>) {
        let total = &mut self.totals[injury as usize];
        total.tried += 1;
        *self.of.entry(sort).or_default() += 1;
        match becomes {
            Becomes::Same => total.same += 1,
            Becomes::Lost | Becomes::RestLost => total.nothing += 1,
            _ => total.other += 1,
        }
        if becomes.is_harm() {
            self.harms.entry(becomes).or_insert_with(|| (0, (frame.to_vec(), came))).0 += 1;
        }
    }

    fn harms(&self) -> Vec<Harm> {
        let of = |becomes: Becomes| self.of.get(&becomes.sort()).copied().unwrap_or(0);
        let harm = |(becomes, (count, example)): (&Becomes, &(u64, (Vec<u8>, Vec<u8>)))| Harm {
            becomes: *becomes,
            count: *count,
            of: of(*becomes),
            example: example.clone(),
        };
        self.harms.iter().map(harm).collect()
    }
}
