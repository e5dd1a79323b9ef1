//! Files of observations: what a person saw, one JSON object a line. The schema is `observation` in
//! `tests/golden/decode.schema.json`.
//!
//! ```text
//! {"kind":"observation","test":"tape"}
//! {"kind":"observation","test":"stand","move":"forward","duty":"high","wheels":{"FL":"forward","FR":"forward","RL":"forward","RR":"backward"}}
//! {"kind":"observation","test":"floor","move":"left","duty":"low","went":"left","turned":"none"}
//! {"kind":"observation","test":"single-wheel","ordered":"RR","sense":"forward","duty":"high","wheels":{"RR":"backward"}}
//! {"kind":"observation","test":"look","rollers":{"FL":"as-drawn","FR":"as-drawn","RL":"as-drawn","RR":"as-drawn"}}
//! {"kind":"observation","test":"correction","ahead":"clockwise","left":"counter-clockwise"}
//! {"kind":"exchange","what":"plugs","of":["FL","RR"]}
//! ```
//!
//! `move` is a code or a name of the move table, or the motion's own word. A wheel that hums and does not turn is
//! still.

mod strict;

use serde_json::{Map, Value as Json};

use crate::diagnosis::action::Action;
use crate::diagnosis::body::{Turn, Way};
use crate::diagnosis::observation::Observation;
use crate::diagnosis::rollers::Rollers;
use crate::diagnosis::test::{Order, Spin};
use crate::diagnosis::wheel_state::DutyLevel;
use crate::rover::meaning::MoveRow;
use crate::rover::mecanum::Motion;
use crate::rover::wheels::Wheel;
use strict::Strict;

/// One line of such a file.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Said {
    /// Something was seen.
    Seen(Observation),
    /// Something was exchanged; what is seen later is seen after it.
    Exchanged(Action),
}

/// Reads one line. The error says what was found and what is allowed.
pub fn read(line: &str, rows: &[MoveRow]) -> Result<Said, String> {
    let Strict(json) = serde_json::from_str(line).map_err(|error| no_object(line, &error))?;
    let object = json.as_object().ok_or("this is no JSON object; write {\"kind\":\"observation\", ...}")?;
    let fields = Fields(object);
    match fields.word("kind", &["observation", "exchange"])? {
        0 => observation(&fields, rows).map(Said::Seen),
        _ => exchange(&fields).map(Said::Exchanged),
    }
}

/// What is wrong with a line that is no JSON: its column, and what to do.
fn no_object(line: &str, error: &serde_json::Error) -> String {
    if line.starts_with('\u{feff}') {
        return "a byte-order mark stands before it. Save the file as plain UTF-8.".to_owned();
    }
    let says = error.to_string();
    let says = says.split(" at line ").next().unwrap_or_default();
    format!(
        "this is no JSON object ({says}, column {}). Write {{\"kind\":\"observation\", ...}}, one a line.",
        error.column()
    )
}

fn observation(fields: &Fields<'_>, rows: &[MoveRow]) -> Result<Observation, String> {
    match fields.word("test", &["stand", "floor", "single-wheel", "look", "correction", "tape"])? {
        0 => {
            fields.only(&["kind", "test", "move", "duty", "wheels"])?;
            Ok(Observation::Stand(Order::Row(row(fields, rows)?), duty(fields)?, wheels(fields)?))
        }
        1 => {
            fields.only(&["kind", "test", "move", "duty", "went", "turned"])?;
            Ok(Observation::Floor(row(fields, rows)?, duty(fields)?, went(fields)?, turn(fields, "turned")?))
        }
        2 => {
            fields.only(&["kind", "test", "ordered", "sense", "duty", "wheels"])?;
            let spin = [Spin::Forward, Spin::Backward][fields.word("sense", &["forward", "backward"])?];
            let order = Order::OneWheel(fields.wheel("ordered")?, spin);
            Ok(Observation::Stand(order, duty(fields)?, wheels(fields)?))
        }
        3 => {
            fields.only(&["kind", "test", "rollers"])?;
            look(fields)
        }
        4 => {
            fields.only(&["kind", "test", "ahead", "left"])?;
            Ok(Observation::Correction(turn(fields, "ahead")?, turn(fields, "left")?))
        }
        _ => {
            fields.only(&["kind", "test"])?;
            Ok(Observation::Tape)
        }
    }
}

