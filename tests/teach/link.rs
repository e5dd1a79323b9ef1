//! Random links: a rover file with a random move table, and the board that sends by it.
//!
//! What the board sends is written by the parsers' own encoder from that file, so the file is the truth to which the
//! taught file is compared.

use std::sync::Arc;

use wheeltap::rover::file::RoverFile;
use wheeltap::rover::meaning::Means;
use wheeltap::rover::mecanum::Motion;
use wheeltap_parsers::{Profile, Read, Value, Wire};

use super::chance::Chance;

/// The five styles.
pub const STYLES: [&str; 5] = ["plain-line", "cue-line", "stave", "bead", "ladder"];

/// How often an order is sent.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sends {
    /// So many times in a row at each change.
    Times(usize),
    /// Again and again while a button is kept, milliseconds apart; the rest once.
    WhileKept(i64),
    /// Always, the rest too, milliseconds apart.
    Always(i64),
}

/// A link.
pub struct Link {
    pub text: String,
    pub rover: RoverFile,
    pub sends: Sends,
    /// Lowest and highest value of the duty control; `None` where the panel has none.
    pub duty: Option<(i64, i64)>,
    pub parts: Vec<String>,
    sequence: i64,
}

/// A link of this style.
pub fn random(style: &str, seed: u64) -> Link {
    let mut chance = Chance::new(seed.wrapping_mul(0x1_0001).wrapping_add(style.len() as u64));
    let sends = match chance.whole(0, 3) {
        0 => Sends::Times(2),
        1 => Sends::WhileKept(chance.whole(5, 25) * 10),
        2 if style != "plain-line" => Sends::Always(chance.whole(5, 12) * 10),
        _ => Sends::Times(1),
    };
    let made = if style == "plain-line" { plain(&mut chance) } else { checked(style, &mut chance) };
    let cadence = match sends {
        Sends::Times(_) => "\"on change\"".to_owned(),
        Sends::WhileKept(ms) | Sends::Always(ms) => ms.to_string(),
    };
    let text = format!(
        "format = 1\n[rover]\nname = \"My rover\"\nversion = \"1.0\"\n[link]\nrate = 115200\ncadence = {cadence}\n{}{}\n",
        made.format,
        table(&made.codes, &made.rest)
    );
    let rover = RoverFile::load("truth", &text).unwrap_or_else(|faults| panic!("{faults:#?}\n{text}"));
    Link { text, rover, sends, duty: made.duty, parts: made.parts, sequence: chance.whole(0, 50) }
}

struct Made {
    format: String,
    codes: Vec<(Motion, String)>,
    rest: String,
    duty: Option<(i64, i64)>,
    parts: Vec<String>,
}

fn table(codes: &[(Motion, String)], rest: &str) -> String {
    let row = |code: &str, is: &str| format!("[[move]]\ncode = \"{code}\"\nis = \"{is}\"\n");
    codes.iter().map(|(motion, code)| row(code, motion.id())).collect::<String>() + &row(rest, "rest")
}

/// The moves this panel has: the six plain ones, and each diagonal or not.
fn motions(chance: &mut Chance) -> Vec<Motion> {
    let diagonal = |motion: &Motion| motion.id().matches('-').count() == 1 && !motion.id().starts_with("turn");
    let all = Motion::ALL.into_iter().filter(|motion| *motion != Motion::Rest);
    all.filter(|motion| !diagonal(motion) || !chance.one_in(4)).collect()
}

/// As many different codes as moves, and one for rest.
fn codes(chance: &mut Chance, count: usize, make: impl Fn(&mut Chance) -> String) -> Vec<String> {
    let mut codes: Vec<String> = Vec::new();
    while codes.len() <= count {
        let code = make(chance);
        if !codes.contains(&code) {
            codes.push(code);
        }
    }
    codes
}

fn paired(chance: &mut Chance, make: impl Fn(&mut Chance) -> String) -> (Vec<(Motion, String)>, String) {
    let motions = motions(chance);
    let mut codes = codes(chance, motions.len(), make);
    let rest = codes.pop().unwrap_or_default();
    (motions.into_iter().zip(codes).collect(), rest)
}

fn word_code(chance: &mut Chance) -> String {
    if chance.one_in(3) { format!("{}-{}", chance.word(2, 6), chance.word(2, 6)) } else { chance.word(2, 9) }
}

