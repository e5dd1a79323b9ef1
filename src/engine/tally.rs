//! Words and values counted where no rover file says what they mean yet.

use super::event::{Event, Happening};
use super::snapshot::WordCount;

/// The most words that are told apart; more are counted together.
const MOST_WORDS: usize = 24;
/// The most values of one word that are told apart.
const MOST_VALUES: usize = 12;
/// The longest word that is believed to be one.
const LONGEST: usize = 24;

/// The tally of one session.
#[derive(Clone, Debug, Default)]
pub struct Tally {
    words: Vec<WordCount>,
}

impl Tally {
    /// Counts a line of free text: its first word, and what follows the first mark after it.
    pub fn count(&mut self, event: &Event) {
        let Happening::Text { class: wheeltap_parsers::TextClass::Free, raw } = &event.what else { return };
        let Some((word, value)) = split(raw) else { return };
        let known = self.words.iter().position(|known| known.word == word);
        let place = match known {
            Some(place) => place,
            None if self.words.len() < MOST_WORDS => {
                self.words.push(WordCount { word: word.to_owned(), ..WordCount::default() });
                self.words.len() - 1
            }
            None => return,
        };
        if let Some(entry) = self.words.get_mut(place) {
            add(entry, value);
        }
    }

    /// All words, most frequent first, then in the order they came.
    pub fn words(&self) -> Vec<WordCount> {
        let mut words = self.words.clone();
        words.sort_by_key(|word| std::cmp::Reverse(word.count));
        words
    }
}

fn add(entry: &mut WordCount, value: &str) {
    entry.count += 1;
    if let Ok(number) = value.parse::<i64>() {
        entry.range = Some(entry.range.map_or((number, number), |(low, high)| (low.min(number), high.max(number))));
    } else if !value.is_empty() && !entry.values.iter().any(|known| known == value) {
        if entry.values.len() < MOST_VALUES {
            entry.values.push(value.to_owned());
        } else {
            entry.more_values = true;
        }
    }
}

/// A line as word and value: the word is letters, digits, `_` and `-`; one mark stands between; the rest is the value.
fn split(raw: &[u8]) -> Option<(&str, &str)> {
    let line = std::str::from_utf8(raw).ok()?.trim_end();
    let end = line.find(|letter: char| !(letter.is_ascii_alphanumeric() || letter == '_' || letter == '-'));
    let (word, rest) = line.split_at(end.unwrap_or(line.len()));
    let believed =
        !word.is_empty() && word.len() <= LONGEST && word.starts_with(|letter: char| letter.is_ascii_alphabetic());
    let value = rest.get(rest.chars().next().map_or(0, char::len_utf8)..).unwrap_or_default().trim();
    (believed && value.len() <= LONGEST && !value.contains(char::is_whitespace)).then_some((word, value))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_is_a_word_and_a_value() {
        assert_eq!(split(b"way,port\n"), Some(("way", "port")));
        assert_eq!(split(b"pace=180\r\n"), Some(("pace", "180")));
        assert_eq!(split(b"stop\n"), Some(("stop", "")));
        assert_eq!(split(b"eye ok heap 91k net up"), None);
        assert_eq!(split(b"42,7"), None);
        assert_eq!(split(b"\xff"), None);
    }

    #[test]
    fn ranges_and_values_are_kept() {
        let mut entry = WordCount::default();
        for value in ["180", "20", "port", "port", "rest"] {
            add(&mut entry, value);
        }
        assert_eq!((entry.count, entry.range, entry.values.len()), (5, Some((20, 180)), 2));
    }
}
