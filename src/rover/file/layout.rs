//! `line` and `bytes` of a `[[frame]]`: text or hex bytes with `<names>` where fields stand, `<<` for a `<` itself.

use wheeltap_parsers::{Keyed, Part};

use super::frames::hex_bytes;
use super::walk::Item;

/// Splits `source`, a layout or a piece of one, at its `<names>`; the names come out in order of their first place.
pub fn parts(layout: &Item<'_>, source: &str, text: bool, names: &mut Vec<String>) -> Option<Vec<Part>> {
    let mut parts = Vec::new();
    let mut rest = source;
    loop {
        let (literal, tail) = rest.split_at(rest.find('<').unwrap_or(rest.len()));
        push_literal(layout, literal, text, &mut parts)?;
        let Some(tail) = tail.strip_prefix('<') else { return Some(parts) };
        if let (true, Some(after)) = (text, tail.strip_prefix('<')) {
            push_bytes(b"<", &mut parts);
            rest = after;
            continue;
        }
        let Some((name, after)) = tail.split_once('>') else {
            layout.fault(format!("`<{tail}` has no closing `>`"), "Write a field as <name>, and a < itself as <<");
            return None;
        };
        push_name(layout, name, &mut parts, names)?;
        rest = after;
    }
}

fn push_name(layout: &Item<'_>, name: &str, parts: &mut Vec<Part>, names: &mut Vec<String>) -> Option<()> {
    if name == "check" {
        parts.push(Part::Check);
    } else if names.iter().any(|known| known == name) {
        layout.fault(format!("<{name}> stands twice"), "Each field stands once");
        return None;
    } else {
        parts.push(Part::Field(names.len()));
        names.push(name.to_owned());
    }
    Some(())
}

fn push_literal(layout: &Item<'_>, literal: &str, text: bool, parts: &mut Vec<Part>) -> Option<()> {
    if text {
        push_bytes(literal.as_bytes(), parts);
    } else {
        push_bytes(&hex_bytes(layout, literal)?, parts);
    }
    Some(())
}

/// Adds bytes that stand on the wire as they are: to the literal before them, where there is one.
fn push_bytes(bytes: &[u8], parts: &mut Vec<Part>) {
    match parts.last_mut() {
        _ if bytes.is_empty() => {}
        Some(Part::Literal(before)) => before.extend_from_slice(bytes),
        _ => parts.push(Part::Literal(bytes.to_vec())),
    }
}

/// As [`parts`], for a layout whose keyed values, parted by the text in `between`, stand in any order. A keyed value
/// is text and one field behind it, such as `x=<x>`.
pub fn any_order(layout: &Item<'_>, between: &Item<'_>, text: bool, names: &mut Vec<String>) -> Option<Vec<Part>> {
    let (source, parting) = (layout.text()?, between.text()?);
    if parting.is_empty() || !text {
        between.fault("keyed values need text between them", "Write any_order = \" \" and a layout as `line = `");
        return parts(layout, &source, text, names);
    }
    let mut all: Vec<Part> = Vec::new();
    for (place, piece) in source.split(parting.as_str()).enumerate() {
        let mut own = parts(layout, piece, true, names)?;
        let keyed = keyed_value(&mut own, &parting);
        if let (Some(Part::Keyed(group)), Some(Part::Keyed(one))) = (all.last_mut(), &keyed) {
            group.items.extend(one.items.iter().cloned());
            continue;
        }
        if place > 0 {
            push_bytes(parting.as_bytes(), &mut all);
        }
        for part in keyed.into_iter().chain(own) {
            match part {
                Part::Literal(bytes) => push_bytes(&bytes, &mut all),
                other => all.push(other),
            }
        }
    }
    let several = all.iter().any(|part| matches!(part, Part::Keyed(group) if group.items.len() > 1));
    if !several {
        between.fault(
            format!("`{parting}` parts no two keyed values of the layout"),
            "Write at least two such as x=<x> with this text between them",
        );
    }
    several.then_some(all)
}

/// The one keyed value that `own` is; takes it out.
fn keyed_value(own: &mut Vec<Part>, between: &str) -> Option<Part> {
    let [Part::Literal(key), Part::Field(field)] = own.as_slice() else {
        return None;
    };
    let group = Keyed { items: vec![(key.clone(), *field)], between: between.as_bytes().to_vec() };
    own.clear();
    Some(Part::Keyed(group))
}
