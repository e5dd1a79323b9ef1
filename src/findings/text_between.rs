//! Text of the command board between orders: its own remarks leave on the wire to the drive board.

use std::collections::BTreeMap;

use wheeltap_parsers::{TextClass, Wire};

use crate::engine::event::{Event, Flag, Flags, Happening};
use crate::findings::ledger::{Ledger, Words, times_words};
use crate::findings::nearly_an_order::nearly;
use crate::findings::sorts::Sort;
use crate::findings::{Confidence, Finding, Layer, Need, Rule, Severity, View, in_lines, reset};

/// The most first words that are told apart.
const MOST: usize = 64;
/// Fewer letters at its head are no word: an order that was hit begins so.
const LETTERS: usize = 3;

/// The rule's ledger.
#[derive(Clone, Debug, Default)]
pub struct TextBetween {
    ledger: Ledger,
    /// How many orders a reader of lines loses to text before them, since nothing ends it.
    spoiled: u64,
    /// First words heard; the first text of each until the word comes again.
    words: BTreeMap<String, Option<(Event, bool)>>,
    /// Texts since the last order.
    waiting: Vec<(Event, String)>,
    /// An order came before, and no start, damage or noise since the last one.
    sound: bool,
}

const WORDS: Words = Words {
    id: "text-between",
    severity: Severity::Note,
    layer: Layer::CommandBoard,
    confidence: Confidence::Certain,
    not: "Not noise, and not a start of the board: the same words come again between sound orders. As long as each text ends by itself the drive board loses nothing but the time.",
    what_to_do: "Print remarks on another UART, or not at all; or begin each with a mark at which the drive board skips the line.",
    check_after: "Ten minutes of driving: nothing but orders on the wire.",
};

const SPOILS: Words = Words {
    severity: Severity::Fault,
    not: "Not noise, and not a start of the board: the same words come again between sound orders. Nothing ends them, so the drive board reads the order behind for the rest of the text and refuses it.",
    ..WORDS
};

impl TextBetween {
    /// Counts a text whose first word has come before, and the first one of that word with it.
    fn count(&mut self, text: Event, word: String, spoils: bool) {
        let room = self.words.len() < MOST;
        match self.words.get_mut(&word) {
            Some(first) => {
                for (one, spoils) in first.take().into_iter().chain([(text, spoils)]) {
                    self.ledger.add(&one, one.len as i64);
                    self.spoiled += u64::from(spoils);
                }
            }
            None if room => {
                self.words.insert(word, Some((text, spoils)));
            }
            None => {}
        }
    }

    fn order(&mut self, flags: Flags, lines: bool) {
        let sound = std::mem::replace(&mut self.sound, true) && !flags.has(Flag::SequenceGap);
        let waiting = std::mem::take(&mut self.waiting);
        let last = waiting.len();
        for (place, (text, word)) in (1..).zip(waiting).filter(|_| sound) {
            self.count(text, word, lines && flags.has(Flag::Glued) && place == last);
        }
    }
}

impl Rule for TextBetween {
    fn id(&self) -> &'static str {
        "text-between"
    }

    fn looks_for(&self) -> &'static str {
        "remarks of the command board between its orders"
    }

    fn needs(&self) -> &'static [Need] {
        &[Need::Meaning]
    }

    fn sees(&self) -> &'static [Sort] {
        &[Sort::Order, Sort::Damage, Sort::Text, Sort::Noise]
    }

    fn see(&mut self, event: &Event, view: &View<'_>) {
        if event.wire != Some(Wire::ToDrive) || event.len == 0 {
            return;
        }
        match &event.what {
            // A line that is no order only by a byte, or by the case of its letters, is no remark.
            Happening::Text { .. } if nearly(event, view).is_some() => self.sound = false,
            Happening::Text { class: TextClass::Free, raw } | Happening::Noise { raw } => match first_word(raw) {
                Some(word) if self.sound && self.waiting.len() < MOST => self.waiting.push((event.clone(), word)),
                Some(_) => {}
                None => self.sound &= raw.iter().all(u8::is_ascii_whitespace),
            },
            Happening::Text { class, .. } => self.sound &= reset::sort(*class).is_none(),
            Happening::Frame(frame) if view.is_order(event) => {
                self.order(frame.flags, view.rover.is_some_and(in_lines));
            }
            Happening::Damage { .. } => self.sound = false,
            _ => {}
        }
    }

    fn findings(&self) -> Vec<Finding> {
        let mut says = format!("Text stood between sound orders, {}", times_words(self.ledger.count()));
        let words = match self.spoiled {
            0 => &WORDS,
            spoiled => {
                says += &format!(
                    "; with no line end behind it, so that the order behind was lost, {}",
                    times_words(spoiled)
                );
                &SPOILS
            }
        };
        self.ledger.finding(words, says).into_iter().collect()
    }

    fn copy(&self) -> Box<dyn Rule> {
        Box::new(self.clone())
    }
}

/// The letters at the head of a text that is readable from end to end.
fn first_word(raw: &[u8]) -> Option<String> {
    let readable = |byte: &u8| byte.is_ascii_graphic() || byte.is_ascii_whitespace();
    let text = std::str::from_utf8(raw.trim_ascii_start()).ok().filter(|_| raw.iter().all(readable))?;
    let word: String = text.chars().take_while(char::is_ascii_alphabetic).collect();
    (word.len() >= LETTERS).then_some(word)
}
