//! What can be said of the line rate, and why.

/// The answer, as far as there is one.
#[derive(Clone, Debug, PartialEq)]
pub enum Verdict {
    /// The rate is this one.
    Found {
        /// Baud.
        rate: u32,
        /// How far the sender's clock is off, thousandths, lowest and highest; `None` where it could not be told.
        clock: Option<[i32; 2]>,
    },
    /// It could only be fenced in.
    Bounded {
        /// The sender is at least this fast, baud, where that is known.
        at_least: Option<u32>,
        /// The sender is at most this fast, baud, where that is known.
        at_most: Option<u32>,
    },
    /// Too little was heard.
    TooFew {
        /// Bytes heard so far.
        bytes: usize,
    },
    /// The port gives the same text at different rates: no wire does that.
    SameAtEveryRate,
}

impl Verdict {
    /// The rate, where it was found.
    pub const fn rate(&self) -> Option<u32> {
        match self {
            Self::Found { rate, .. } => Some(*rate),
            _ => None,
        }
    }

    /// Whether a sender at `rate` agrees with what was said.
    pub fn allows(&self, rate: u32) -> bool {
        match self {
            Self::Found { rate: found, .. } => *found == rate,
            Self::Bounded { at_least, at_most } => {
                at_least.is_none_or(|least| rate >= least) && at_most.is_none_or(|most| rate <= most)
            }
            Self::TooFew { .. } | Self::SameAtEveryRate => true,
        }
    }

    /// In words, with what to do next.
    pub fn words(&self) -> String {
        match self {
            Self::Found { rate, clock: Some([low, high]) } => format!(
                "The line rate is {rate} baud. The sender's clock is off by {} to {} %, against this adapter's.",
                tenths(*low),
                tenths(*high)
            ),
            Self::Found { rate, clock: None } => {
                format!("The line rate is {rate} baud. How far the sender's clock is off could not be told.")
            }
            Self::Bounded { at_least, at_most } => bounded(*at_least, *at_most),
            Self::TooFew { bytes } => format!(
                "Too few bytes: {bytes} heard. Keep tapping a button, about twice a second. If nothing comes at all, \
                 press the command board's reset: text must appear. Then see the leads."
            ),
            Self::SameAtEveryRate => "This port gives the same text at different rates, so it is no wire: a pretend \
                port has no rate."
                .to_owned(),
        }
    }
}

fn bounded(at_least: Option<u32>, at_most: Option<u32>) -> String {
    let span = match (at_least, at_most) {
        (Some(least), Some(most)) => format!("between {least} and {most} baud"),
        (Some(least), None) => format!("at {least} baud or faster"),
        (None, Some(most)) => format!("at {most} baud or slower"),
        (None, None) => "not fenced in yet".to_owned(),
    };
    format!(
        "The line rate was not found; the sender is {span}. Read the rate in the boards' programs, or swap to more \
         taps of a longer order."
    )
}

/// Thousandths as per cent with a sign.
fn tenths(thousandths: i32) -> String {
    let sign = if thousandths < 0 { "-" } else { "+" };
    format!("{sign}{}.{}", thousandths.abs() / 10, thousandths.abs() % 10)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bounds_hold_what_they_say() {
        let slow = Verdict::Bounded { at_least: None, at_most: Some(9600) };
        assert!(slow.allows(1200) && slow.allows(9600) && !slow.allows(19_200));
        assert!(slow.words().contains("9600 baud or slower"), "{}", slow.words());
        let found = Verdict::Found { rate: 57_600, clock: Some([-21, 4]) };
        assert!(found.allows(57_600) && !found.allows(57_601));
        assert!(found.words().contains("-2.1 to +0.4 %"), "{}", found.words());
    }
}
