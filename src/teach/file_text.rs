//! The rover file as text, with remarks for the person who reads it.

use std::collections::BTreeMap;

use wheeltap_parsers::Framing;

use super::cell::Cell;
use super::format::Format;
use super::kind::{Column, Kind, Shape};
use super::learned::{Learned, Press, Rest};
use super::rhythm::Rhythm;
use super::shipped::{self, Section};
use super::wiring::{self, Wiring};
use crate::rover::built_in::BuiltIn;
use crate::rover::meaning::Means;
use crate::rover::mecanum::{Motion, signs_text};

/// What the person said beside pressing buttons.
#[derive(Clone, Debug, Default)]
pub struct Said {
    /// The rover's name.
    pub rover: String,
    /// Own names for moves.
    pub names: BTreeMap<Motion, String>,
    /// Wiring of the wheels.
    pub wiring: Vec<Wiring>,
    /// Line rate it was listened to at, baud.
    pub rate: u32,
}

/// A code that no wire says: it keeps the place of a rest that was never heard.
const NO_REST: &str = "no-rest-was-heard";

/// The rover file.
pub fn write(learned: &Learned, said: &Said) -> String {
    let mut out = String::from("# A rover file, made from pressing buttons. Change it as you learn more.\n");
    for doubt in &learned.doubts {
        out += &format!("# {}\n", doubt.words());
    }
    out += &format!("format = 1\n\n[rover]\nname = {}\nversion = \"1.0\"\n\n", quoted(&said.rover));
    out += &link(learned, said.rate);
    out += &match &learned.format {
        Format::Whole(file, _) => taken_over(*file),
        format => [own_format(format, learned), moves(learned, said), duty(learned), counter(learned)].concat(),
    };
    out += &reader(&learned.format);
    out += &wheels(&said.wiring);
    out
}

/// Text as TOML writes it.
fn quoted(text: &str) -> String {
    let escaped: String = text.chars().filter(|letter| !letter.is_control()).collect();
    format!("\"{}\"", escaped.replace('\\', "\\\\").replace('"', "\\\""))
}

fn link(learned: &Learned, rate: u32) -> String {
    let (cadence, says) = match learned.rhythm {
        Rhythm::Every(gap) => (format!("{}", gap / 1_000_000), "ms: an order is repeated while a button is kept"),
        Rhythm::OnChange(1) => ("\"on change\"".to_owned(), "sent once for each press and release"),
        Rhythm::OnChange(_) => ("\"on change\"".to_owned(), "sent more than once in a row for each press"),
    };
    let cadence = if cadence == "0" { "\"learn\"".to_owned() } else { cadence };
    format!("[link]\nrate = {rate}            # baud\nsettings = \"8N1\"\ncadence = {cadence}    # {says}\n\n")
}

/// Sections of a shipped file that belong to its format, as they are.
fn taken_over(file: BuiltIn) -> String {
    let wanted = ["framing", "check", "frame", "sequence", "mixer", "verbs", "answers", "duty"];
    let mut out =
        format!("# The format is that of the shipped file `{}`: the checks of what was heard are right.\n", file.name);
    for section in shipped::sections(file).into_iter().filter(|section| wanted.contains(&section.name)) {
        out += section.text;
        out += "\n\n";
    }
    out
}

fn own_format(format: &Format, learned: &Learned) -> String {
    let first_marker = match format {
        Format::Like(_, Framing::Markers { first }) => Some(i64::from(*first)),
        _ => None,
    };
    let frames = learned.kinds.iter().map(|kind| frame(kind, first_marker));
    framing(format, learned) + &frames.collect::<String>()
}

fn framing(format: &Format, learned: &Learned) -> String {
    match format {
        Format::Lines(end) => format!(
            "[framing]\nkind = \"lines\"\nend = \"{}\"               # what ends a line\nlongest = 64             # bytes\n\n\
             [check]\nkind = \"none\"\n\n",
            end.word()
        ),
        Format::Like(file, framing) => like(*file, framing, learned),
        Format::Unknown | Format::Whole(..) => String::new(),
    }
}

