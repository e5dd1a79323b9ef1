//! `[[move]]`, `[duty]`, `[mixer]`, `[reader]`, `[verbs]`, `[answers]`, `[sequence]`: what the frames mean.

use wheeltap_parsers::Wire;

use super::frames::Frame;
use super::walk::{Item, Table};
use crate::rover::meaning::{DutyRule, Meaning, Means, Mixer, MoveRow, Obeys, ReaderModel, Role, USUAL_BUFFER, Verb};
use crate::rover::mecanum::{Motion, signs_from, signs_text};

/// The move table.
pub fn moves(root: &Table<'_>) -> Vec<MoveRow> {
    let tables = root.tables("move");
    let mut rows: Vec<MoveRow> = Vec::new();
    for table in &tables {
        let Some(row) = one_move(table) else { continue };
        if rows.iter().any(|known| known.code == row.code) {
            table.fault("code", format!("`{}` stands twice in the move table", row.code), "Each code stands once");
        }
        rows.push(row);
    }
    rows
}

fn one_move(table: &Table<'_>) -> Option<MoveRow> {
    let code = table.item("code");
    if code.is_none() {
        table.fault("code", "the code on the wire is missing", "Write code = \"word\" or code = number");
    }
    let code = code.and_then(|item| match item.value.as_integer() {
        Some(_) => item.whole().map(|number| number.to_string()),
        None => item.text(),
    });
    let motions = Motion::ALL.map(|motion| (motion.id(), motion));
    let motion = table.word("is", &motions);
    let wheels = table.item("wheels").and_then(|item| signs(&item));
    let name = table.text("name");
    table.finish();
    let signs = match (motion, wheels) {
        (Some(motion), Some(stated)) if motion.signs() != stated => {
            let due = signs_text(motion.signs());
            table.fault(
                "wheels",
                format!("`{}` does not make a rover with X rollers move {}", signs_text(stated), motion.id()),
                format!("FL FR RL RR should be `{due}`; or leave `is` out if this row is meant to be so"),
            );
            return None;
        }
        (Some(motion), _) => motion.signs(),
        (None, Some(stated)) => stated,
        (None, None) if table.item("is").is_some() || table.item("wheels").is_some() => return None,
        (None, None) => {
            table.fault("is", "what this move does is missing", "Write `is = \"forward\"` or `wheels = \"++++\"`");
            return None;
        }
    };
    let code = code?;
    Some(MoveRow { name: name.unwrap_or_else(|| code.clone()), code, motion, signs })
}

fn signs(item: &Item<'_>) -> Option<[i32; 4]> {
    let text = item.text()?;
    let signs = signs_from(&text);
    if signs.is_none() {
        item.fault(format!("`{text}` is not four wheels"), "Write FL FR RL RR as four of + - 0, such as `-++-`");
    }
    signs
}

/// The rest of the meaning.
pub fn read(root: &Table<'_>, frames: Option<&[Frame]>, moves: Vec<MoveRow>) -> Option<Meaning> {
    let duty = root.table("duty").map_or(DutyRule { full: 100_000, persists: false, at_power_up: None }, |t| duty(&t));
    let mixer = root.table("mixer");
    let mixer = mixer.map_or(Mixer { full: 100_000, scales: true, gears: Vec::new(), rounds: false }, |t| mixer_of(&t));
    let unknown = ReaderModel { lenient: false, ignores_unknown: false, obeys: Obeys::Unknown, buffer: USUAL_BUFFER };
    let reader = root.table("reader").map_or(unknown, |t| reader_of(&t));
    let verbs = root.table("verbs").map(|table| verbs(&table)).unwrap_or_default();
    let answers = root.table("answers").map(|table| {
        let both = [table.texts("obeyed"), table.texts("refused")];
        table.finish();
        both
    });
    let sequence = root.table("sequence");
    let counts = sequence.as_ref().and_then(|table| table.whole("counts", 2..=4_294_967_296));
    let panel = sequence.as_ref().and_then(|table| table.whole("panel_counts", 2..=4_294_967_296));
    if let Some(table) = sequence {
        table.finish();
    }
    let frames = frames?;
    needed(root, frames, &moves, &verbs, reader.obeys);
    let mut kinds = [const { Vec::new() }; 2];
    for frame in frames {
        kinds[frame.wire.index()].push(frame.meaning.clone());
    }
    Some(Meaning {
        kinds,
        moves,
        duty,
        mixer,
        reader,
        verbs,
        answers: answers.unwrap_or_default(),
        sequence_counts: counts.unwrap_or_else(|| counts_of(frames, Means::Sequence)),
        panel_counts: panel.unwrap_or_else(|| counts_of(frames, Means::PanelCounter)),
    })
}

