//! What can be wrong with a profile, each fault in words a person can act on.

use crate::check::Written;
use crate::fields::{Field, Read};
use crate::layout::Layout;
use crate::number::is_free_decimal;
use crate::profile::{Framing, Kind, Part, Profile};

/// Every fault of `profile`.
pub(crate) fn of(profile: &Profile) -> Vec<String> {
    let mut all = Vec::new();
    note(&mut all, profile.idle <= 0, || format!("idle is {} ns; a silence must be longer than 0", profile.idle));
    note(&mut all, profile.longest == 0, || "the longest frame has 0 bytes; at least 1 is needed".into());
    marks(&profile.framing, &mut all);
    for text in &profile.start_up {
        note(&mut all, text.has.is_empty(), || {
            format!("start-up text of {}: an empty pattern is everywhere", text.board)
        });
    }
    for kind in &profile.kinds {
        let mut own = Vec::new();
        of_kind(kind, &mut own);
        if own.is_empty() {
            in_framing(kind, profile, &mut own);
        }
        all.extend(own.into_iter().map(|fault| format!("{}: {fault}", kind.name)));
    }
    all
}

fn note(all: &mut Vec<String>, wrong: bool, says: impl FnOnce() -> String) {
    if wrong {
        all.push(says());
    }
}

fn marks(framing: &Framing, all: &mut Vec<String>) {
    match framing {
        Framing::Lines { end, .. } => {
            note(all, end.is_empty(), || "lines need an end mark of at least one byte".into());
        }
        Framing::SyncLength { sync, .. } => note(all, sync.is_empty(), || "at least one sync byte is needed".into()),
        Framing::Fixed { len, .. } => note(all, *len == 0, || "frames of 0 bytes; at least 1 is needed".into()),
        Framing::Markers { .. } | Framing::Cobs | Framing::Slip | Framing::Stuffed => {}
    }
}

fn of_kind(kind: &Kind, all: &mut Vec<String>) {
    note(all, kind.parts.is_empty(), || "it has no parts".into());
    note(all, kind.parts.contains(&Part::Literal(Vec::new())), || "a literal part is empty".into());
    for part in &kind.parts {
        if let Part::Field(index) = part {
            note(all, *index >= kind.fields.len(), || {
                format!("a part asks for field {index}; there are {}", kind.fields.len())
            });
        } else if let Part::Keyed(keyed) = part {
            all.extend(keyed.faults(kind));
        }
    }
    checks(kind, all);
    for (index, field) in kind.fields.iter().enumerate() {
        let mut own = Vec::new();
        of_field(kind, index, field, &mut own);
        all.extend(own.into_iter().map(|fault| format!("field {}: {fault}", field.name)));
    }
    open_ends(kind, all);
}

fn checks(kind: &Kind, all: &mut Vec<String>) {
    let parts = kind.parts.iter().filter(|part| **part == Part::Check).count();
    let due = usize::from(!kind.check.is_none());
    note(all, parts != due, || format!("{parts} parts are the check; {due} must be"));
    let ahead = kind.parts.iter().position(|part| *part == Part::Check).and_then(|place| kind.parts.get(..place));
    let ahead = ahead.map(|parts| Kind { parts: parts.to_vec(), ..kind.clone() });
    let least = ahead.map(|kind| Layout::new(&kind).least);
    let out = kind.check.skip.saturating_add(kind.check.leave_out);
    note(all, least.is_some_and(|least| out > least), || {
        format!("its check leaves out {out} bytes; as few as {} stand before it", least.unwrap_or(0))
    });
}

