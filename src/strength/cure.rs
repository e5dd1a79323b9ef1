//! The cure of a weak line, as text to paste: what to add, golden lines, a program part for both boards, a rover file.
//!
//! The check is the 16-bit one with polynomial 0x1021 and start 0xFFFF, most significant bit first, no final
//! exclusive-or (CRC-16/IBM-3740 in the public catalogue of parametrised checks; its check value over `123456789` is
//! 0x29B1).

use wheeltap_parsers::check::{Check, Crc, Sum, Written};
use wheeltap_parsers::{Framing, Wire};

use crate::rover::file::RoverFile;
use crate::rover::meaning::{Means, Obeys, Role};

/// What the cured line ends with, behind the old line: counter, deadline, check, end mark.
const DEADLINE: &str = "30";

/// One thing that the link lacks, and what it is good for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Lack {
    /// A check over the whole frame.
    Check,
    /// A check that sees swapped bytes: exclusive-or and sums do not.
    StrongerCheck,
    /// A counter in each frame.
    Counter,
    /// A time for which each order may be obeyed.
    Deadline,
}

impl Lack {
    /// In words, for both boards.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Check => {
                "a check over the whole line, and an end mark before the line end: an injured line is refused"
            }
            Self::StrongerCheck => {
                "a 16-bit cyclic check in place of this one: an exclusive-or or a sum misses every swap of two bytes"
            }
            Self::Counter => "a counter in each line: a lost or doubled line shows",
            Self::Deadline => {
                "a deadline in each order, 300 ms, repeated every 100 ms while a move lasts: silence stops the rover"
            }
        }
    }
}

/// The cure of one link.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Cure {
    /// What it lacks.
    pub lacks: Vec<Lack>,
    /// Lines as the cured command board would send them, with all of it added; empty where the link is no text.
    pub golden: Vec<String>,
    /// The program part for both boards, in C; empty where the link is no text.
    pub program: &'static str,
    /// The rover file of the cured link; `None` where it cannot be made from this one.
    pub rover_file: Option<String>,
}

impl Cure {
    /// The cure for this rover's link; `frames` are orders that were seen.
    pub fn of(rover: &RoverFile, frames: &[Vec<u8>]) -> Self {
        let lacks = lacks(rover);
        let end = match rover.profile(Wire::ToDrive).map(|profile| &profile.framing) {
            Some(Framing::Lines { start, end }) if start.is_empty() && lacks.contains(&Lack::Check) => Some(end),
            _ => None,
        };
        let Some(end) = end else { return Self { lacks, golden: Vec::new(), program: "", rover_file: None } };
        let mut golden: Vec<String> = Vec::new();
        for frame in frames {
            let line = frame.strip_suffix(end.as_slice()).and_then(|line| std::str::from_utf8(line).ok());
            let known = |line: &str| golden.iter().any(|made| made.starts_with(&format!("{line} n")));
            if let Some(line) = line.filter(|line| !known(line)) {
                golden.push(golden_line(line, golden.len()));
            }
            if golden.len() == MOST {
                break;
            }
        }
        let rover_file = Some(cured(&rover.text)).filter(|text| RoverFile::load("cured.toml", text).is_ok());
        Self { lacks, golden, program: PROGRAM, rover_file }
    }
}

/// Most golden lines.
const MOST: usize = 12;

fn lacks(rover: &RoverFile) -> Vec<Lack> {
    let layouts = rover.profile(Wire::ToDrive).map(|profile| profile.kinds.as_slice()).unwrap_or_default();
    let kinds = rover.meaning.kinds[Wire::ToDrive.index()].iter().zip(layouts);
    let orders: Vec<_> = kinds.filter(|(meaning, _)| meaning.role == Role::Order).collect();
    let check = orders.iter().any(|(_, kind)| kind.check.is_empty());
    let weak = orders.iter().any(|(_, kind)| matches!(kind.check.sum, Sum::Xor8 | Sum::Sum8 | Sum::Lrc8));
    let counter = orders.iter().any(|(meaning, _)| meaning.field(Means::Sequence).is_none());
    let deadline = matches!(rover.meaning.reader.obeys, Obeys::ForEver | Obeys::Unknown);
    let all = [(check, Lack::Check), (weak, Lack::StrongerCheck), (counter, Lack::Counter), (deadline, Lack::Deadline)];
    all.into_iter().filter_map(|(lacks, lack)| lacks.then_some(lack)).collect()
}

