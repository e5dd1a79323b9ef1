//! `[check]` and `[[start_up]]`, and the way from the file's frames to the profiles the decoder uses.

use std::ops::Range;
use std::sync::Arc;

use wheeltap_parsers::check::{Crc, Sum, Written};
use wheeltap_parsers::foreign::ResetCause;
use wheeltap_parsers::{Check, Framing, Kind, Letters, Part, Profile, Read, StartUpText, Wire};

use super::fields::letters;
use super::frames::Frame;
use super::framing::{self, Stated};
use super::walk::Table;
use crate::rover::meaning::{Meaning, Means};

/// Profiles by wire, and the link in words.
pub struct Profiles {
    pub by_wire: [Option<Arc<Profile>>; 2],
    pub words: String,
}

/// A certain silence that ends whatever was begun: far longer than any pause inside a frame, far shorter than a
/// person's next press. Common practice, no source.
const IDLE: i64 = 100_000_000;

/// `[framing]`, `[check]` and `[[start_up]]` as the file states them.
pub struct Format {
    framing: Option<Stated>,
    /// `None` where its table has a fault: nothing more can be said of it.
    check: Option<Check>,
    check_words: String,
    start_up: Vec<StartUpText>,
}

/// Reads the tables. Faults go to the root's list.
pub fn read(root: &Table<'_>) -> Format {
    let table = root.need_table("framing", "Write a table [framing] with `kind`");
    let stated = root.table("check").map(|table| check(&table));
    let (check, covers_mark, check_words) =
        stated.unwrap_or_else(|| (Some(Check::none()), false, "no check".to_owned()));
    let mut check = check;
    let framing = table.and_then(|table| framing::read(&table, check.as_ref().unwrap_or(&Check::none())));
    if let Some(check) = check.as_mut().filter(|_| covers_mark) {
        cover_mark(root, check, framing.as_ref());
    }
    Format { framing, check, check_words, start_up: start_up(root) }
}

/// Builds the profiles from frames and format. Faults go to the root's list.
pub fn profiles(root: &Table<'_>, format: Format, frames: Vec<Frame>, meaning: &Meaning) -> Profiles {
    let Format { framing, check, check_words, start_up } = format;
    let Some(check) = check else { return Profiles { by_wire: [None, None], words: String::new() } };
    let mut by_wire = [const { Vec::new() }; 2];
    let places: Vec<(String, String, Range<usize>)> =
        frames.iter().map(|frame| (frame.name.clone(), frame.key.clone(), frame.span.clone())).collect();
    for frame in frames {
        consistent(root, &frame, &check, framing.as_ref().map(|found| &found.framing));
        by_wire[frame.wire.index()].push(kind(frame, &check, meaning));
    }
    let Some(Stated { framing, longest, words: framing_words }) = framing else {
        return Profiles { by_wire: [None, None], words: String::new() };
    };
    let build = |wire: Wire| {
        let kinds = std::mem::take(&mut by_wire[wire.index()]);
        if kinds.is_empty() {
            return None;
        }
        let (framing, start_up) = (framing.clone(), start_up.clone());
        let profile = Profile { framing, kinds, longest, start_up, idle: IDLE };
        for fault in profile.faults() {
            let allowed = "Change this frame, the framing or the check so that they fit";
            match places
                .iter()
                .find(|(name, ..)| fault.strip_prefix(name.as_str()).is_some_and(|f| f.starts_with(": ")))
            {
                Some((_, key, span)) => root.faults.add(span, key, fault, allowed),
                None => root.fault("framing", fault, allowed),
            }
        }
        Some(Arc::new(profile))
    };
    Profiles { by_wire: Wire::BOTH.map(build), words: format!("{framing_words}, {check_words}") }
}

fn kind(frame: Frame, check: &Check, meaning: &Meaning) -> Kind {
    let mut fields = frame.fields;
    for (field, means) in fields.iter_mut().zip(&frame.meaning.fields) {
        let words = || match means {
            Means::Move => meaning.moves.iter().map(|row| row.code.clone()).collect(),
            Means::Verb => meaning.verbs.iter().map(|(word, _)| word.clone()).collect(),
            _ => Vec::new(),
        };
        if field.read == Read::Word && field.words.is_empty() {
            field.words = words();
        }
    }
    let check = if frame.checked { check.clone() } else { Check::none() };
    Kind { name: frame.name, parts: frame.parts, fields, check }
}

/// Layout, framing and check must fit each other.
fn consistent(root: &Table<'_>, frame: &Frame, check: &Check, framing: Option<&Framing>) {
    let fault = |found: &str, allowed: &str| root.faults.add(&frame.span, &frame.key, found, allowed);
    let has_check = frame.parts.contains(&Part::Check);
    let due = frame.checked && check.sum != Sum::None;
    if due && !has_check {
        fault("<check> stands nowhere in the layout", "Write <check> where it stands, or check = \"none\"");
    } else if !due && has_check {
        fault("<check> stands in the layout of a frame without a check", "Take <check> out, or describe it in [check]");
    }
    let lines = matches!(framing, Some(Framing::Lines { .. }));
    if lines && !frame.text {
        fault("the layout does not fit the framing", "Text lines need `line = \"...\"`");
    }
}