fn of_field(kind: &Kind, index: usize, field: &Field, all: &mut Vec<String>) {
    let stands: usize = kind.parts.iter().map(|part| stands_in(part, index)).sum();
    let due = usize::from(!matches!(field.read, Read::Bits { .. }));
    note(all, stands != due, || format!("it stands in {stands} parts; {due} is right"));
    note(all, field.multiply == 0, || "it is multiplied by 0".into());
    note(all, field.divide == 0, || "it is divided by 0".into());
    note(all, field.range.is_some_and(|(least, most)| least > most), || "its range ends before it begins".into());
    note(all, field.words.iter().any(String::is_empty), || "a word of it is empty".into());
    let twice =
        field.words.iter().enumerate().find(|(place, word)| field.words.iter().take(*place).any(|w| w == *word));
    note(all, twice.is_some(), || format!("the word {} is listed twice", twice.map_or("", |(_, word)| word)));
    match field.read {
        Read::Decimal { digits: Some(digits), .. } => {
            note(all, !(1..=18).contains(&digits), || format!("{digits} decimal digits; 1 to 18 are allowed"));
        }
        Read::Hex { digits: Some(digits), .. } => {
            note(all, !(1..=15).contains(&digits), || format!("{digits} hex digits; 1 to 15 are allowed"));
        }
        Read::Binary { bytes, .. } => {
            note(all, !(1..=4).contains(&bytes), || format!("{bytes} bytes; 1 to 4 are allowed"));
        }
        Read::Bits { of, low, count } => bits(kind, index, (of, low, count), all),
        Read::Decimal { .. } | Read::Hex { .. } | Read::Word | Read::Float { .. } => {}
    }
}

/// How often the field with this index stands in `part`.
fn stands_in(part: &Part, index: usize) -> usize {
    match part {
        Part::Field(other) => usize::from(*other == index),
        Part::Keyed(keyed) => keyed.items.iter().filter(|(_, field)| *field == index).count(),
        Part::Literal(_) | Part::Check => 0,
    }
}

fn bits(kind: &Kind, index: usize, (of, low, count): (usize, u8, u8), all: &mut Vec<String>) {
    note(all, of >= index, || "its bits must come from a field before it".into());
    let whole = kind
        .fields
        .get(of)
        .is_some_and(|field| matches!(field.read, Read::Decimal { .. } | Read::Hex { .. } | Read::Binary { .. }));
    note(all, !whole, || "its bits must come from a whole number".into());
    note(all, !(1..=32).contains(&count), || format!("{count} bits; 1 to 32 are allowed"));
    note(all, u32::from(low) + u32::from(count) > 63, || format!("{count} bits from bit {low} on; bit 62 is the last"));
}

/// A field of free width must be followed by a literal, by nothing, or by parts whose width is known; a word also by a
/// decimal number.
fn open_ends(kind: &Kind, all: &mut Vec<String>) {
    let free = |part: &Part| match part {
        Part::Field(index) => kind.fields.get(*index).is_some_and(is_free),
        Part::Keyed(_) => true,
        Part::Literal(_) | Part::Check => false,
    };
    let field = |part: &Part| match part {
        Part::Field(index) => kind.fields.get(*index),
        _ => None,
    };
    let word_then_number = |pair: &[Part]| {
        pair.first().and_then(field).is_some_and(|field| field.read == Read::Word)
            && pair.get(1).and_then(field).is_some_and(is_free_decimal)
    };
    for pair in kind.parts.windows(2).filter(|pair| !word_then_number(pair)) {
        note(all, pair.iter().all(free), || "two fields of free width follow each other; put a literal between".into());
    }
    for pair in kind.parts.windows(2) {
        let [Part::Field(index), Part::Literal(next)] = pair else { continue };
        let words = kind.fields.get(*index).map(|field| field.words.as_slice()).unwrap_or_default();
        let cut = words.iter().find(|word| memchr::memmem::find(word.as_bytes(), next).is_some());
        note(all, cut.is_some(), || format!("the word {} holds the literal that ends it", cut.map_or("", |word| word)));
    }
}

fn is_free(field: &Field) -> bool {
    matches!(field.read, Read::Decimal { digits: None, .. } | Read::Hex { digits: None, .. } | Read::Word)
}

