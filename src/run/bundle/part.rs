//! Which part of a session is meant: between two notes, or between two times.

use crate::run::Failure;

/// The ends as the person gave them.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Ends {
    /// Number of the note it begins at, from 1.
    pub from_note: Option<usize>,
    /// Number of the note it ends at.
    pub to_note: Option<usize>,
    /// Session time it begins at, seconds.
    pub from_s: Option<f64>,
    /// Session time it ends at, seconds.
    pub to_s: Option<f64>,
}

/// The part: session times, microseconds, both inside.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Part {
    from_us: i64,
    pub(super) to_us: i64,
    /// Where the bundle begins: at `from_us`, or later where the session itself does.
    pub(super) begins_us: i64,
    whole: bool,
}

impl Ends {
    /// Looks the notes up, which are in order of time, in a session that begins and ends at these times (microseconds).
    pub(super) fn resolve(self, notes: &[(i64, String)], (starts_us, ends_us): (i64, i64)) -> Result<Part, Failure> {
        let end = |number: Option<usize>, seconds: Option<f64>, other: i64| match (number, seconds) {
            (Some(number), _) => note(number, notes),
            (None, Some(seconds)) => Ok((seconds * 1e6) as i64),
            (None, None) => Ok(other),
        };
        let from_us = end(self.from_note, self.from_s, 0)?;
        let to_us = end(self.to_note, self.to_s, i64::MAX)?;
        let begins_us = from_us.max(starts_us);
        if begins_us >= to_us || begins_us > ends_us {
            let begins =
                if starts_us > 0 { format!("begins at {:.3} s and ", seconds(starts_us)) } else { String::new() };
            return Err(Failure::usage(format!(
                "nothing lies between {:.3} s and {:.3} s of this session, which {begins}ends at {:.3} s",
                seconds(from_us),
                seconds(to_us.min(ends_us)),
                seconds(ends_us)
            )));
        }
        Ok(Part { from_us, to_us, begins_us, whole: self == Self::default() })
    }
}

fn seconds(t_us: i64) -> f64 {
    t_us as f64 / 1e6
}

fn note(number: usize, notes: &[(i64, String)]) -> Result<i64, Failure> {
    let found = number.checked_sub(1).and_then(|at| notes.get(at));
    found.map(|(at, _)| *at).ok_or_else(|| {
        Failure::usage(format!("note {number}: the session has {} notes, counted from 1 by their times", notes.len()))
    })
}

impl Part {
    /// Whether something at this time belongs to it.
    pub(super) const fn holds(&self, t_us: i64) -> bool {
        self.from_us <= t_us && t_us <= self.to_us
    }

    /// Whether it begins where the session does.
    pub(super) const fn begins_with_session(&self) -> bool {
        self.from_us <= 0
    }

    /// In words.
    pub(super) fn words(&self) -> String {
        if self.whole {
            return "as a whole".to_owned();
        }
        let to = if self.to_us == i64::MAX { "its end".to_owned() } else { format!("{:.3} s", seconds(self.to_us)) };
        format!("from {:.3} s to {to}", seconds(self.from_us))
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn ends_are_looked_up() {
        let notes = [(1_500_000, "a".to_owned()), (9_000_000, "b".to_owned())];
        let ends = Ends { from_note: Some(1), to_note: Some(2), ..Ends::default() };
        let part = ends.resolve(&notes, (0, 20_000_000)).unwrap();
        assert_eq!(
            (part.from_us, part.to_us, part.words().as_str()),
            (1_500_000, 9_000_000, "from 1.500 s to 9.000 s")
        );
        for wrong in [
            Ends { from_note: Some(3), ..Ends::default() },
            Ends { from_note: Some(0), ..Ends::default() },
            Ends { from_s: Some(30.0), ..Ends::default() },
            Ends { from_s: Some(3.0), to_s: Some(2.0), ..Ends::default() },
        ] {
            assert!(wrong.resolve(&notes, (0, 20_000_000)).is_err(), "{wrong:?}");
        }
    }
}
