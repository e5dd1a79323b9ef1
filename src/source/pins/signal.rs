//! Signals of a dump: their names with all scopes, and where their values stand.

/// One bit whose level the dump tells.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Signal {
    /// Its full name, such as `chip.fl.in1` or `board.port_c[3]`.
    pub name: String,
    /// Number of its identifier code.
    pub code: u32,
    /// Which bit of the value, 0 the last one written.
    pub bit: u32,
    /// The line of the header that declares it.
    pub line: u64,
}

impl Signal {
    /// Where its values stand: the code, and the bit of it. Two names of one net share it.
    pub const fn place(&self) -> (u32, u32) {
        (self.code, self.bit)
    }

    /// The name without its scopes.
    pub fn own_name(&self) -> &str {
        self.name.rsplit('.').next().unwrap_or_default()
    }

    /// Whether a person may mean this signal: its full name or the end of it, in any letter case.
    pub fn is_called(&self, asked: &str) -> bool {
        let (name, asked) = (self.name.to_lowercase(), asked.to_lowercase());
        name.strip_suffix(asked.as_str()).is_some_and(|before| before.is_empty() || before.ends_with('.'))
    }

    /// The words of the name in small letters: `wheel.FL.in1` gives `wheel`, `fl`, `in1`.
    pub fn words(&self) -> impl Iterator<Item = String> {
        let parts = self.name.split(|letter: char| !letter.is_ascii_alphanumeric());
        parts.filter(|part| !part.is_empty()).map(str::to_lowercase)
    }

    /// Whether the name has one of these words.
    pub fn has_word(&self, words: &[&str]) -> bool {
        self.words().any(|word| words.contains(&word.as_str()))
    }
}

/// Some names for a message, the first ones only.
pub fn list(signals: &[&Signal]) -> String {
    const SHOWN: usize = 24;
    let names: Vec<&str> = signals.iter().take(SHOWN).map(|signal| signal.name.as_str()).collect();
    let more = signals.len().saturating_sub(SHOWN);
    if more > 0 { format!("{}, and {more} more", names.join(", ")) } else { names.join(", ") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_is_known_by_its_end_and_by_its_words() {
        let signal = Signal { name: "Wheel.FL.in1".to_owned(), code: 0, bit: 0, line: 1 };
        assert!(["in1", "fl.IN1", "wheel.fl.in1"].iter().all(|asked| signal.is_called(asked)));
        assert!(["n1", "l.in1", "wheel", "x.wheel.fl.in1"].iter().all(|asked| !signal.is_called(asked)));
        assert_eq!(signal.words().collect::<Vec<_>>(), ["wheel", "fl", "in1"]);
        assert_eq!(signal.own_name(), "in1");
    }
}