/// What this framing asks of every kind.
fn in_framing(kind: &Kind, profile: &Profile, all: &mut Vec<String>) {
    let layout = Layout::new(kind);
    let first = match kind.parts.first() {
        Some(Part::Literal(bytes)) => bytes.first().copied(),
        _ => None,
    };
    let marks = match &profile.framing {
        Framing::Lines { start, end } => start.len() + end.len(),
        Framing::Markers { first: marker } => {
            markers(kind, *marker, all);
            0
        }
        Framing::Slip => 1,
        Framing::Cobs | Framing::Stuffed => 2,
        Framing::Fixed { sync, len } => {
            let fits = layout.least == layout.most && sync.len() + layout.least == *len;
            note(all, !fits, || format!("with the sync bytes its parts must have {len} bytes, always"));
            sync.len()
        }
        Framing::SyncLength { sync, beyond } => {
            let said = first.map(|byte| usize::from(byte) + beyond);
            note(all, said != Some(sync.len() + layout.least) || layout.least != layout.most, || {
                "its first part must be its length byte, and all its parts of one width that agrees with it".into()
            });
            sync.len()
        }
    };
    let least = layout.least.saturating_add(marks);
    note(all, least > profile.longest, || {
        format!("it has at least {least} bytes; the longest frame has {}", profile.longest)
    });
}

fn markers(kind: &Kind, first: u8, all: &mut Vec<String>) {
    let is_mark = |part: Option<&Part>| matches!(part, Some(Part::Literal(bytes)) if bytes.len() == 1 && bytes.iter().all(|byte| *byte >= first));
    let ends = is_mark(kind.parts.first()) && is_mark(kind.parts.last()) && kind.parts.len() > 1;
    note(all, !ends, || format!("its first and its last part must be one byte each, {first:02X} or above"));
    let inside = kind.parts.get(1..kind.parts.len().saturating_sub(1)).unwrap_or_default();
    for part in inside {
        let below = match part {
            Part::Literal(bytes) => bytes.iter().all(|byte| *byte < first),
            Part::Field(index) => kind.fields.get(*index).is_some_and(|field| stays_below(field, first)),
            Part::Keyed(keyed) => {
                let fixed = keyed.items.iter().flat_map(|(key, _)| key).chain(&keyed.between).all(|byte| *byte < first);
                let fields = keyed.items.iter().filter_map(|(_, index)| kind.fields.get(*index));
                fixed && fields.into_iter().all(|field| stays_below(field, first))
            }
            Part::Check => match kind.check.written {
                Written::Nibbles => first > 15,
                Written::HexDigits | Written::LowerHexDigits => first > b'f',
                Written::UpperHexDigits => first > b'F',
                Written::BigEndian | Written::LittleEndian => false,
            },
        };
        note(all, !below, || format!("{part:?} can hold bytes of {first:02X} or above, which are markers"));
    }
}

impl Kind {
    /// Whether nothing that ends a frame can stand inside one of this kind.
    pub(crate) fn never_ends_early(&self, framing: &Framing) -> bool {
        match framing {
            Framing::Lines { start, end } => {
                let Some(mark) = end.first() else { return false };
                !start.contains(mark) && self.parts.iter().all(|part| never_holds(self, part, *mark))
            }
            Framing::Markers { first } => {
                let mut found = Vec::new();
                markers(self, *first, &mut found);
                found.is_empty()
            }
            _ => false,
        }
    }
}

/// Whether `byte` cannot stand in `part` of an intact frame of `kind`.
fn never_holds(kind: &Kind, part: &Part, byte: u8) -> bool {
    let digit = byte.is_ascii_hexdigit() || matches!(byte, b'+' | b'-');
    match part {
        Part::Literal(bytes) => !bytes.contains(&byte),
        Part::Field(index) => kind.fields.get(*index).is_some_and(|field| match field.read {
            Read::Decimal { .. } | Read::Hex { .. } => !digit,
            Read::Word => !field.words.is_empty() && field.words.iter().all(|word| !word.as_bytes().contains(&byte)),
            _ => false,
        }),
        Part::Check => kind.check.written.letters().is_some() && !digit,
        Part::Keyed(_) => false,
    }
}