fn like(file: BuiltIn, framing: &Framing, learned: &Learned) -> String {
    let sections = shipped::sections(file);
    let text = |name: &str| {
        sections.iter().find(|section| section.name == name).map_or("", |section: &Section<'_>| section.text)
    };
    let longest = learned.kinds.iter().map(|kind| kind.columns.len()).max().unwrap_or(0) + 16;
    let line = |line: &str| match (line.split_once('=').map(|(key, _)| key.trim()), framing) {
        (Some("end"), Framing::Lines { end, .. }) => format!("end = \"{}\"", end_word(end)),
        (Some("longest"), Framing::Lines { .. }) => "longest = 64".to_owned(),
        (Some("longest"), _) => format!("longest = {longest}"),
        _ => line.to_owned(),
    };
    let framing: Vec<String> = text("framing").lines().map(line).collect();
    format!(
        "# Framing and check are those of the shipped file `{}`: the checks of what was heard are right.\n{}\n\n{}\n\n",
        file.name,
        framing.join("\n"),
        text("check")
    )
}

fn end_word(end: &[u8]) -> &'static str {
    match end {
        b"\r\n" => "CR LF",
        b"\r" => "CR",
        _ => "LF",
    }
}

fn frame(kind: &Kind, first_marker: Option<i64>) -> String {
    let binary = kind.columns.iter().any(|column| match column {
        Column::Fixed(cell) => matches!(cell, Cell::Byte(_)),
        Column::Field { shape, .. } => matches!(shape, Shape::Byte { .. } | Shape::Wide { .. }),
    });
    let pieces = kind.columns.iter().map(piece).collect::<Vec<_>>();
    let (key, layout) = if binary {
        ("bytes", format!("{} {}", pieces.join(" "), kind.suffix))
    } else {
        ("line", format!("{}{}", pieces.concat(), kind.suffix))
    };
    let (role, says) =
        if kind.order { ("order", "") } else { ("ignored", "         # for another part: known, and no wheel moves") };
    let mut out = format!("[[frame]]\nname = {}\nwire = \">\"\nrole = \"{role}\"{says}\n", quoted(&kind.name));
    out += &format!("{key} = {}\n", quoted(layout.trim()));
    for column in &kind.columns {
        out += &field(column, first_marker);
    }
    out + "\n"
}

fn piece(column: &Column) -> String {
    match column {
        Column::Fixed(Cell::Byte(byte)) => format!("{byte:02X}"),
        // `<<` is a `<` itself.
        Column::Fixed(Cell::Word(text) | Cell::Number(text) | Cell::Mark(text)) => text.replace('<', "<<"),
        Column::Field { name, .. } => format!("<{name}>"),
    }
}

/// Bytes from `first_marker` up cannot be data.
fn field(column: &Column, first_marker: Option<i64>) -> String {
    let Column::Field { name, means, shape } = column else { return String::new() };
    let kind = match shape {
        Shape::Word => "\"word\"".to_owned(),
        Shape::Decimal { digits, sign, .. } => {
            let digits = digits.map(|digits| format!(", digits = {digits}")).unwrap_or_default();
            let sign = if *sign == "never" { String::new() } else { format!(", sign = \"{sign}\"") };
            format!("\"decimal\"{digits}{sign}")
        }
        Shape::Byte { .. } => "\"u8\"".to_owned(),
        Shape::Wide { big_endian, .. } => format!("\"u16 {}\"", if *big_endian { "be" } else { "le" }),
    };
    let range = match shape {
        Shape::Word => None,
        Shape::Decimal { range, .. } => *range,
        Shape::Byte { range } => range.or(first_marker.map(|first| (0, first - 1))),
        Shape::Wide { range, .. } => Some(*range),
    };
    let range = range.map(|(low, high)| format!(", range = [{low}, {high}]")).unwrap_or_default();
    let word = Means::WORDS.iter().find(|(_, known)| known == means).map(|(word, _)| format!(", means = \"{word}\""));
    format!("fields.{name} = {{ kind = {kind}{range}{} }}\n", word.unwrap_or_default())
}

fn moves(learned: &Learned, said: &Said) -> String {
    let mut out =
        "# The move table. `is` says what the body does; the wheel signs (FL FR RL RR) follow from it.\n".to_owned();
    let mut used: Vec<&str> = Vec::new();
    for press in &learned.presses {
        let Some(code) = press.says.as_deref() else { continue };
        if used.contains(&code) {
            out += &format!("# {} sent the same code as another move: {}\n\n", press.motion.id(), quoted(code));
            continue;
        }
        used.push(code);
        out += &row(press, code, said.names.get(&press.motion));
    }
    out + &rest(learned)
}

