//! The `[[frame]]` tables: layout and fields.

use wheeltap_parsers::{Field, Part, Read, Sign, Wire};

use super::walk::{Item, Table};
use crate::rover::meaning::{KindMeaning, Means, Role};

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
    let frames: Option<Vec<Frame>> = tables.iter().map(one).collect();
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
    let parts = layout.and_then(|layout| parts(&layout, text, &mut names));
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

/// Splits a layout at its `<names>`; the names come out in order of their first place.
fn parts(layout: &Item<'_>, text: bool, names: &mut Vec<String>) -> Option<Vec<Part>> {
    let source = layout.text()?;
    let mut parts = Vec::new();
    let mut rest = source.as_str();
    loop {
        let (literal, tail) = rest.split_at(rest.find('<').unwrap_or(rest.len()));
        push_literal(layout, literal, text, &mut parts)?;
        let Some(tail) = tail.strip_prefix('<') else { return Some(parts) };
        let Some((name, after)) = tail.split_once('>') else {
            layout.fault(format!("`<{tail}` has no closing `>`"), "Write a field as <name>");
            return None;
        };
        if name == "check" {
            parts.push(Part::Check);
        } else if names.iter().any(|known| known == name) {
            layout.fault(format!("<{name}> stands twice"), "Each field stands once");
            return None;
        } else {
            parts.push(Part::Field(names.len()));
            names.push(name.to_owned());
        }
        rest = after;
    }
}

fn push_literal(layout: &Item<'_>, literal: &str, text: bool, parts: &mut Vec<Part>) -> Option<()> {
    let bytes = if text { literal.as_bytes().to_vec() } else { hex_bytes(layout, literal)? };
    if !bytes.is_empty() {
        parts.push(Part::Literal(bytes));
    }
    Some(())
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

fn fields(table: &Table<'_>, names: &mut Vec<String>, text: bool) -> Option<(Vec<Field>, Vec<Means>)> {
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
    let kind = table.need_word("kind", &[("decimal", Kind::Decimal), ("hex", Kind::Hex), ("word", Kind::Word)])?;
    Some(match kind {
        Kind::Decimal => Read::Decimal { digits, sign: sign.unwrap_or(Sign::Never) },
        Kind::Hex => Read::Hex { digits },
        Kind::Word => Read::Word,
    })
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
