//! The invented rover of the demo: its link in five styles, and a sixth with an XOR check.
#![allow(dead_code, clippy::unwrap_used)]

use std::sync::Arc;

use wheeltap_parsers::check::{Crc, Sum, Written};
use wheeltap_parsers::foreign::ResetCause;
use wheeltap_parsers::{
    Check, Chunk, Decoder, Field, Framing, Interval, Kind, Letters, Part, Profile, Read, Record, Sign, StartUpText,
    What, Wire,
};

/// A silence that ends what was begun, nanoseconds.
pub const IDLE: i64 = 50_000_000;
pub const BYTE: i64 = 84_635;

pub fn lit(bytes: &[u8]) -> Part {
    Part::Literal(bytes.to_vec())
}

pub fn field(name: &str, read: Read, range: Option<(i64, i64)>, words: &[&str]) -> Field {
    let words = words.iter().map(ToString::to_string).collect();
    Field { name: name.into(), read, range, words, offset: 0, multiply: 1, divide: 1 }
}

pub fn fixed(digits: u8, sign: Sign) -> Read {
    Read::Decimal { digits: Some(digits), sign }
}

pub fn kind(name: &str, parts: Vec<Part>, fields: Vec<Field>, check: Check) -> Kind {
    Kind { name: name.into(), parts, fields, check }
}

fn cue_check() -> Check {
    let crc = Crc::new(16, 0x1021, 0x5A17, false, false, 0).unwrap();
    Check { sum: Sum::Crc(crc), written: Written::UpperHexDigits, skip: 0, leave_out: 1, mark: Vec::new() }
}

fn start_up() -> Vec<StartUpText> {
    vec![
        StartUpText {
            has: b"GC2 rom ".to_vec(),
            board: "command board".into(),
            reason_between: Some((b"(".to_vec(), b")".to_vec())),
            reasons: vec![("sag".into(), ResetCause::BrownOut), ("power".into(), ResetCause::Power)],
        },
        StartUpText {
            has: b"#boot cmd".to_vec(),
            board: "command board".into(),
            reason_between: Some((b"rst=".to_vec(), Vec::new())),
            reasons: vec![("B".into(), ResetCause::BrownOut), ("P".into(), ResetCause::Power)],
        },
    ]
}

fn profile(framing: Framing, kinds: Vec<Kind>, longest: usize) -> Arc<Profile> {
    Arc::new(Profile { framing, kinds, longest, start_up: start_up(), idle: IDLE })
}

/// The cue line, its answers and events.
pub fn cue() -> Arc<Profile> {
    let seq = || field("seq", fixed(3, Sign::Never), Some((0, 999)), &[]);
    let drive = |name| field(name, fixed(3, Sign::Must), Some((-100, 100)), &[]);
    let order = kind(
        "cue",
        vec![
            lit(b"c"),
            Part::Field(0),
            lit(b" p"),
            Part::Field(1),
            lit(b" "),
            Part::Field(2),
            lit(b" f"),
            Part::Field(3),
            lit(b" s"),
            Part::Field(4),
            lit(b" t"),
            Part::Field(5),
            lit(b" g"),
            Part::Field(6),
            lit(b" d"),
            Part::Field(7),
            lit(b" #"),
            Part::Check,
            lit(b"."),
        ],
        vec![
            seq(),
            field("panel", fixed(2, Sign::Never), None, &[]),
            field("verb", Read::Word, None, &["drv", "hlt", "one", "ask", "set"]),
            drive("f"),
            drive("s"),
            drive("t"),
            field("gear", fixed(1, Sign::Never), Some((1, 3)), &[]),
            field("deadline", fixed(2, Sign::Never), None, &[]),
        ],
        cue_check(),
    );
    let answer = kind(
        "answer",
        vec![
            lit(b"a"),
            Part::Field(0),
            lit(b" "),
            Part::Field(1),
            lit(b" v"),
            Part::Field(2),
            lit(b" e"),
            Part::Field(3),
            lit(b" #"),
            Part::Check,
            lit(b"."),
        ],
        vec![
            seq(),
            field("outcome", Read::Word, None, &["got", "nay"]),
            field("volts", fixed(3, Sign::Never), None, &[]),
            field("error", Read::Hex { digits: Some(2), letters: Letters::Upper }, None, &[]),
        ],
        cue_check(),
    );
    let lapse = kind(
        "lapsed",
        vec![lit(b"=lapsed "), Part::Field(0), lit(b" #"), Part::Check, lit(b".")],
        vec![seq()],
        cue_check(),
    );
    profile(Framing::Lines { start: vec![], end: b"\n".to_vec() }, vec![order, answer, lapse], 64)
}

