//! Sections of the rover files that ship: a link of the same format takes them over.

use crate::rover::built_in::BuiltIn;

/// One section: its heading line and everything up to the next one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Section<'t> {
    /// The name in the brackets.
    pub name: &'t str,
    /// Its lines, heading included.
    pub text: &'t str,
}

/// The sections of a shipped file, in order.
pub fn sections(file: BuiltIn) -> Vec<Section<'static>> {
    let text = file.text;
    let heads = text.match_indices("\n[").map(|(place, _)| place + 1);
    let starts: Vec<usize> = heads.collect();
    let ends = starts.iter().skip(1).copied().chain([text.len()]);
    starts.iter().zip(ends).filter_map(|(from, to)| section(text.get(*from..to)?)).collect()
}

fn section(text: &str) -> Option<Section<'_>> {
    let (head, _) = text.split_once(']')?;
    Some(Section { name: head.trim_start_matches('['), text: without_trailing_remarks(text) })
}

/// A remark at the end of a section speaks of the next one.
fn without_trailing_remarks(text: &str) -> &str {
    let mut rest = text.trim_end();
    while let Some((before, last)) = rest.rsplit_once('\n') {
        if !last.starts_with('#') {
            break;
        }
        rest = before.trim_end();
    }
    rest
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rover::built_in;

    #[test]
    fn every_section_of_a_shipped_file_is_found() {
        let names: Vec<&str> =
            sections(built_in::find("bead").unwrap()).into_iter().map(|section| section.name).collect();
        let begin = ["rover", "link", "framing", "check", "frame", "sequence", "mixer", "reader", "start_up"];
        assert_eq!(names[..9], begin);
        let check = sections(built_in::find("bead").unwrap())[3].text;
        assert!(check.starts_with("[check]") && check.ends_with("written = \"little endian\""), "{check}");
    }
}