fn letter_code(chance: &mut Chance) -> String {
    let letter = chance.whole(0, 51) as u8;
    char::from(if letter < 26 { b'A' + letter } else { b'a' + letter - 26 }).to_string()
}

/// A code of a letter and a digit, such as `F1`.
fn mixed_code(chance: &mut Chance) -> String {
    format!("{}{}", chance.word(1, 2), chance.whole(0, 9))
}

fn number_code(chance: &mut Chance) -> String {
    chance.whole(0, 99).to_string()
}

/// A text link without a check, in one of seven shapes.
fn plain(chance: &mut Chance) -> Made {
    let end = *chance.one_of(&["LF", "CR LF", "CR"]);
    let apart = *chance.one_of(&[",", ":", "=", " ", ";", ", "]);
    let tail = if chance.one_in(4) { "!" } else { "" };
    let duty = *chance.one_of(&[(0, 255), (0, 100), (0, 1023), (60, 255), (0, 9)]);
    let keys = codes(chance, 6, |chance| chance.word(3, 8));
    let shape = chance.whole(0, 6);
    let (codes, rest) = match shape {
        0 | 1 => paired(chance, word_code),
        2 | 5 => paired(chance, letter_code),
        3 => paired(chance, number_code),
        4 => paired(chance, mixed_code),
        _ => paired(chance, |chance| chance.word(4, 7)),
    };
    let decimal = |name: &str, low: i64, high: i64, more: &str| {
        format!("fields.{name} = {{ kind = \"decimal\", range = [{low}, {high}]{more} }}\n")
    };
    let order = |name: &str, line: &str, fields: &str| {
        format!("[[frame]]\nname = \"{name}\"\nwire = \">\"\nrole = \"order\"\nline = \"{line}{tail}\"\n{fields}")
    };
    let word = "fields.move = { kind = \"word\", means = \"move\" }\n";
    let own_duty =
        order("duty", &format!("{}{apart}<duty>", keys[1]), &decimal("duty", duty.0, duty.1, ", means = \"duty\""));
    let low = duty.0.min(0);
    let with = format!("{word}{}", decimal("duty", low, duty.1, ", means = \"duty\""));
    let (frames, has_duty, persists) = match shape {
        0 | 4 => (order("move", &format!("{}{apart}<move>", keys[0]), word) + &own_duty, true, true),
        1 | 2 => (order("move", "<move>", word) + &own_duty, true, true),
        3 => {
            let number = "fields.move = { kind = \"decimal\", means = \"move\" }\n";
            (order("move", &format!("{}{apart}<move>", keys[0]), number) + &own_duty, true, true)
        }
        5 => (order("move", "<move><duty>", &with), true, false),
        _ => (order("move", &format!("<move>{apart}<duty>"), &with), true, false),
    };
    let parts: Vec<String> = keys[2..2 + chance.whole(0, 2) as usize].to_vec();
    let mut others = String::new();
    for key in &parts {
        let value = decimal("value", 0, 255, "");
        others += &format!(
            "[[frame]]\nname = \"{key}\"\nwire = \">\"\nrole = \"ignored\"\nline = \"{key}{apart}<value>{tail}\"\n{value}"
        );
    }
    let persist = if persists { "persists = true\n" } else { "" };
    let format = format!(
        "[framing]\nkind = \"lines\"\nend = \"{end}\"\nlongest = 64\n[check]\nkind = \"none\"\n{frames}{others}[duty]\nfull = {}\n{persist}",
        duty.1
    );
    Made { format, codes, rest, duty: has_duty.then_some(duty), parts }
}