fn exchange(fields: &Fields<'_>) -> Result<Action, String> {
    fields.only(&["kind", "what", "of"])?;
    let what = fields.word("what", &["leads", "plugs", "wheels"])?;
    let named: Option<Vec<Wheel>> = fields
        .get("of")?
        .as_array()
        .and_then(|list| list.iter().map(|one| one.as_str().and_then(wheel_named)).collect());
    match (what, named.as_deref()) {
        (0, Some([one])) => Ok(Action::Leads(*one)),
        (1, Some([one, other])) if one != other => Ok(Action::Plugs(*one.min(other), *one.max(other))),
        (2, Some([one, other])) if one != other => Ok(Action::Wheels(*one.min(other), *one.max(other))),
        _ => Err("`of` names one wheel for leads, two different ones for plugs or wheels: FL, FR, RL, RR".to_owned()),
    }
}

/// The row that a person means by this word: its code, its name, or the motion itself.
pub fn row_named(word: &str, rows: &[MoveRow]) -> Option<usize> {
    if rows.is_empty() {
        return Motion::ALL.iter().position(|motion| motion.id() == word);
    }
    let by = |hit: &dyn Fn(&MoveRow) -> bool| rows.iter().position(hit);
    by(&|row| row.code == word)
        .or_else(|| by(&|row| row.name == word))
        .or_else(|| by(&|row| row.motion.is_some_and(|motion| motion.id() == word)))
}

fn wheel_named(word: &str) -> Option<Wheel> {
    Wheel::ALL.into_iter().find(|wheel| wheel.name() == word)
}

fn row(fields: &Fields<'_>, rows: &[MoveRow]) -> Result<usize, String> {
    let word = fields.text("move")?;
    row_named(word, rows).ok_or_else(|| {
        let known: Vec<&str> = if rows.is_empty() {
            Motion::ALL.map(Motion::id).to_vec()
        } else {
            rows.iter().map(|row| row.code.as_str()).collect()
        };
        format!("`move` is `{word}`, which the move table does not have; known: {}", known.join(", "))
    })
}

fn duty(fields: &Fields<'_>) -> Result<DutyLevel, String> {
    Ok(DutyLevel::ALL[fields.word("duty", &["low", "high"])?])
}

fn wheels(fields: &Fields<'_>) -> Result<[Option<i32>; 4], String> {
    let object = fields.object("wheels")?;
    let inner = Fields(object);
    inner.only(&Wheel::ALL.map(Wheel::name))?;
    let mut seen = [None; 4];
    for wheel in Wheel::ALL {
        if object.contains_key(wheel.name()) {
            let words = ["backward", "still", "forward", "hums", "not-looked"];
            let turn = [Some(-1), Some(0), Some(1), Some(0), None];
            seen[wheel.index()] = turn[inner.word(wheel.name(), &words)?];
        }
    }
    Ok(seen)
}

fn look(fields: &Fields<'_>) -> Result<Observation, String> {
    let inner = Fields(fields.object("rollers")?);
    inner.only(&Wheel::ALL.map(Wheel::name))?;
    let mut wrong = Vec::new();
    for wheel in Wheel::ALL {
        if inner.word(wheel.name(), &["as-drawn", "other-hand"])? == 1 {
            wrong.push(wheel);
        }
    }
    Ok(Observation::Look(Rollers::wrong_at(&wrong)))
}

/// The words for where a rover went, in the order of [`went_ways`].
pub const WENT: [&str; 10] = [
    "forward",
    "backward",
    "left",
    "right",
    "forward-left",
    "forward-right",
    "backward-left",
    "backward-right",
    "none",
    "not-looked",
];

/// What each of [`WENT`] means.
pub const fn went_ways() -> [Option<Way>; 10] {
    const fn way(ahead: i32, left: i32) -> Way {
        Way { ahead, left }
    }
    let ways = [(1, 0), (-1, 0), (0, 1), (0, -1), (1, 1), (1, -1), (-1, 1), (-1, -1), (0, 0)];
    let mut all = [None; WENT.len()];
    let mut place = 0;
    while place < ways.len() {
        all[place] = Some(way(ways[place].0, ways[place].1));
        place += 1;
    }
    all
}

fn went(fields: &Fields<'_>) -> Result<Option<Way>, String> {
    Ok(went_ways()[fields.word("went", &WENT)?])
}

fn turn(fields: &Fields<'_>, key: &str) -> Result<Option<Turn>, String> {
    let turns = [Some(Turn::Clockwise), Some(Turn::CounterClockwise), Some(Turn::None), None];
    Ok(turns[fields.word(key, &["clockwise", "counter-clockwise", "none", "not-looked"])?])
}

/// The keys of one object.
struct Fields<'a>(&'a Map<String, Json>);

