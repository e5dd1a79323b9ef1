//! One line of a plain log: its keys checked, each fault naming its key.

use serde_json::{Map, Value};
use wheeltap_parsers::Wire;

use crate::session::line::LARGEST_US;

/// What a line says.
#[derive(Debug, Default, PartialEq, Eq)]
pub(super) struct PlainLine {
    pub(super) latency_us: Option<i64>,
    pub(super) rate: Option<u32>,
    pub(super) entry: Option<Entry>,
}

/// One read.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct Entry {
    pub(super) t_us: i64,
    pub(super) e_us: Option<i64>,
    pub(super) wire: Wire,
    pub(super) bytes: Vec<u8>,
}

impl PlainLine {
    /// Reads one line. `first`: the keys of the head may stand in it.
    pub(super) fn read(text: &[u8], first: bool) -> Result<Self, String> {
        let value: Value = serde_json::from_slice(text).map_err(|error| {
            format!("not JSON ({error}). One object a line, such as {{\"t_us\":1528,\"wire\":\">\",\"hex\":\"41\"}}")
        })?;
        let Value::Object(keys) = value else { return Err("not a JSON object".to_owned()) };
        known_keys(&keys, first)?;
        let mut line = Self { latency_us: time(&keys, "latency_us", 0)?, rate: rate(&keys)?, entry: None };
        let head_only = first && !["t_us", "e_us", "wire", "hex"].iter().any(|key| keys.contains_key(*key));
        if !head_only {
            line.entry = Some(Entry::read(&keys)?);
        }
        Ok(line)
    }

    /// The first line.
    pub(super) fn head(latency_us: i64, rate: Option<u32>) -> String {
        let rate = rate.map_or_else(String::new, |rate| format!(",\"rate\":{rate}"));
        format!("{{\"latency_us\":{latency_us}{rate}}}")
    }

    /// One read as a line.
    pub(super) fn text(t_us: i64, e_us: i64, wire: Wire, bytes: &[u8]) -> String {
        let digit = |value: u8| char::from_digit(u32::from(value), 16).unwrap_or('0').to_ascii_uppercase();
        let hex: String = bytes.iter().flat_map(|byte| [digit(byte >> 4), digit(byte & 15)]).collect();
        let wire = wire.symbol();
        format!("{{\"t_us\":{t_us},\"e_us\":{e_us},\"wire\":\"{wire}\",\"hex\":\"{hex}\"}}")
    }
}

impl Entry {
    fn read(keys: &Map<String, Value>) -> Result<Self, String> {
        let t_us = time(keys, "t_us", 0)?.ok_or("key \"t_us\" is missing: the time of the read in microseconds")?;
        // What came right after the log began may have been waited for since before that.
        let e_us = time(keys, "e_us", -LARGEST_US)?;
        if e_us.is_some_and(|e_us| e_us > t_us) {
            return Err(
                "key \"e_us\" lies after \"t_us\"; it is the last instant before the read with nothing waiting"
                    .to_owned(),
            );
        }
        Ok(Self { t_us, e_us, wire: wire(keys)?, bytes: hex(keys)? })
    }
}

fn known_keys(keys: &Map<String, Value>, first: bool) -> Result<(), String> {
    for key in keys.keys() {
        match key.as_str() {
            "t_us" | "e_us" | "wire" | "hex" => {}
            "latency_us" | "rate" if first => {}
            "latency_us" | "rate" => return Err(format!("key \"{key}\" may stand in the first line only")),
            _ => {
                let allowed = "t_us, e_us, wire, hex, and in the first line latency_us, rate";
                return Err(format!("key {key:?} is not known. Allowed: {allowed}"));
            }
        }
    }
    Ok(())
}

/// A time not before `least`.
fn time(keys: &Map<String, Value>, key: &str, least: i64) -> Result<Option<i64>, String> {
    let Some(value) = keys.get(key) else { return Ok(None) };
    let in_range = value.as_i64().filter(|time| (least..=LARGEST_US).contains(time));
    in_range.map(Some).ok_or_else(|| {
        format!("key \"{key}\" is {value}, not a whole number of microseconds from {least} to {LARGEST_US}")
    })
}

fn rate(keys: &Map<String, Value>) -> Result<Option<u32>, String> {
    let Some(value) = keys.get("rate") else { return Ok(None) };
    let rate = value.as_u64().and_then(|rate| u32::try_from(rate).ok()).filter(|rate| *rate > 0);
    rate.map(Some).ok_or_else(|| format!("key \"rate\" is {value}, not a whole number of baud above 0"))
}

fn wire(keys: &Map<String, Value>) -> Result<Wire, String> {
    match keys.get("wire").and_then(Value::as_str) {
        Some(">") => Ok(Wire::ToDrive),
        Some("<") => Ok(Wire::FromDrive),
        Some(other) => Err(format!("key \"wire\" is {other:?}. Allowed: \">\" (to the drive board) and \"<\" (back)")),
        None => Err("key \"wire\" is missing or not text. Allowed: \">\" and \"<\"".to_owned()),
    }
}

fn hex(keys: &Map<String, Value>) -> Result<Vec<u8>, String> {
    let text = keys.get("hex").and_then(Value::as_str).ok_or("key \"hex\" is missing or not text")?;
    let (pairs, odd) = text.as_bytes().as_chunks::<2>();
    if !odd.is_empty() {
        return Err("key \"hex\" has an odd number of digits; each byte takes two".to_owned());
    }
    let byte = |pair: &[u8; 2]| Some(digit(pair[0])? << 4 | digit(pair[1])?);
    let bytes: Option<Vec<u8>> = pairs.iter().map(byte).collect();
    bytes.ok_or_else(|| "key \"hex\" holds something that is not a hex digit".to_owned())
}

fn digit(byte: u8) -> Option<u8> {
    char::from(byte).to_digit(16).map(|digit| digit as u8)
}