/// How far a counter counts when the file does not say: one more than the end of its range.
fn counts_of(frames: &[Frame], means: Means) -> i64 {
    let field = frames.iter().find_map(|frame| frame.meaning.field(means).and_then(|place| frame.fields.get(place)));
    field.and_then(|field| field.range).map_or(256, |(_, high)| high + 1)
}

/// Tables that the frames call for.
fn needed(root: &Table<'_>, frames: &[Frame], moves: &[MoveRow], verbs: &[(String, Verb)], obeys: Obeys) {
    let has = |means| frames.iter().any(|frame| frame.meaning.field(means).is_some());
    if has(Means::Move) && moves.is_empty() {
        root.fault("move", "a field means `move`, but the move table is empty", "Write one [[move]] for each code");
    }
    if has(Means::Move) && !moves.is_empty() && moves.iter().all(|row| row.signs != [0; 4]) {
        root.fault("move", "no move stops the wheels", "Write the rest: [[move]] with its code and is = \"rest\"");
    }
    if has(Means::Verb) && verbs.is_empty() {
        root.fault("verbs", "a field means `verb`, but no verb is described", "Write a table [verbs]");
    }
    if obeys == Obeys::DeadlineField && !has(Means::Deadline) {
        root.fault("reader", "`deadline field`, but no field means `deadline`", "Give the field means = \"deadline\"");
    }
    if !frames.iter().any(|frame| frame.wire == Wire::ToDrive && frame.meaning.role == Role::Order) {
        root.fault(
            "frame",
            "no frame on wire > has the role `order`",
            "Give the frame that moves wheels role = \"order\"",
        );
    }
}

fn duty(table: &Table<'_>) -> DutyRule {
    let full = table.thousandths("full", 1..=1_000_000_000_000).unwrap_or(100_000);
    let persists = table.yes_no("persists", false);
    let mut rule = DutyRule { full, persists, at_power_up: None };
    rule.at_power_up = table.thousandths("at_power_up", 0..=full).map(|value| rule.duty(value));
    table.finish();
    rule
}

fn mixer_of(table: &Table<'_>) -> Mixer {
    let full = table.thousandths("full", 1..=1_000_000_000).unwrap_or(100_000);
    let scales = table.word("over", &[("scale", true), ("clip", false)]).unwrap_or(true);
    let gears = table.list_thousandths("gears", 0..=1_000).unwrap_or_default();
    let rounds = table.word("rounds_to", &[("per cent", true), ("nothing", false)]).unwrap_or(false);
    table.finish();
    Mixer { full, scales, gears, rounds }
}

fn reader_of(table: &Table<'_>) -> ReaderModel {
    let lenient = table.word("numbers", &[("lenient", true), ("strict", false)]).unwrap_or(false);
    let ignores = table.word("unknown_words", &[("ignored", true), ("refused", false)]).unwrap_or(false);
    let obeys = table.item("obeys").map_or(Obeys::Unknown, |item| obeys(&item));
    let buffer = table.whole("buffer", 1..=1_000_000).map_or(USUAL_BUFFER, |bytes| bytes as u32);
    table.finish();
    ReaderModel { lenient, ignores_unknown: ignores, obeys, buffer }
}

fn obeys(item: &Item<'_>) -> Obeys {
    let Some(text) = item.text() else { return Obeys::Unknown };
    let ms = text.strip_suffix(" ms").and_then(|number| number.parse::<i64>().ok());
    match (text.as_str(), ms) {
        ("for ever", _) => Obeys::ForEver,
        ("deadline field", _) => Obeys::DeadlineField,
        (_, Some(ms)) if (1..=3_600_000).contains(&ms) => Obeys::For(ms * 1_000_000),
        _ => {
            item.fault(
                format!("`{text}` is not known here"),
                "Allowed: for ever, deadline field, or a time such as 300 ms",
            );
            Obeys::Unknown
        }
    }
}

fn verbs(table: &Table<'_>) -> Vec<(String, Verb)> {
    let names: Vec<String> = table.entries().into_iter().map(|(name, _)| name).collect();
    names.into_iter().filter_map(|name| table.word(&name, &Verb::WORDS).map(|verb| (name, verb))).collect()
}