/// The plain line: words and values, no check.
pub fn plain() -> Arc<Profile> {
    let ways = [
        "ahead",
        "astern",
        "port",
        "starboard",
        "ahead-port",
        "ahead-starboard",
        "astern-port",
        "astern-starboard",
        "spin-port",
        "spin-starboard",
        "rest",
    ];
    let number = || Read::Decimal { digits: None, sign: Sign::Never };
    let kinds = vec![
        kind("way", vec![lit(b"way,"), Part::Field(0)], vec![field("way", Read::Word, None, &ways)], Check::none()),
        kind(
            "pace",
            vec![lit(b"pace,"), Part::Field(0)],
            vec![field("pace", number(), Some((0, 255)), &[])],
            Check::none(),
        ),
        kind(
            "lamp",
            vec![lit(b"lamp,"), Part::Field(0)],
            vec![field("lamp", number(), Some((0, 255)), &[])],
            Check::none(),
        ),
    ];
    profile(Framing::Lines { start: vec![], end: b"\n".to_vec() }, kinds, 24)
}

/// `D,<move>,<duty>*<check>`: letter codes with an XOR check.
pub fn starred() -> Arc<Profile> {
    let check = Check { sum: Sum::Xor8, written: Written::HexDigits, skip: 0, leave_out: 1, mark: Vec::new() };
    let parts = vec![lit(b"D,"), Part::Field(0), lit(b","), Part::Field(1), lit(b"*"), Part::Check];
    let duty = Read::Decimal { digits: None, sign: Sign::May };
    let fields =
        vec![field("move", Read::Word, None, &["N", "F", "B", "L", "R"]), field("duty", duty, Some((-100, 100)), &[])];
    let framing = Framing::Lines { start: vec![], end: b"\n".to_vec() };
    profile(framing, vec![kind("drive", parts, fields, check)], 16)
}

/// The stave: markers from F0 up, an 8-bit check as two nibbles.
pub fn stave() -> Arc<Profile> {
    let crc = Crc::new(8, 0x97, 0x3C, false, false, 0).unwrap();
    let check =
        || Check { sum: Sum::Crc(crc.clone()), written: Written::Nibbles, skip: 0, leave_out: 0, mark: Vec::new() };
    let byte = Read::Binary { bytes: 1, signed: false, big_endian: false };
    let one = |name: &str, first: u8| {
        let mut parts = vec![lit(&[first])];
        parts.extend((0..7).map(Part::Field));
        parts.extend([Part::Check, lit(&[0xFE])]);
        let mut fields = vec![field("seq", byte, Some((0, 0xDF)), &[])];
        fields.extend(["FL", "FR", "RL", "RR"].map(|wheel| field(wheel, byte, Some((0, 200)), &[])));
        fields.push(field("deadline", byte, Some((0, 200)), &[]));
        fields.push(field("flags", byte, Some((0, 0x3F)), &[]));
        fields.push(field("gear", Read::Bits { of: 6, low: 0, count: 2 }, None, &[]));
        kind(name, parts, fields, check())
    };
    profile(Framing::Markers { first: 0xF0 }, vec![one("drive", 0xF1), one("stop", 0xF2), one("report", 0xF3)], 11)
}

/// The bead: COBS with a 16-bit check.
pub fn bead() -> Arc<Profile> {
    let crc = Crc::new(16, 0x1021, 0xFFFF, true, true, 0xFFFF).unwrap();
    let check = Check { sum: Sum::Crc(crc), written: Written::LittleEndian, skip: 0, leave_out: 0, mark: Vec::new() };
    let byte = |signed| Read::Binary { bytes: 1, signed, big_endian: false };
    let mut parts = vec![lit(&[0x11])];
    parts.extend((0..5).map(Part::Field));
    parts.push(Part::Check);
    let mut fields = vec![field("seq", byte(false), None, &[])];
    fields.extend(["f", "s", "t"].map(|name| field(name, byte(true), Some((-100, 100)), &[])));
    fields.push(field("deadline", byte(false), None, &[]));
    profile(Framing::Cobs, vec![kind("bead", parts, fields, check)], 10)
}

