//! The small injuries of a frame.

/// What happened to a frame on its way.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Injury {
    /// One bit is the other one.
    Flip,
    /// Two neighbouring bytes changed places.
    Swap,
    /// One byte did not come.
    Loss,
}

impl Injury {
    /// All, in the order of the totals.
    pub const ALL: [Self; 3] = [Self::Flip, Self::Swap, Self::Loss];

    /// In words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Flip => "one bit flipped",
            Self::Swap => "two neighbours swapped",
            Self::Loss => "one byte lost",
        }
    }

    /// Stable id.
    pub const fn id(self) -> &'static str {
        match self {
            Self::Flip => "flip",
            Self::Swap => "swap",
            Self::Loss => "loss",
        }
    }
}

/// Every injury of `frame`. Two equal neighbours swapped are no injury.
pub fn injuries(frame: &[u8]) -> Vec<(Injury, Vec<u8>)> {
    let mut all = Vec::new();
    for (place, bit) in (0..frame.len()).flat_map(|place| (0..8).map(move |bit| (place, bit))) {
        let mut came = frame.to_vec();
        came[place] ^= 1 << bit;
        all.push((Injury::Flip, came));
    }
    for place in 1..frame.len() {
        let mut came = frame.to_vec();
        came.swap(place - 1, place);
        if came != frame {
            all.push((Injury::Swap, came));
        }
    }
    for place in 0..frame.len() {
        let mut came = frame.to_vec();
        came.remove(place);
        all.push((Injury::Loss, came));
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_injury_is_there_once() {
        let all = injuries(b"aab");
        let count = |which| all.iter().filter(|(injury, _)| *injury == which).count();
        assert_eq!((count(Injury::Flip), count(Injury::Swap), count(Injury::Loss)), (24, 1, 3));
        assert!(all.iter().all(|(_, came)| came != b"aab"));
        assert!(injuries(b"").is_empty());
    }
}
