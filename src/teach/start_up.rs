//! Start-up text: what the command board prints by itself when it starts. Heard once as such, it is never taken for an
//! order, wherever it comes again.

use super::body::Body;
use super::cell::{Cut, cells};
use super::format::{Format, Heard};

/// A line of start-up text has more pieces than this, marks counted; shorter lines may well be orders.
const SHORTEST: usize = 4;
/// So many words in one line read like text for a person.
const WORDS: usize = 3;

/// Takes out of `heard` the lines that the board prints by itself; `lines` are those heard while it started.
pub(super) fn leave_out(heard: &mut Heard, lines: &[String]) {
    // A frame with a right check is no text.
    if !matches!(heard.format, Format::Lines(_)) {
        return;
    }
    for (bodies, cut) in [(&mut heard.bodies, Cut::Fine), (&mut heard.coarse, Cut::Coarse)] {
        let printed = printed(lines, bodies, cut);
        bodies.retain(|body| !printed.contains(&masked(body)));
    }
}

/// The lines heard while the board started, numbers masked, without those that are orders: orders are short, or have a
/// sibling of their own shape and first word, with other contents, among what was heard later.
fn printed(lines: &[String], later: &[Body], cut: Cut) -> Vec<String> {
    let body = |line: &String| Body { at: 0, step: None, cells: cells(line, cut), suffix: String::new() };
    let started: Vec<Body> = lines.iter().map(body).collect();
    let known: Vec<String> = started.iter().map(masked).collect();
    let is_order = |body: &Body| {
        // Text for a person differs in its numbers from one start to the next; an order may be nothing but numbers.
        let is_text = reads_like_text(&body.words());
        let sibling = |other: &Body| {
            let differs = if is_text {
                other.key() == body.key() && !known.contains(&masked(other))
            } else {
                other.cells != body.cells
            };
            differs && other.like(body)
        };
        body.cells.len() < SHORTEST || later.iter().any(sibling)
    };
    started.iter().filter(|body| !is_order(body)).map(masked).collect()
}

/// The line with its numbers left out: a count or a voltage may differ the next time.
fn masked(body: &Body) -> String {
    let mut masked = String::new();
    for letter in body.words().chars() {
        if !letter.is_ascii_digit() {
            masked.push(letter);
        } else if !masked.ends_with('#') {
            masked.push('#');
        }
    }
    masked
}

/// Whether a line, as it stood, reads like text for a person: several words parted by blanks.
pub(super) fn reads_like_text(line: &str) -> bool {
    let word = |word: &&str| word.len() > 1 && word.chars().all(char::is_alphabetic);
    line.split(' ').filter(word).count() >= WORDS
}

#[cfg(test)]
mod tests {
    use super::super::format::End;
    use super::super::step::Step;
    use super::*;
    use crate::rover::mecanum::Motion;

    #[test]
    fn text_heard_at_the_start_is_left_out_everywhere_and_orders_stay() {
        let started = ["eye ok heap 91k net up", "way,rest", "S"].map(str::to_owned);
        let step = Some(Step::Move(Motion::Forward));
        let body = |line, cut| Body { at: 0, step, cells: cells(line, cut), suffix: String::new() };
        let all = |cut| ["eye ok heap 87k net up", "way,ahead", "way,rest", "S"].map(|line| body(line, cut)).to_vec();
        let (bodies, coarse) = (all(Cut::Fine), all(Cut::Coarse));
        let mut heard = Heard { format: Format::Lines(End::Lf), bodies, coarse, loose: [0, 0] };
        leave_out(&mut heard, &started);
        let words: Vec<String> = heard.bodies.iter().map(Body::words).collect();
        assert_eq!(words, ["way,ahead", "way,rest", "S"]);
        assert_eq!(heard.coarse.len(), 3);
    }

    #[test]
    fn sentences_read_like_text_and_orders_do_not() {
        for line in ["eye ok heap 91k net up", "Connecting to the net", "access point is up"] {
            assert!(reads_like_text(line), "{line}");
        }
        for line in ["way,ahead", "F180", "c042 p17 drv f+030 s-065 t+000 g2 d30 #A93D.", "drive F 180"] {
            assert!(!reads_like_text(line), "{line}");
        }
    }
}