/// A checked link: framing and check of a style, its own contents.
fn checked(style: &str, chance: &mut Chance) -> Made {
    let (framing, check) = sections(style);
    let high = *chance.one_of(&[100, 200]);
    let (codes, rest) = match style {
        "cue-line" => paired(chance, word_code),
        "stave" => paired(chance, |chance| chance.whole(0, 0xEF).to_string()),
        _ => paired(chance, |chance| chance.whole(0, 255).to_string()),
    };
    let wide = style == "ladder" && chance.one_in(2);
    let high = if wide { 1000 } else { high };
    // In the stave a byte from F0 up can only be a marker.
    let below = if style == "stave" { ", range = [0, 239]" } else { "" };
    let byte = |name: &str, more: &str| {
        let below = if more.contains("range") { "" } else { below };
        format!("fields.{name} = {{ kind = \"u8\"{below}{more} }}\n")
    };
    let duty = format!(", range = [0, {high}], means = \"duty\"");
    let seq = byte("seq", ", means = \"sequence\"");
    let (layout, seq) = match style {
        "cue-line" => (
            format!("line = \"{}<seq> {}:<move> d<duty> #<check>.\"", chance.word(1, 1), chance.word(2, 4)),
            "fields.seq = { kind = \"decimal\", digits = 3, means = \"sequence\" }\n".to_owned(),
        ),
        "stave" => ("bytes = \"F1 <seq> <move> <duty> <check> FE\"".to_owned(), seq),
        "bead" => ("bytes = \"11 <seq> <move> <duty> <check>\"".to_owned(), seq),
        _ if wide => ("bytes = \"04 21 <move> <duty> <check>\"".to_owned(), String::new()),
        _ => ("bytes = \"03 21 <move> <duty> <check>\"".to_owned(), String::new()),
    };
    let fields = match style {
        "cue-line" => format!(
            "fields.move = {{ kind = \"word\", means = \"move\" }}\nfields.duty = {{ kind = \"decimal\"{duty} }}\n"
        ),
        _ if wide => byte("move", ", means = \"move\"") + &format!("fields.duty = {{ kind = \"u16 le\"{duty} }}\n"),
        _ => byte("move", ", means = \"move\"") + &byte("duty", &duty),
    };
    let counts = match style {
        "stave" => "[sequence]\ncounts = 224\n",
        _ => "",
    };
    let format = format!(
        "{framing}\n{check}\n[[frame]]\nname = \"move\"\nwire = \">\"\nrole = \"order\"\n{layout}\n{seq}{fields}[duty]\nfull = {high}\n{counts}"
    );
    Made { format, codes, rest, duty: Some((0, high)), parts: Vec::new() }
}

/// Framing and check of a shipped file, as they stand there.
fn sections(style: &str) -> (String, String) {
    let text = wheeltap::rover::built_in::find(style).map_or("", |file| file.text);
    let section = |name: &str| {
        let from = text.find(&format!("\n[{name}]")).map_or(0, |place| place + 1);
        let rest = &text[from..];
        rest[..rest[1..].find("\n[").map_or(rest.len(), |place| place + 1)].to_owned()
    };
    (section("framing"), section("check"))
}

impl Link {
    fn profile(&self) -> &Arc<Profile> {
        self.rover.profile(Wire::ToDrive).expect("a profile")
    }

    /// A frame of kind number `kind` with this code and this duty, or of an ignored kind with this value.
    pub fn frame(&mut self, kind: usize, code: &str, number: i64) -> Vec<u8> {
        let sequence = self.sequence;
        let profile = Arc::clone(self.profile());
        let meaning = &self.rover.meaning.kinds[0][kind];
        let fields = &profile.kinds[kind].fields;
        let value = |(field, means): (&wheeltap_parsers::Field, &Means)| match (means, field.read) {
            (Means::Sequence, _) => Value::Int(sequence),
            (Means::Move, Read::Word) => Value::Word(field.words.iter().position(|word| word == code).expect("a word")),
            (Means::Move, _) => Value::Int(code.parse().expect("a number")),
            _ => Value::Int(number),
        };
        let values: Vec<Value<'_>> = fields.iter().zip(&meaning.fields).map(value).collect();
        let bytes = profile.encode(kind, &values).expect("a frame");
        if meaning.field(Means::Sequence).is_some() {
            let most =
                if matches!(fields[0].read, Read::Decimal { .. }) { 1000 } else { self.rover.meaning.sequence_counts };
            self.sequence = (self.sequence + 1) % most;
        }
        bytes
    }

    /// The code of a move; `None` where the panel has no such button.
    pub fn code(&self, motion: Motion) -> Option<String> {
        let row = self.rover.meaning.moves.iter().find(|row| row.motion == Some(motion))?;
        Some(row.code.clone())
    }

    /// Whether the duty stands in the frames of the moves.
    pub fn duty_with_move(&self) -> bool {
        self.rover.meaning.kinds[0][0].field(Means::Duty).is_some()
    }
}
