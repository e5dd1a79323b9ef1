//! A line of comma-separated values after RFC 4180: CR LF behind each, fields with a comma, a quote or a line end in
//! quotes, a quote doubled. An empty field is no value; an empty text is `""`.

use std::fmt::Write;

use serde_json::Value as Json;

/// The head of the table.
pub fn head<'a>(names: impl Iterator<Item = &'a str>) -> String {
    names.map(text).collect::<Vec<_>>().join(",") + "\r\n"
}

/// One row.
pub fn row(cells: &[Json]) -> String {
    let mut line = String::new();
    for (at, cell) in cells.iter().enumerate() {
        if at > 0 {
            line.push(',');
        }
        match cell {
            Json::Null => {}
            Json::String(value) => line.push_str(&text(value)),
            // Writing to a string cannot fail.
            other => drop(write!(line, "{other}")),
        }
    }
    line + "\r\n"
}

fn text(value: &str) -> String {
    if value.is_empty() || value.contains(['"', ',', '\r', '\n']) || value != value.trim() {
        format!("\"{}\"", value.replace('"', "\"\""))
    } else {
        value.to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    // RFC 4180, section 2, points 5 to 7.
    #[test]
    fn quotes_are_doubled_and_commas_enclosed() {
        let cells = [json!("aaa"), json!("b \"bb"), json!("c,c"), json!("d\r\nd"), json!(-1.5), Json::Null, json!("")];
        assert_eq!(row(&cells), "aaa,\"b \"\"bb\",\"c,c\",\"d\r\nd\",-1.5,,\"\"\r\n");
        assert_eq!(head(["a", "b c"].into_iter()), "a,b c\r\n");
    }
}