impl<'a> Fields<'a> {
    fn get(&self, key: &str) -> Result<&'a Json, String> {
        self.0.get(key).ok_or_else(|| format!("`{key}` is missing"))
    }

    fn text(&self, key: &str) -> Result<&'a str, String> {
        self.get(key)?.as_str().ok_or_else(|| format!("`{key}` is no text"))
    }

    fn object(&self, key: &str) -> Result<&'a Map<String, Json>, String> {
        self.get(key)?.as_object().ok_or_else(|| format!("`{key}` is no object"))
    }

    fn wheel(&self, key: &str) -> Result<Wheel, String> {
        let word = self.text(key)?;
        wheel_named(word).ok_or_else(|| format!("`{key}` is `{word}`; allowed: FL, FR, RL, RR"))
    }

    /// The place of the key's word among `words`.
    fn word(&self, key: &str, words: &[&str]) -> Result<usize, String> {
        let word = self.text(key)?;
        let place = words.iter().position(|known| *known == word);
        place.ok_or_else(|| format!("`{key}` is `{word}`; allowed: {}", words.join(", ")))
    }

    fn only(&self, known: &[&str]) -> Result<(), String> {
        match self.0.keys().find(|key| !known.contains(&key.as_str())) {
            Some(key) => Err(format!("`{key}` is not known here; allowed: {}", known.join(", "))),
            None => Ok(()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_no_object_is_told_with_its_column_and_what_to_do() {
        let said = |line: &str| read(line, &[]).unwrap_err();
        let twice = said(
            r#"{"kind":"observation","test":"stand","move":"forward","duty":"low","wheels":{"FL":"still","FL":"forward"}}"#,
        );
        assert!(twice.contains("`FL` stands twice"), "{twice}");
        assert!(said("\u{feff}{\"kind\":\"observation\",\"test\":\"tape\"}").contains("byte-order mark"));
        let cut = said(r#"{"kind":"observation""#);
        assert!(cut.contains("column 21") && !cut.contains("line 1") && cut.contains("Write {"), "{cut}");
    }

    #[test]
    fn each_sort_is_read() {
        let lines = [
            r#"{"kind":"observation","test":"tape"}"#,
            r#"{"kind":"observation","test":"stand","move":"left","duty":"high","wheels":{"FL":"backward","FR":"hums"}}"#,
            r#"{"kind":"observation","test":"floor","move":"forward","duty":"low","went":"forward-left","turned":"clockwise"}"#,
            r#"{"kind":"observation","test":"single-wheel","ordered":"RR","sense":"forward","duty":"high","wheels":{"RR":"backward"}}"#,
            r#"{"kind":"observation","test":"look","rollers":{"FL":"as-drawn","FR":"as-drawn","RL":"as-drawn","RR":"other-hand"}}"#,
            r#"{"kind":"observation","test":"correction","ahead":"clockwise","left":"not-looked"}"#,
            r#"{"kind":"exchange","what":"plugs","of":["RR","FL"]}"#,
        ];
        let due = [
            Said::Seen(Observation::Tape),
            Said::Seen(Observation::Stand(Order::Row(2), DutyLevel::High, [Some(-1), Some(0), None, None])),
            Said::Seen(Observation::Floor(0, DutyLevel::Low, Some(Way { ahead: 1, left: 1 }), Some(Turn::Clockwise))),
            Said::Seen(Observation::Stand(
                Order::OneWheel(Wheel::RR, Spin::Forward),
                DutyLevel::High,
                [None, None, None, Some(-1)],
            )),
            Said::Seen(Observation::Look(Rollers::wrong_at(&[Wheel::RR]))),
            Said::Seen(Observation::Correction(Some(Turn::Clockwise), None)),
            Said::Exchanged(Action::Plugs(Wheel::FL, Wheel::RR)),
        ];
        for (line, due) in lines.iter().zip(due) {
            assert_eq!(read(line, &[]), Ok(due), "{line}");
        }
    }

    #[test]
    fn what_is_wrong_is_said_with_what_is_allowed() {
        let wrong = [
            ("nonsense", "no JSON"),
            (r#"{"kind":"observation","test":"stand","move":"up","duty":"high","wheels":{}}"#, "known: forward"),
            (r#"{"kind":"observation","test":"stand","move":"left","duty":"most","wheels":{}}"#, "allowed: low, high"),
            (r#"{"kind":"observation","test":"tape","x":1}"#, "`x` is not known"),
            (r#"{"kind":"exchange","what":"leads","of":["FL","FR"]}"#, "one wheel for leads"),
            (r#"{"kind":"observation","test":"look","rollers":{"FL":"as-drawn"}}"#, "`FR` is missing"),
        ];
        for (line, due) in wrong {
            let error = read(line, &[]).err().unwrap_or_default();
            assert!(error.contains(due), "{line}: {error}");
        }
    }
}
