//! A wheel sheet in words and as JSON: which rows of the move table are proven, which only claimed, what was seen.

use serde_json::{Map, Value as Json, json};

use crate::diagnosis::move_table::Moves;
use crate::diagnosis::sheet::{Heading, Proof, Sheet, write};
use crate::rover::wheels::Wheel;

/// The sheet as lines: heading, one line a row of the table, then every remark as it stands in the session.
pub fn lines(sheet: &Sheet, moves: &Moves) -> Vec<String> {
    let mut lines = vec![heading_words(&sheet.heading)];
    let width = (0..moves.count()).map(|row| moves.code(row).chars().count()).max().unwrap_or(0);
    lines.extend((0..moves.count()).map(|row| {
        let proof = sheet.proof(row, moves);
        format!("  {:<width$}  {}", moves.code(row), proof_words(proof, moves, row))
    }));
    lines.extend(sheet.said.iter().map(|entry| format!("  {}", write(&entry.remark, moves))));
    lines
}

/// What is known of a row: `proven`, `claimed`, or how its wheels were seen and should be.
pub fn proof_words(proof: Proof, moves: &Moves, row: usize) -> String {
    let Proof::Otherwise(seen) = proof else { return proof.word().to_owned() };
    let wrong = Wheel::ALL.into_iter().filter_map(|wheel| {
        let (seen, should) = (seen[wheel.index()], moves.signs(row)[wheel.index()]);
        let differs = seen.turn().is_some_and(|turn| turn != should);
        differs.then(|| format!("{} {} where {} is meant", wheel.name(), seen.word(), turn_word(should)))
    });
    format!("{}: {}", proof.word(), wrong.collect::<Vec<_>>().join(", "))
}

const fn turn_word(turn: i32) -> &'static str {
    match turn {
        1 => "forward",
        0 => "still",
        _ => "backward",
    }
}

fn heading_words(heading: &Heading) -> String {
    let or = |text: &str, none: &str| if text.is_empty() { none.to_owned() } else { text.to_owned() };
    let change = if heading.change.is_empty() { String::new() } else { format!("; made after: {}", heading.change) };
    format!(
        "Wheel sheet of {}, rover file version {}, firmware {}, {} tape{change}",
        or(&heading.rover, "a rover without a file"),
        or(&heading.version, "not stated"),
        or(&heading.firmware, "not heard"),
        if heading.tape { "with" } else { "without" },
    )
}

/// The sheet as one JSON object.
pub fn json(sheet: &Sheet, moves: &Moves) -> Json {
    let rows = (0..moves.count()).map(|row| {
        let proof = sheet.proof(row, moves);
        let mut object = Map::new();
        object.insert("code".to_owned(), json!(moves.code(row)));
        object.insert("state".to_owned(), json!(proof.word()));
        if let Some(seen) = proof.seen() {
            let wheels: Map<String, Json> =
                Wheel::ALL.iter().map(|wheel| (wheel.name().to_owned(), json!(seen[wheel.index()].word()))).collect();
            object.insert("wheels".to_owned(), Json::Object(wheels));
        }
        Json::Object(object)
    });
    let Heading { tape, rover, version, firmware, change } = &sheet.heading;
    json!({
        "tape": tape,
        "rover": rover,
        "version": version,
        "firmware": firmware,
        "change": change,
        "rows": rows.collect::<Vec<_>>(),
        "remarks": sheet.said.iter().map(|entry| write(&entry.remark, moves)).collect::<Vec<_>>(),
    })
}
