//! The strength of a line, in words and as JSON.

use serde_json::{Value as Json, json};

use crate::engine::words::{harmless, hex};
use crate::strength::cure::Cure;
use crate::strength::injury::Injury;
use crate::strength::{Harm, Strength};

/// In words, one string a line.
pub fn words(strength: &Strength, cure: &Cure) -> Vec<String> {
    let mut lines = vec![format!(
        "{} different frames, each injured in every small way, read as the rover file models the drive board's reader.",
        strength.frames
    )];
    if strength.left_out > 0 {
        lines.push(format!("{} more were left out.", strength.left_out));
    }
    for (injury, total) in Injury::ALL.iter().zip(strength.totals) {
        lines.push(format!(
            "{:<24} {:>6} tried: {:>6} obeyed as something else, {:>6} not obeyed, {:>6} no harm",
            injury.words(),
            total.tried,
            total.other,
            total.nothing,
            total.same
        ));
    }
    lines.push(if strength.harms.is_empty() { "No harm at all.".to_owned() } else { "Worst first:".to_owned() });
    lines.extend(strength.harms.iter().map(harm));
    lines.extend(cure_words(strength, cure));
    lines
}

fn harm(harm: &Harm) -> String {
    let (sent, came) = &harm.example;
    let (becomes, count, of) = (harm.becomes.words(), harm.count, harm.of);
    format!("    {becomes}: {count} of {of}, such as {} heard as {}", shown(sent), shown(came))
}

/// Text as text, other bytes in hex.
fn shown(bytes: &[u8]) -> String {
    let text = bytes.iter().filter(|byte| matches!(byte, b' '..=b'~' | b'\n' | b'\r')).count() * 4 >= bytes.len() * 3;
    if text { format!("`{}`", harmless(bytes)) } else { hex(bytes) }
}

fn cure_words(strength: &Strength, cure: &Cure) -> Vec<String> {
    let mut lines = vec![String::new()];
    if cure.lacks.is_empty() {
        lines.push(complete(strength));
        return lines;
    }
    lines.push("The cure, for both boards:".to_owned());
    lines.extend(cure.lacks.iter().map(|lack| format!("    {}", lack.words())));
    if !cure.golden.is_empty() {
        lines.push("Golden lines; both boards must make and take just these:".to_owned());
        lines.extend(cure.golden.iter().map(|line| format!("    {line}")));
    }
    if !cure.program.is_empty() {
        lines.push("Program part, in C; needs stdio.h:".to_owned());
        lines.extend(cure.program.lines().map(str::to_owned));
    }
    if let Some(file) = &cure.rover_file {
        lines.push("The rover file of the cured link:".to_owned());
        lines.extend(file.lines().map(str::to_owned));
    }
    lines
}

/// Each order has all that a frame can carry. A frame that is hit is still lost, a rest as well as a move.
fn complete(strength: &Strength) -> String {
    let lost: u64 = strength.totals.iter().map(|total| total.nothing).sum();
    let rest = if lost == 0 {
        String::new()
    } else {
        " An injured order is dropped, not misread: a dropped rest is made good only by its repetition or by the \
         deadline, so repeat each order at least three times within the deadline."
            .to_owned()
    };
    format!("The frame needs no cure: each order has a check, a counter and a deadline.{rest}")
}

/// As one JSON object.
pub fn json(strength: &Strength, cure: &Cure) -> Json {
    let totals = Injury::ALL.iter().zip(strength.totals).map(|(injury, total)| {
        json!({
            "injury": injury.id(),
            "tried": total.tried,
            "other": total.other,
            "nothing": total.nothing,
            "same": total.same,
        })
    });
    let harms = strength.harms.iter().map(|harm| {
        let bytes = |bytes: &[u8]| hex(bytes).replace(' ', "").to_lowercase();
        json!({
            "becomes": harm.becomes.id(),
            "says": harm.becomes.words(),
            "count": harm.count,
            "of": harm.of,
            "sent_hex": bytes(&harm.example.0),
            "came_hex": bytes(&harm.example.1),
        })
    });
    json!({
        "kind": "strength",
        "frames": strength.frames,
        "left_out": strength.left_out,
        "totals": totals.collect::<Vec<_>>(),
        "harms": harms.collect::<Vec<_>>(),
        "lacks": cure.lacks.iter().map(|lack| lack.words()).collect::<Vec<_>>(),
        "golden": cure.golden,
        "program": cure.program,
        "rover_file": cure.rover_file,
    })
}