/// The old line with counter, deadline, check and end mark.
fn golden_line(line: &str, count: usize) -> String {
    let checked = format!("{line} n{:02} d{DEADLINE} ", count % 100);
    let value = check().map_or(0, |check| check.value(checked.as_bytes()));
    format!("{checked}#{value:04X}.")
}

fn check() -> Result<Check, String> {
    let crc = Crc::new(16, 0x1021, 0xFFFF, false, false, 0)?;
    Ok(Check { sum: Sum::Crc(crc), written: Written::HexDigits, skip: 0, leave_out: 1, mark: Vec::new() })
}

/// The rover file's text with the cure worked in.
fn cured(text: &str) -> String {
    let mut out = String::new();
    let mut table = "";
    let mut to_drive = true;
    for line in text.lines() {
        let bare = line.trim();
        if bare.starts_with('[') {
            table = bare;
            to_drive = true;
        }
        to_drive &= !(table.starts_with("[[frame]]") && bare.starts_with("wire") && bare.contains('<'));
        out += &cured_line(line, table, to_drive);
        if bare.starts_with("[check]") {
            out += CHECK;
        } else if bare.starts_with("[framing]") {
            out += "longest = 96\n";
        } else if bare.starts_with("[reader]") {
            out += "numbers = \"strict\"\nobeys = \"deadline field\"\n";
        } else if table.starts_with("[[frame]]") && bare.starts_with("line") && to_drive {
            out += FIELDS;
        }
    }
    out
}

/// One line of the file as it stands in the cured one; empty where it is written anew.
fn cured_line(line: &str, table: &str, to_drive: bool) -> String {
    let key = line.split(['=', '.', ' ']).find(|word| !word.is_empty()).unwrap_or_default();
    let anew = match table.split(']').next().unwrap_or_default() {
        "[check" => !line.trim_start().starts_with(['[', '#']) && line.contains('='),
        "[framing" => key == "longest",
        "[reader" => key == "numbers" || key == "obeys",
        _ => false,
    };
    if anew {
        return String::new();
    }
    if table.starts_with("[[frame]]")
        && key == "line"
        && let Some(quote) = line.rfind('"')
    {
        let added = if to_drive { " n<count> d<until> #<check>." } else { " #<check>." };
        let (head, tail) = line.split_at(quote);
        return format!("{head}{added}{tail}\n");
    }
    format!("{line}\n")
}

const CHECK: &str = r#"kind = "crc"
width = 16
polynomial = 0x1021
start = 0xFFFF
reflect = false
final_xor = 0
written = "hex digits"
leave_out = 1            # the `#` directly before the check
"#;

const FIELDS: &str = r#"fields.count = { kind = "decimal", digits = 2, range = [0, 99], means = "sequence" }
fields.until = { kind = "decimal", digits = 2, range = [0, 99], multiply = 10, means = "deadline" }   # ms
"#;

/// The program part for both boards.
pub const PROGRAM: &str = r##"/* Both boards: the check over n bytes. Over 123456789 it gives 29B1. */
unsigned check16(const char *s, unsigned n) {
    unsigned c = 0xFFFF;
    while (n--) {
        c ^= (unsigned)(unsigned char)*s++ << 8;
        for (int bit = 0; bit < 8; bit++) c = (c & 0x8000 ? c << 1 ^ 0x1021 : c << 1) & 0xFFFF;
    }
    return c;
}

/* Command board: makes of the old line, without its end, a line that can be trusted; then send it and one line feed.
   Send when the order changes AND every 100 ms while a move lasts; send a rest three times. */
void seal(const char *order, char *out, unsigned size) {
    static unsigned count;
    unsigned n = snprintf(out, size, "%s n%02u d30 ", order, count);
    count = (count + 1) % 100;
    snprintf(out + n, size - n, "#%04X.", check16(out, n));
}

/* Drive board: 1 when the line (without its line feed) is whole; then `line` is cut back to the old line and `ms` says
   for how long it may be obeyed. Refuse everything else. When `ms` is over and no new line came: all duties to zero. */
int unseal(char *line, unsigned length, unsigned *ms) {
    unsigned count, tens, check;
    if (length < 16 || line[length - 1] != '.' || line[length - 6] != '#') return 0;
    if (sscanf(line + length - 5, "%4X", &check) != 1 || check != check16(line, length - 6)) return 0;
    if (sscanf(line + length - 14, "n%2u d%2u", &count, &tens) != 2) return 0;
    line[length - 15] = 0;
    *ms = tens * 10;
    return 1;
}
"##;