fn stays_below(field: &Field, first: u8) -> bool {
    match field.read {
        Read::Binary { bytes: 1, .. } => field.range.is_some_and(|(least, most)| least >= 0 && most < i64::from(first)),
        Read::Binary { .. } | Read::Float { .. } => false,
        Read::Decimal { .. } | Read::Hex { .. } | Read::Word | Read::Bits { .. } => first > b'~',
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use crate::check::{Check, Sum};
    use crate::fields::Sign;

    fn field(name: &str, read: Read) -> Field {
        Field { name: name.into(), read, range: None, words: Vec::new(), offset: 0, multiply: 1, divide: 1 }
    }

    fn sound() -> Profile {
        let check = Check { sum: Sum::Xor8, written: Written::HexDigits, skip: 0, leave_out: 1, mark: Vec::new() };
        let parts = vec![Part::Literal(b"D,".to_vec()), Part::Field(0), Part::Literal(b"*".to_vec()), Part::Check];
        let fields = vec![
            field("duty", Read::Decimal { digits: None, sign: Sign::May }),
            field("low", Read::Bits { of: 0, low: 0, count: 2 }),
        ];
        let kinds = vec![Kind { name: "drive".into(), parts, fields, check }];
        let framing = Framing::Lines { start: Vec::new(), end: b"\n".to_vec() };
        Profile { framing, kinds, longest: 16, start_up: Vec::new(), idle: 1 }
    }

    /// The one fault after `change`.
    fn fault(change: impl FnOnce(&mut Profile)) -> String {
        let mut profile = sound();
        change(&mut profile);
        let faults = of(&profile);
        assert_eq!(faults.len(), 1, "{faults:?}");
        faults.into_iter().next().unwrap()
    }

    #[test]
    fn a_sound_profile_has_no_fault() {
        assert_eq!(of(&sound()), Vec::<String>::new());
    }

    #[test]
    fn each_fault_is_named() {
        let rows = [
            (fault(|p| p.idle = 0), "idle is 0 ns"),
            (fault(|p| p.longest = 4), "at least 7 bytes; the longest frame has 4"),
            (fault(|p| p.framing = Framing::Lines { start: Vec::new(), end: Vec::new() }), "end mark"),
            (fault(|p| p.framing = Framing::SyncLength { sync: vec![1], beyond: 3 }), "length byte"),
            (fault(|p| p.kinds[0].parts.push(Part::Field(0xF))), "field 15"),
            (fault(|p| p.kinds[0].fields[0].divide = 0), "divided by 0"),
            (fault(|p| p.kinds[0].fields[0].range = Some((3, 2))), "range"),
            (fault(|p| p.kinds[0].fields[1].read = Read::Bits { of: 0, low: 40, count: 30 }), "bit 62"),
            (fault(|p| p.kinds[0].check = Check::none()), "1 parts are the check; 0 must be"),
            (fault(|p| p.kinds[0].check.skip = 9), "leaves out 10 bytes"),
        ];
        for (found, expected) in rows {
            assert!(found.contains(expected), "{found} / {expected}");
        }
    }

    #[test]
    fn a_marker_may_not_stand_inside_a_frame() {
        let mut profile = sound();
        profile.framing = Framing::Markers { first: 0xF0 };
        profile.kinds[0].parts[0] = Part::Literal(vec![0xF1]);
        profile.kinds[0].parts.push(Part::Literal(vec![0xFE]));
        assert_eq!(of(&profile), Vec::<String>::new());
        profile.kinds[0].fields[0].read = Read::Binary { bytes: 1, signed: false, big_endian: false };
        assert!(of(&profile)[0].contains("F0 or above"));
    }
}
