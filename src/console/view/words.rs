//! Words heard on the wire before anybody has said what they mean: in the place of the rover while there is no rover
//! file.

use ratatui::style::Style;

use crate::console::pen::Pen;
use crate::console::text_fit::width;
use crate::engine::snapshot::{Snapshot, WordCount};

/// Draws the pane.
pub fn draw(pen: &mut Pen, snapshot: &Snapshot) {
    pen.heading("words heard", "no rover file yet");
    let (faint, strong) = (pen.theme.faint(), pen.theme.strong());
    let rows = usize::from(pen.height().saturating_sub(3));
    let longest = snapshot.words.iter().map(|word| width(&word.word)).max().unwrap_or(0).clamp(4, 24) as u16;
    for (y, word) in (1..).zip(snapshot.words.iter().take(rows)) {
        pen.put(0, y, &word.word, strong);
        let x = pen.put(longest + 1, y, &format!("{:>5} x", word.count), Style::new());
        pen.put(x + 2, y, &followed_by(word), Style::new());
    }
    let last = pen.height().saturating_sub(2);
    let says = "I do not know what these words mean yet. The session can be read again with a rover file.";
    pen.put_wrapped(0, last, 2, says, faint);
}

/// What followed the word: its numbers, its values.
fn followed_by(word: &WordCount) -> String {
    let numbers = word
        .range
        .map(|(low, high)| if low == high { format!("number {low}") } else { format!("numbers {low} to {high}") });
    let more = if word.more_values { ", and more" } else { "" };
    let values = (!word.values.is_empty()).then(|| format!("{}{more}", word.values.join(", ")));
    let all: Vec<String> = numbers.into_iter().chain(values).collect();
    if all.is_empty() { "alone".to_owned() } else { format!("with {}", all.join("; ")) }
}
