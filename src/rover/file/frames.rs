//! The `[[frame]]` tables: layout and fields.

use wheeltap_parsers::{Field, Part, Wire};

use super::fields::fields;
use super::layout;
use super::walk::{Item, Table};
use crate::rover::meaning::{KindMeaning, Role};

/// A frame as the file states it.
pub struct Frame {
    pub name: String,
    pub wire: Wire,
    pub parts: Vec<Part>,
    pub fields: Vec<Field>,
    pub meaning: KindMeaning,
    /// True for `line = `, false for `bytes = `.
    pub text: bool,
    /// False when the frame has `check = "none"`.
    pub checked: bool,
    /// Full key, for faults found later.
    pub key: String,
    pub span: std::ops::Range<usize>,
}

/// The most fields one frame may have.
pub const MOST_FIELDS: usize = 16;

/// All frames; `None` when one of them cannot be used.
pub fn read(root: &Table<'_>) -> Option<Vec<Frame>> {
    let tables = root.tables("frame");
    if tables.is_empty() {
        root.fault("frame", "no frame is described", "Write at least one [[frame]]");
    }
    // All are read before any is given up, so that a fault in one hides none in the next.
    let read: Vec<Option<Frame>> = tables.iter().map(one).collect();
    let frames: Option<Vec<Frame>> = read.into_iter().collect();
    frames.filter(|frames| !frames.is_empty())
}

fn one(table: &Table<'_>) -> Option<Frame> {
    let name = table.need_text("name", "Write a name for this frame");
    let wire = table.need_word("wire", &[(">", Wire::ToDrive), ("<", Wire::FromDrive)]);
    let role = table.need_word("role", &Role::WORDS);
    let checked = table.word("check", &[("none", false), ("usual", true)]).unwrap_or(true);
    let (layout, text) = match (table.item("line"), table.item("bytes")) {
        (Some(line), None) => (Some(line), true),
        (None, Some(bytes)) => (Some(bytes), false),
        _ => {
            table.fault("line", "one layout is due", "Write either `line = \"...\"` or `bytes = \"...\"`");
            (None, true)
        }
    };
    let mut names = Vec::new();
    let any_order = table.item("any_order");
    let parts = layout.and_then(|layout| match any_order {
        Some(between) => layout::any_order(&layout, &between, text, &mut names),
        None => layout::parts(&layout, &layout.text()?, text, &mut names),
    });
    let fields = fields(table, &mut names, text);
    table.finish();
    let (fields, means) = fields?;
    Some(Frame {
        name: name?,
        wire: wire?,
        parts: parts?,
        fields,
        meaning: KindMeaning { role: role?, fields: means },
        text,
        checked,
        key: table.key.clone(),
        span: table.span.clone(),
    })
}

/// Bytes from hex pairs parted by blanks, such as `A7 3C`.
pub fn hex_bytes(item: &Item<'_>, text: &str) -> Option<Vec<u8>> {
    let bytes: Option<Vec<u8>> = text
        .split_whitespace()
        .map(|pair| u8::from_str_radix(pair, 16).ok().filter(|_| pair.len() == 2 && !pair.starts_with('+')))
        .collect();
    if bytes.is_none() {
        item.fault(format!("`{}` is not hex bytes", text.trim()), "Write bytes as pairs of hex digits, such as A7 3C");
    }
    bytes
}