fn row(press: &Press, code: &str, name: Option<&String>) -> String {
    let name = name.map(|name| format!("name = {}\n", quoted(name))).unwrap_or_default();
    let (motion, signs) = (press.motion.id(), signs_text(press.motion.signs()));
    format!("[[move]]\ncode = {}\nis = \"{motion}\"            # {signs}\n{name}\n", quoted(code))
}

fn rest(learned: &Learned) -> String {
    let row =
        |code: &str, says: &str| format!("{says}[[move]]\ncode = {}\nis = \"{}\"\n\n", quoted(code), Motion::Rest.id());
    match &learned.rest {
        Rest::Code(code) => row(code, ""),
        Rest::ByZero => row(NO_REST, "# Letting go sends the same code with duty 0; this row only keeps the place.\n"),
        Rest::Unknown => row(
            NO_REST,
            "# DANGER: no rest was ever heard when a button was let go. If your link has one, put its code here.\n",
        ),
        Rest::Stated => String::new(),
    }
}

fn duty(learned: &Learned) -> String {
    let Some(duty) = learned.duty else {
        return "# No duty was heard on this wire: 100 % stands for whatever the drive board gives.\n\
                [duty]\nfull = 100\nat_power_up = 100\n\n"
            .to_owned();
    };
    let persists = if duty.persists {
        "persists = true          # for this and later moves, until changed\n\
         # at_power_up = ...      # the duty before the first one is heard: look into the drive board's program\n"
    } else {
        ""
    };
    let lowest =
        format!("# The control went from {} to {}; its highest value is taken as 100 %.\n", duty.low, duty.full);
    format!("{lowest}[duty]\nfull = {}\n{persists}\n", duty.full.max(1))
}

fn counter(learned: &Learned) -> String {
    learned.counts.map(|counts| format!("[sequence]\ncounts = {counts}\n\n")).unwrap_or_default()
}

/// What the drive board does with what it reads does not stand on this wire.
fn reader(format: &Format) -> String {
    if let Format::Whole(file, _) = format {
        let own = shipped::sections(*file).into_iter().find(|section| section.name == "reader");
        return own.map(|section| format!("# Taken over, not learned.\n{}\n\n", section.text)).unwrap_or_default();
    }
    "# What the drive board makes of broken lines, and how long it obeys, cannot be heard. Look into its program:\n\
     # [reader]\n\
     # numbers = \"lenient\"      # leading digits, else 0; or \"strict\"\n\
     # unknown_words = \"ignored\"\n\
     # obeys = \"for ever\"       # or \"300 ms\"\n\n"
        .to_owned()
}

fn wheels(wiring: &[Wiring]) -> String {
    if wiring.is_empty() {
        return "# Which driver, terminal and pins each wheel has is not stated yet:\n\
                # [[driver]]\n# name = \"front\"\n# part = \"L298\"            # L298, TB6612FNG, DRV8833, or other\n\
                # [[wheel]]\n# at = \"FL\"\n# driver = \"front\"\n# terminal = \"M1\"\n# pins = [3, 4]\n"
            .to_owned();
    }
    let mut drivers: Vec<&str> = wiring.iter().map(|wiring| wiring.driver.as_str()).collect();
    drivers.sort_unstable();
    drivers.dedup();
    let driver = |name: &&str| format!("[[driver]]\nname = {}\npart = \"{}\"\n\n", quoted(name), wiring::part(name));
    drivers.iter().map(driver).chain(wiring.iter().map(wheel)).collect()
}

fn wheel(wiring: &Wiring) -> String {
    let Wiring { wheel, driver, terminal, pins, inverted } = wiring;
    let turned = if *inverted { "inverted = true\n" } else { "" };
    let (driver, terminal) = (quoted(driver), quoted(terminal));
    format!(
        "[[wheel]]\nat = \"{}\"\ndriver = {driver}\nterminal = {terminal}\npins = {pins:?}\n{turned}\n",
        wheel.name()
    )
}
