//! What the person types: a word that steers the lesson, or text for the step at hand.

/// A typed line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Answer {
    /// Enter alone: this step is done.
    Enter,
    /// The panel has no such thing.
    Skip,
    /// This step once more, from nothing.
    Again,
    /// The step before, from nothing.
    Back,
    /// Show what is learned.
    List,
    /// Enough: write the file with what there is.
    Done,
    /// End without a file.
    Quit,
    /// What can be typed.
    Help,
    /// The person's own name for this move.
    Name(String),
    /// Anything else.
    Text(String),
}

impl Answer {
    /// Reads a typed line.
    pub fn read(line: &str) -> Self {
        let line: String = line.chars().filter(|letter| !letter.is_control()).collect();
        let line = line.trim();
        let name = line.strip_prefix("name ").map(str::trim).filter(|name| !name.is_empty());
        match line.to_lowercase().as_str() {
            "" | "done" => Self::Enter,
            "skip" => Self::Skip,
            "again" => Self::Again,
            "back" => Self::Back,
            "list" => Self::List,
            "write" => Self::Done,
            "quit" => Self::Quit,
            "help" | "?" => Self::Help,
            _ => name.map_or_else(|| Self::Text(line.to_owned()), |name| Self::Name(name.to_owned())),
        }
    }
}

/// What can be typed, one line each.
pub const HELP: [&str; 9] = [
    "Enter       this step is done",
    "skip        the panel has no such button",
    "again       this step once more",
    "back        the step before once more",
    "name WORDS  your own name for this move",
    "list        what is learned so far",
    "write       end, and write the rover file with what there is",
    "quit        end without a rover file",
    "help        this",
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_steer_and_other_text_stays() {
        assert_eq!(Answer::read("  SKIP\r"), Answer::Skip);
        assert_eq!(Answer::read("name  crab left "), Answer::Name("crab left".to_owned()));
        assert_eq!(Answer::read("FL L298 M1"), Answer::Text("FL L298 M1".to_owned()));
        assert_eq!(Answer::read("name "), Answer::Text("name".to_owned()));
        assert_eq!(Answer::read("\u{1b}"), Answer::Enter);
    }
}