/// The check covers the start mark or the sync bytes too.
fn cover_mark(root: &Table<'_>, check: &mut Check, framing: Option<&Stated>) {
    let mark = match framing.map(|stated| &stated.framing) {
        Some(Framing::Lines { start, .. }) => start.clone(),
        Some(Framing::SyncLength { sync, .. } | Framing::Fixed { sync, .. }) => sync.clone(),
        _ => Vec::new(),
    };
    if framing.is_some() && mark.is_empty() {
        root.fault("check", "there is no start mark and there are no sync bytes to cover", "Take covers_mark out");
    }
    check.mark = mark;
}

fn check(table: &Table<'_>) -> (Option<Check>, bool, String) {
    #[derive(Clone, Copy)]
    enum Sort {
        None,
        Xor,
        Sum,
        Lrc,
        Crc,
    }
    let sorts =
        [("none", Sort::None), ("xor-8", Sort::Xor), ("sum-8", Sort::Sum), ("lrc-8", Sort::Lrc), ("crc", Sort::Crc)];
    let sort = table.need_word("kind", &sorts);
    let written = [
        ("big endian", Written::BigEndian),
        ("little endian", Written::LittleEndian),
        ("hex digits", Written::HexDigits),
        ("nibbles", Written::Nibbles),
    ];
    let written = table.word("written", &written).unwrap_or(Written::BigEndian);
    let written = match (letters(table), written) {
        (Some(Letters::Upper), Written::HexDigits) => Written::UpperHexDigits,
        (Some(Letters::Lower), Written::HexDigits) => Written::LowerHexDigits,
        (None, written) | (Some(Letters::Either), written @ Written::HexDigits) => written,
        (Some(_), written) => {
            table.fault("letters", "this check has no hex digits", "Take it out, or write written = \"hex digits\"");
            written
        }
    };
    let skip = table.whole("skip", 0..=1024).unwrap_or(0) as usize;
    let leave_out = table.whole("leave_out", 0..=1024).unwrap_or(0) as usize;
    let covers_mark = table.yes_no("covers_mark", false);
    let (sum, words) = match sort {
        None => (None, String::new()),
        Some(Sort::None) => (Some(Sum::None), "no check".to_owned()),
        Some(Sort::Xor) => (Some(Sum::Xor8), "exclusive-or check".to_owned()),
        Some(Sort::Sum) => (Some(Sum::Sum8), "8-bit sum check".to_owned()),
        Some(Sort::Lrc) => (Some(Sum::Lrc8), "8-bit LRC check".to_owned()),
        Some(Sort::Crc) => crc(table),
    };
    table.finish();
    (sum.map(|sum| Check { sum, written, skip, leave_out, mark: Vec::new() }), covers_mark, words)
}

fn crc(table: &Table<'_>) -> (Option<Sum>, String) {
    let all = 0..=i64::from(u32::MAX);
    let width = table.whole("width", 1..=32);
    let polynomial = table.whole("polynomial", all.clone());
    for (key, value) in [("width", width), ("polynomial", polynomial)] {
        if value.is_none() && table.item(key).is_none() {
            table.fault(key, "a CRC needs it", "Write `width` (1 to 32) and `polynomial`, such as 16 and 0x1021");
        }
    }
    let start = table.whole("start", all.clone()).unwrap_or(0) as u32;
    let reflect = table.yes_no("reflect", false);
    let reflect_out = table.yes_no("reflect_out", reflect);
    let final_xor = table.whole("final_xor", all).unwrap_or(0) as u32;
    let (Some(width), Some(polynomial)) = (width, polynomial) else { return (None, String::new()) };
    match Crc::new(width as u8, polynomial as u32, start, reflect, reflect_out, final_xor) {
        Ok(crc) => (Some(Sum::Crc(crc)), format!("CRC-{width} check")),
        Err(why) => {
            table.fault("polynomial", why, "Write the polynomial without its highest term, such as 0x1021");
            (None, String::new())
        }
    }
}

fn start_up(root: &Table<'_>) -> Vec<StartUpText> {
    root.tables("start_up").iter().filter_map(one_start_up).collect()
}

fn one_start_up(table: &Table<'_>) -> Option<StartUpText> {
    let boards = [("command board", "command board"), ("drive board", "drive board")];
    let board = table.need_word("board", &boards);
    let has = table.need_text("has", "Write the text by which this line is known");
    if has.as_deref().is_some_and(|has| has.len() < 4) {
        table.fault("has", "fewer than four characters", "Write more of the text, so that no frame can look like it");
    }
    let after = table.text("reason_after").map(String::into_bytes);
    let before = table.text("reason_before").unwrap_or_default().into_bytes();
    let mut reasons = Vec::new();
    if let Some(words) = table.table("reasons") {
        for (word, item) in words.entries() {
            let Some(id) = item.text() else { continue };
            match ResetCause::from_id(&id) {
                Some(cause) => reasons.push((word, cause)),
                None => item.fault(
                    format!("`{id}` is not known here"),
                    "Allowed: power, external, brown-out, watchdog, software, sleep, unknown",
                ),
            }
        }
    }
    table.finish();
    let reason_between = after.map(|after| (after, before));
    Some(StartUpText { has: has?.into_bytes(), board: board?.to_owned(), reason_between, reasons })
}
