//! Why a frame did not arrive intact: exactly one cause each.

/// The one cause of a damaged frame, the first that applies in this order of looking.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Cause {
    /// All parts were there and the check was wrong.
    BadCheck,
    /// It ended before its last part.
    Truncated,
    /// It went on past its last part, or past the longest frame of the link.
    Overlong,
    /// A second frame, or foreign text, began inside it.
    Glued,
    /// A number outside its stated range.
    OutOfRange,
    /// A word or code the rover file does not know.
    UnknownWord,
    /// No number where one was due.
    NotANumber,
}

impl Cause {
    /// Every cause.
    pub const ALL: [Self; 7] = [
        Self::BadCheck,
        Self::Truncated,
        Self::Overlong,
        Self::Glued,
        Self::OutOfRange,
        Self::UnknownWord,
        Self::NotANumber,
    ];

    /// Its stable id, as `decode --json` prints it.
    pub const fn id(self) -> &'static str {
        match self {
            Self::BadCheck => "bad-check",
            Self::Truncated => "truncated",
            Self::Overlong => "overlong",
            Self::Glued => "glued",
            Self::OutOfRange => "out-of-range",
            Self::UnknownWord => "unknown-word",
            Self::NotANumber => "not-a-number",
        }
    }

    /// In words, for a person.
    pub const fn says(self) -> &'static str {
        match self {
            Self::BadCheck => "the check is wrong",
            Self::Truncated => "it was cut short",
            Self::Overlong => "it is too long",
            Self::Glued => "something else began inside it",
            Self::OutOfRange => "a number is out of range",
            Self::UnknownWord => "the rover file does not know this word",
            Self::NotANumber => "no number where one is due",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The ids are a contract of `decode --json`: they never change.
    #[test]
    fn every_cause_has_its_id_and_its_own_words() {
        let ids = ["bad-check", "truncated", "overlong", "glued", "out-of-range", "unknown-word", "not-a-number"];
        assert_eq!(Cause::ALL.map(Cause::id), ids);
        let mut words = Cause::ALL.map(Cause::says).to_vec();
        words.sort_unstable();
        words.dedup();
        assert_eq!(words.len(), ids.len());
        assert!(words.iter().all(|words| words.contains(' ')));
    }
}