/// The ladder: sync, length, payload, check.
pub fn ladder() -> Arc<Profile> {
    let crc = Crc::new(8, 0x2F, 0xFF, false, false, 0xFF).unwrap();
    let check = Check { sum: Sum::Crc(crc), written: Written::BigEndian, skip: 0, leave_out: 0, mark: Vec::new() };
    let two = Read::Binary { bytes: 2, signed: true, big_endian: false };
    let mut parts = vec![lit(&[9, 0x21])];
    parts.extend((0..4).map(Part::Field));
    parts.push(Part::Check);
    let fields = ["FL", "FR", "RL", "RR"].map(|wheel| field(wheel, two, Some((-1000, 1000)), &[])).to_vec();
    let framing = Framing::SyncLength { sync: vec![0xA7, 0x3C], beyond: 4 };
    profile(framing, vec![kind("ladder", parts, fields, check)], 13)
}

/// The bead's body in another framing.
fn bead_in(framing: Framing, longest: usize) -> Arc<Profile> {
    let bead = bead();
    profile(framing, bead.kinds.clone(), longest)
}

/// The bead's body between the end bytes of RFC 1055.
pub fn slipped() -> Arc<Profile> {
    bead_in(Framing::Slip, 18)
}

/// The bead's body between the flags of RFC 1662.
pub fn stuffed() -> Arc<Profile> {
    bead_in(Framing::Stuffed, 18)
}

/// The bead's body as it is, always 8 bytes.
pub fn bare() -> Arc<Profile> {
    bead_in(Framing::Fixed { sync: vec![], len: 8 }, 8)
}

/// The same without its first literal, so that nothing tells where a frame begins.
pub fn blind() -> Arc<Profile> {
    let mut kinds = bead().kinds.clone();
    kinds[0].parts.remove(0);
    profile(Framing::Fixed { sync: vec![], len: 7 }, kinds, 7)
}

/// The bead's body behind two sync bytes.
pub fn led() -> Arc<Profile> {
    bead_in(Framing::Fixed { sync: vec![0xA7, 0x3C], len: 10 }, 10)
}

/// Every style with its name.
pub fn all() -> Vec<(&'static str, Arc<Profile>)> {
    vec![
        ("cue", cue()),
        ("plain", plain()),
        ("starred", starred()),
        ("stave", stave()),
        ("bead", bead()),
        ("ladder", ladder()),
        ("slipped", slipped()),
        ("stuffed", stuffed()),
        ("bare", bare()),
        ("blind", blind()),
        ("led", led()),
    ]
}

/// A record that owns what it holds.
#[derive(Clone, Debug, PartialEq)]
pub struct Kept {
    pub offset: u64,
    pub len: u64,
    pub begins: Interval,
    pub at: Interval,
    pub what: String,
}

pub fn keep(record: &Record<'_>) -> Kept {
    let text = |bytes: &[u8]| bytes.escape_ascii().to_string();
    let what = match record.what {
        What::Frame { kind, values, glued, bytes } => {
            format!("frame {kind}{} {values:?} {}", if glued { " glued" } else { "" }, text(bytes))
        }
        What::Damage { cause, kind, excerpt } => format!("damage {} {kind:?} {}", cause.id(), text(excerpt)),
        What::Text { class, excerpt } => format!("text {class:?} {}", text(excerpt)),
        What::Noise { excerpt } => format!("noise {}", text(excerpt)),
    };
    Kept { offset: record.offset, len: record.len, begins: record.begins, at: record.at, what }
}

/// Decodes `bytes` given as one chunk.
pub fn decode(profile: &Arc<Profile>, bytes: &[u8]) -> Vec<Kept> {
    let mut all = Vec::new();
    let mut sink = |record: &Record<'_>| all.push(keep(record));
    let mut decoder = Decoder::new(Wire::ToDrive, Arc::clone(profile));
    let hi = bytes.len() as i64 * BYTE;
    decoder.push(&Chunk { wire: Wire::ToDrive, offset: 0, bytes, lo: 0, hi, byte_ns: BYTE }, &mut sink);
    decoder.cut(&mut sink);
    all
}

/// Decodes `wire` in reads of 62 bytes, as an adapter with packets of 64 gives them (common practice, no source), without
/// times.
pub fn decode_in_packets(profile: &Arc<Profile>, wire: &[u8], mut sink: impl FnMut(&Record<'_>)) {
    let mut decoder = Decoder::new(Wire::ToDrive, Arc::clone(profile));
    let mut offset = 0;
    for bytes in wire.chunks(62) {
        decoder.push(&Chunk { wire: Wire::ToDrive, offset, bytes, lo: 0, hi: 0, byte_ns: 0 }, &mut sink);
        offset += bytes.len() as u64;
    }
    decoder.cut(&mut sink);
}

/// As [`decode`], each record as `length what`.
pub fn told(profile: &Arc<Profile>, bytes: &[u8]) -> Vec<String> {
    decode(profile, bytes).into_iter().map(|kept| format!("{} {}", kept.len, kept.what)).collect()
}
