//! A rover file's own text, with the names and addresses in it overwritten.

use std::ops::Range;

use toml::de::{DeArray, DeTable, DeValue};

use super::secret::{cover, places};

/// Keys whose words a person chose and the link never shows. All else are words of the link: without them nothing in the
/// session could be read. `driver` is how a wheel names what `name` calls a driver.
const FREE: [&str; 6] = ["name", "version", "command_board", "drive_board", "driver", "terminal"];

/// A rover file with every secret in its comments and names overwritten; its length stays.
pub fn veiled_rover_file(text: &str) -> String {
    let mut found = Found { text, strings: Vec::new(), secrets: Vec::new() };
    // What is no TOML has no names; a rover file that was loaded is.
    let (document, _) = DeTable::parse_recoverable(text);
    found.table(document.get_ref());
    found.strings.sort_by_key(|place| place.start);
    found.comments();
    let mut bytes = text.as_bytes().to_vec();
    for place in found.secrets {
        cover(bytes.get_mut(place).unwrap_or_default());
    }
    // Whole characters are covered: places end at ASCII or at the end of what was looked at.
    String::from_utf8_lossy(&bytes).into_owned()
}

struct Found<'t> {
    text: &'t str,
    /// Keys and strings: a `#` in them begins no comment.
    strings: Vec<Range<usize>>,
    /// What is to be overwritten.
    secrets: Vec<Range<usize>>,
}

impl Found<'_> {
    fn table(&mut self, table: &DeTable<'_>) {
        for (key, value) in table {
            self.strings.push(key.span());
            self.value(key.get_ref(), value.get_ref(), value.span());
        }
    }

    fn array(&mut self, key: &str, array: &DeArray<'_>) {
        for value in array {
            self.value(key, value.get_ref(), value.span());
        }
    }

    fn value(&mut self, key: &str, value: &DeValue<'_>, span: Range<usize>) {
        match value {
            DeValue::Table(table) => self.table(table),
            DeValue::Array(array) => self.array(key, array),
            DeValue::String(meant) => {
                if FREE.contains(&key) {
                    self.name(meant, span.clone());
                }
                self.strings.push(span);
            }
            _ => {}
        }
    }

    /// A string in its quotes, and what it means.
    fn name(&mut self, meant: &str, span: Range<usize>) {
        let written = self.text.get(span.clone()).unwrap_or_default();
        let long = written.starts_with("\"\"\"") || written.starts_with("'''");
        let quotes = if long { 3 } else { 1 };
        let inner = span.start + quotes..span.end.saturating_sub(quotes);
        let written = self.text.get(inner.clone()).unwrap_or_default();
        let found = places(written.as_bytes());
        // The line end right behind three quotes is none of what is meant.
        let first_line = |text: &'_ str| text.strip_prefix("\r\n").or(text.strip_prefix('\n')).map(str::len);
        let from = written.len() - first_line(written).filter(|_| long).unwrap_or(written.len());
        if written.get(from..) == Some(meant) {
            self.secrets.extend(found.iter().map(|place| inner.start + place.start..inner.start + place.end));
        } else if !found.is_empty() || !places(meant.as_bytes()).is_empty() {
            // Something is written as an escape, which must not be cut in two.
            self.secrets.push(inner);
        }
    }

    fn comments(&mut self) {
        let mut at = 0;
        while let Some(begin) = self.text.get(at..).and_then(|rest| rest.find('#')).map(|begin| at + begin) {
            if let Some(string) = self.strings.iter().find(|place| place.contains(&begin)) {
                at = string.end;
                continue;
            }
            let comment = self.text.get(begin..).and_then(|rest| rest.lines().next()).unwrap_or_default();
            let found = places(comment.as_bytes());
            self.secrets.extend(found.iter().map(|place| begin + place.start..begin + place.end));
            at = begin + comment.len();
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn the_words_of_a_rover_file_stay_and_its_comments_are_covered() {
        let file = "name = \"wifi barn\"\ncode = \"ahead\" # key: tin kettle\nline = \"mac#,<mac>\"\n# pw=tin\n";
        let shown = "name = \"wifi xxxx\"\ncode = \"ahead\" # key: xxxxxxxxxx\nline = \"mac#,<mac>\"\n# pw=xxx\n";
        assert_eq!(veiled_rover_file(file), shown);
    }

    #[test]
    fn every_name_is_covered_however_it_is_written() {
        for (written, shown) in [
            ("version = \"psk tin\"", "version = \"psk xxx\""),
            ("command_board = 'host barn' # mac\r\n", "command_board = 'host xxxx' # mac\r\n"),
            ("drive_board=\"192.0.2.17\"", "drive_board=\"xxxxxxxxxx\""),
            ("\"name\" = \"wifi barn\"", "\"name\" = \"wifi xxxx\""),
            ("rover = { name = \"wifi barn\", version = \"1\" }", "rover = { name = \"wifi xxxx\", version = \"1\" }"),
            ("rover.name = \"wifi barn\"", "rover.name = \"wifi xxxx\""),
            ("name = \"\"\"\nwifi barn\"\"\"", "name = \"\"\"\nwifi xxxx\"\"\""),
            ("name = \"wi\\u0066i barn\"", "name = \"xxxxxxxxxxxxxx\""),
            ("name = \"ssid \\\"tin\"", "name = \"xxxxxxxxxx\""),
            ("name = \"ssid \u{e9}t\u{e9}\"", "name = \"ssid xxxxx\""),
            (
                "[[wheel]]\ndriver = \"token 7\"\nterminal = \"pw: a\"",
                "[[wheel]]\ndriver = \"token x\"\nterminal = \"pw: x\"",
            ),
            ("has = \"\"\"\nmac # pw=tin\"\"\" # pw=tin", "has = \"\"\"\nmac # pw=tin\"\"\" # pw=xxx"),
        ] {
            let veiled = veiled_rover_file(written);
            assert_eq!(veiled, shown);
            assert!(toml::from_str::<toml::Table>(&veiled).is_ok(), "{veiled}");
        }
    }
}
