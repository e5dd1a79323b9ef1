//! `[framing]`: how frames are told apart on the wire.

use wheeltap_parsers::{Check, Framing};

use super::frames::hex_bytes;
use super::walk::Table;

/// The framing as the file states it.
pub struct Stated {
    pub framing: Framing,
    /// The longest frame in bytes.
    pub longest: usize,
    /// In words, for a person.
    pub words: String,
}

#[derive(Clone, Copy)]
enum Sort {
    Lines,
    Markers,
    Cobs,
    Slip,
    Stuffed,
    Fixed,
    SyncLength,
}

const SORTS: [(&str, Sort); 7] = [
    ("lines", Sort::Lines),
    ("markers", Sort::Markers),
    ("cobs", Sort::Cobs),
    ("slip", Sort::Slip),
    ("stuffed", Sort::Stuffed),
    ("fixed length", Sort::Fixed),
    ("sync and length", Sort::SyncLength),
];

/// Reads the table; the length of the check says how far a stated length reaches. Faults go to the table's list.
pub fn read(table: &Table<'_>, check: &Check) -> Option<Stated> {
    let sort = table.need_word("kind", &SORTS);
    let longest = table.whole("longest", 2..=1_048_576).unwrap_or(1024) as usize;
    let plain = |framing, words: &str| Some((framing, words.to_owned()));
    let built = sort.and_then(|sort| match sort {
        Sort::Lines => lines(table),
        Sort::Markers => markers(table),
        Sort::Cobs => plain(Framing::Cobs, "COBS frames ended by a zero byte"),
        Sort::Slip => plain(Framing::Slip, "SLIP frames (RFC 1055) ended by C0"),
        Sort::Stuffed => plain(Framing::Stuffed, "stuffed frames (RFC 1662) between bytes 7E"),
        Sort::Fixed => fixed(table),
        Sort::SyncLength => sync_length(table, check),
    });
    table.finish();
    built.map(|(framing, words)| Stated { framing, longest, words })
}

fn lines(table: &Table<'_>) -> Option<(Framing, String)> {
    let allowed = "Write LF, CR, CR LF, the very text, or one byte such as 0x03";
    if table.item("end").is_none() {
        table.fault("end", "the end mark is missing", allowed);
    }
    let start = mark(table, "start").map(|(start, _)| start).unwrap_or_default();
    let (end, words) = mark(table, "end")?;
    if end.is_empty() {
        table.fault("end", "the end mark is empty", allowed);
        return None;
    }
    Some((Framing::Lines { start, end }, format!("text lines ended by {words}")))
}

/// A mark as text or as one byte, and how it is named.
fn mark(table: &Table<'_>, key: &str) -> Option<(Vec<u8>, String)> {
    let item = table.item(key)?;
    if item.value.as_integer().is_some() {
        let byte = table.whole(key, 0..=255)? as u8;
        return Some((vec![byte], format!("byte {byte:02X}")));
    }
    let text = item.text()?;
    let bytes = match text.as_str() {
        "LF" => b"\n".to_vec(),
        "CR" => b"\r".to_vec(),
        "CR LF" => b"\r\n".to_vec(),
        other => other.as_bytes().to_vec(),
    };
    Some((bytes, text.escape_debug().to_string()))
}

fn markers(table: &Table<'_>) -> Option<(Framing, String)> {
    let first = table.whole("first_marker", 1..=255);
    if table.item("first_marker").is_none() {
        table.fault("first_marker", "the smallest marker byte is missing", "Write first_marker = 0xF0 or another byte");
    }
    let first = first? as u8;
    Some((Framing::Markers { first }, format!("frames between marker bytes {first:02X} to FF")))
}

fn fixed(table: &Table<'_>) -> Option<(Framing, String)> {
    let len = table.whole("length", 1..=1_048_576);
    if table.item("length").is_none() {
        table.fault(
            "length",
            "the length of a frame is missing",
            "Write length = 8 or another count of bytes, sync bytes included",
        );
    }
    let sync = if table.item("sync").is_some() { sync(table)? } else { Vec::new() };
    let len = len? as usize;
    let behind = if sync.is_empty() { String::new() } else { format!(" that begin with {}", hex_words(&sync)) };
    Some((Framing::Fixed { sync, len }, format!("frames of {len} bytes{behind}")))
}

fn sync_length(table: &Table<'_>, check: &Check) -> Option<(Framing, String)> {
    let sync = sync(table)?;
    let all = sync.len() + 1 + check.len();
    let counts = [("payload", all), ("payload and check", all - check.len()), ("everything", 0)];
    let beyond = table.word("length_counts", &counts).unwrap_or(all);
    let words = format!("sync bytes {}, a length", hex_words(&sync));
    Some((Framing::SyncLength { sync, beyond }, words))
}

fn sync(table: &Table<'_>) -> Option<Vec<u8>> {
    let item = table.item("sync");
    if item.is_none() {
        table.fault("sync", "the sync bytes are missing", "Write sync = \"A7 3C\" or other bytes in hex");
    }
    let item = item?;
    let sync = hex_bytes(&item, &item.text()?)?;
    if sync.is_empty() {
        item.fault("no sync bytes", "Write at least one byte in hex");
        return None;
    }
    Some(sync)
}

fn hex_words(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02X}")).collect::<Vec<_>>().join(" ")
}
