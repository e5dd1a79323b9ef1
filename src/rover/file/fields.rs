//! `fields.NAME` of a `[[frame]]`: how a value stands on the wire, its range, scale and meaning.

use wheeltap_parsers::{Field, Letters, Read, Sign};

use super::frames::MOST_FIELDS;
use super::walk::{Item, Table};
use crate::rover::meaning::Means;

/// The fields of the frame in `table`; `names` are those of its layout, and those made of bits are added to them.
pub fn fields(table: &Table<'_>, names: &mut Vec<String>, text: bool) -> Option<(Vec<Field>, Vec<Means>)> {
    let stated = table.table("fields");
    if let Some(stated) = &stated {
        let made_of_bits = |item: &Item<'_>| {
            let kind = item.value.as_table().and_then(|t| t.iter().find(|(k, _)| k.get_ref() == "kind"));
            kind.is_some_and(|(_, value)| value.get_ref().as_str() == Some("bits"))
        };
        for (name, item) in stated.entries() {
            if !names.contains(&name) && made_of_bits(&item) {
                names.push(name);
            } else if !names.contains(&name) {
                item.fault("this field stands nowhere in the layout", format!("Write <{name}> in the layout"));
            }
        }
    }
    if names.len() > MOST_FIELDS {
        table.fault("fields", format!("{} fields", names.len()), format!("A frame has at most {MOST_FIELDS} fields"));
        return None;
    }
    let mut list = Vec::new();
    for name in names.iter() {
        let Some(field) = stated.as_ref().and_then(|stated| stated.table(name)) else {
            table.fault(
                "fields",
                format!("<{name}> is not described"),
                format!("Write fields.{name} = {{ kind = ... }}"),
            );
            list.push(None);
            continue;
        };
        list.push(one_field(&field, name, names, text));
    }
    list.into_iter().collect::<Option<Vec<_>>>().map(|list| list.into_iter().unzip())
}

fn one_field(table: &Table<'_>, name: &str, names: &[String], text: bool) -> Option<(Field, Means)> {
    let read = if text { text_read(table) } else { binary_read(table, names) };
    let range = range(table);
    let words = table.texts("words");
    let offset = table.whole("offset", -1_000_000_000..=1_000_000_000).unwrap_or(0);
    let multiply = table.whole("multiply", 1..=1_000_000).unwrap_or(1);
    let divide = table.whole("divide", 1..=1_000_000).unwrap_or(1);
    let means = table.word("means", &Means::WORDS).unwrap_or(Means::Nothing);
    table.finish();
    Some((Field { name: name.to_owned(), read: read?, range, words, offset, multiply, divide }, means))
}

fn text_read(table: &Table<'_>) -> Option<Read> {
    #[derive(Clone, Copy)]
    enum Kind {
        Decimal,
        Hex,
        Word,
    }
    let digits = table.whole("digits", 1..=15).map(|digits| digits as u8);
    let sign = table.word("sign", &[("never", Sign::Never), ("may", Sign::May), ("always", Sign::Must)]);
    let letters = letters(table);
    let kind = table.need_word("kind", &[("decimal", Kind::Decimal), ("hex", Kind::Hex), ("word", Kind::Word)])?;
    if letters.is_some() && !matches!(kind, Kind::Hex) {
        table.fault("letters", "this field has no hex digits", "Take it out, or write kind = \"hex\"");
    }
    Some(match kind {
        Kind::Decimal => Read::Decimal { digits, sign: sign.unwrap_or(Sign::Never) },
        Kind::Hex => Read::Hex { digits, letters: letters.unwrap_or(Letters::Either) },
        Kind::Word => Read::Word,
    })
}

/// `letters`: which letters are hex digits.
pub fn letters(table: &Table<'_>) -> Option<Letters> {
    table.word("letters", &[("upper", Letters::Upper), ("lower", Letters::Lower), ("either", Letters::Either)])
}

fn binary_read(table: &Table<'_>, names: &[String]) -> Option<Read> {
    const fn whole(bytes: u8, signed: bool, big_endian: bool) -> Read {
        Read::Binary { bytes, signed, big_endian }
    }
    let bits = Read::Bits { of: 0, low: 0, count: 1 };
    let kinds = [
        ("u8", whole(1, false, false)),
        ("i8", whole(1, true, false)),
        ("u16 le", whole(2, false, false)),
        ("u16 be", whole(2, false, true)),
        ("i16 le", whole(2, true, false)),
        ("i16 be", whole(2, true, true)),
        ("u24 le", whole(3, false, false)),
        ("u24 be", whole(3, false, true)),
        ("i24 le", whole(3, true, false)),
        ("i24 be", whole(3, true, true)),
        ("u32 le", whole(4, false, false)),
        ("u32 be", whole(4, false, true)),
        ("i32 le", whole(4, true, false)),
        ("i32 be", whole(4, true, true)),
        ("f32 le", Read::Float { big_endian: false }),
        ("f32 be", Read::Float { big_endian: true }),
        ("bits", bits),
    ];
    let kind = table.need_word("kind", &kinds)?;
    if !matches!(kind, Read::Bits { .. }) {
        return Some(kind);
    }
    let of_name = table.need_text("of", "Write the name of the field that holds the bits")?;
    let of = names.iter().position(|name| *name == of_name);
    if of.is_none() {
        table.fault("of", format!("no field is called `{of_name}`"), "Write a field of this frame");
    }
    let low = table.whole("low", 0..=31).unwrap_or(0) as u8;
    let count = table.whole("count", 1..=32).unwrap_or(1) as u8;
    Some(Read::Bits { of: of?, low, count })
}

fn range(table: &Table<'_>) -> Option<(i64, i64)> {
    let item = table.item("range")?;
    let ends: Vec<i64> = item.list().iter().filter_map(Item::whole).collect();
    match ends.as_slice() {
        [low, high] if low <= high => Some((*low, *high)),
        _ => {
            item.fault("not a range", "Write range = [smallest, largest]");
            None
        }
    }
}
