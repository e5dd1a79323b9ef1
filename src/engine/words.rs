//! Events in words, and bytes made harmless for a terminal.

use wheeltap_parsers::foreign::ResetCause;
use wheeltap_parsers::{Framing, LineClock, Pins, TextClass, Told, Value, Wire};

use super::event::{Event, Frame, Happening, MOST};
use super::snapshot::{Line, LineSort};
use crate::findings::ledger::{least_words, time_words};
use crate::rover::file::RoverFile;
use crate::rover::meaning::{Means, Role};
use crate::rover::mecanum::{body_motion, scrub};
use crate::rover::state::{Fields, motion_words};
use crate::rover::wheels::{Duties, Duty, Wheel, per_cent};
use crate::timing::link::{ASKED_OF_A_RECEIVER, BORNE_BY_A_RECEIVER};

/// Text for a terminal: printable characters as they are, every other byte as `\` and two hex digits.
pub fn harmless(bytes: &[u8]) -> String {
    let mut text = String::with_capacity(bytes.len());
    for chunk in bytes.utf8_chunks() {
        for letter in chunk.valid().chars() {
            if letter.is_control() || is_unsafe_mark(letter) {
                let mut buffer = [0; 4];
                push_escaped(&mut text, letter.encode_utf8(&mut buffer).as_bytes());
            } else {
                text.push(letter);
            }
        }
        push_escaped(&mut text, chunk.invalid());
    }
    text
}

/// Characters that turn the direction of writing or join invisibly, so that a line could look like another.
const fn is_unsafe_mark(letter: char) -> bool {
    matches!(letter, '\u{200B}'..='\u{200F}' | '\u{2028}'..='\u{202E}' | '\u{2060}'..='\u{206F}' | '\u{FEFF}')
}

fn push_escaped(text: &mut String, bytes: &[u8]) {
    for byte in bytes {
        text.push('\\');
        for digit in [byte >> 4, byte & 15] {
            text.push(char::from_digit(u32::from(digit), 16).unwrap_or('0').to_ascii_uppercase());
        }
    }
}

/// Bytes as hex pairs.
pub fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02X}")).collect::<Vec<_>>().join(" ")
}

/// Duties in words: the motion and the strongest duty.
pub fn duties_words(duties: Duties) -> String {
    if duties == [0; 4] {
        return "rest".to_owned();
    }
    let strongest = duties.iter().map(|duty| duty.abs()).max().unwrap_or(0);
    format!("{}, {} %", motion_words(body_motion(duties), scrub(duties)), per_cent(strongest))
}

/// An event as a line for the console and the plain report.
pub fn line(event: &Event, rover: Option<&RoverFile>) -> Line {
    let (sort, raw, words) = match &event.what {
        Happening::Frame(frame) => {
            let text = event.wire.and_then(|wire| rover?.profile(wire)).is_none_or(|profile| is_text(&profile.framing));
            let raw = if text { harmless(frame.raw.bytes().trim_ascii_end()) } else { hex(frame.raw.bytes()) };
            (LineSort::Frame, raw, frame_words(event.wire, frame, rover))
        }
        Happening::Damage { cause, raw, obeyed, .. } => {
            let also = if *obeyed { "; a lenient reader still took its number" } else { "" };
            (LineSort::Damage, shown(event, raw, rover), format!("damaged: {}{also}", cause.says()))
        }
        Happening::Text { class, raw } => {
            (LineSort::Text, harmless(raw.trim_ascii_end()), text_words(*class).to_owned())
        }
        Happening::Noise { raw } => {
            let cut = raw.get(..16).unwrap_or(raw);
            let more = if event.len as usize > cut.len() { " ..." } else { "" };
            (LineSort::Noise, format!("{}{more}", hex(cut)), format!("noise, {} bytes", event.len))
        }
        Happening::Note(text) => (LineSort::Note, String::new(), harmless(text.as_bytes())),
        other => (LineSort::Event, String::new(), event_words(other, event)),
    };
    let flags = match &event.what {
        Happening::Frame(frame) => frame.flags.iter().map(super::event::Flag::words).collect(),
        _ => Vec::new(),
    };
    Line {
        at: event.at,
        uncertain: event.span.width(),
        wire: event.wire,
        offset: event.offset,
        len: event.len,
        sort,
        raw,
        words,
        flags,
    }
}

fn is_text(framing: &Framing) -> bool {
    matches!(framing, Framing::Lines { .. })
}

fn shown(event: &Event, raw: &[u8], rover: Option<&RoverFile>) -> String {
    let profile = event.wire.and_then(|wire| rover?.profile(wire));
    if profile.is_none_or(|profile| is_text(&profile.framing)) { harmless(raw.trim_ascii_end()) } else { hex(raw) }
}

fn event_words(what: &Happening, event: &Event) -> String {
    match what {
        Happening::Lapse { certain: true } => "the deadline ran out with a wheel meant to turn".to_owned(),
        Happening::Lapse { certain: false } => "the deadline may have run out just before the next order".to_owned(),
        Happening::SilentWhileMoving { since } => {
            format!("silent for {} while a wheel is meant to turn", time_words(event.at - since))
        }
        Happening::NoAnswer { since } => format!("no answer to the order {} before", time_words(event.at - since)),
        Happening::Bunched { frames, gap } => {
            format!("{frames} orders or more came together after a silence of at least {}", least_words(*gap))
        }
        Happening::GapInside { by } => format!("its end came at least {} after its bytes were due", least_words(*by)),
        Happening::TooClose { by } => {
            format!("dated {} us nearer to the one before than the wire can carry it", by / 1000)
        }
        Happening::Asleep { lasted } => format!("the tap was asleep for {}", time_words(*lasted)),
        Happening::PortGone { dump: false } => "the port went away; nobody is listening".to_owned(),
        Happening::PortGone { dump: true } => {
            "this wire's level is not known from here on: the recording was stopped, or says x".to_owned()
        }
        Happening::PortBack { dump: false } => "the port is back".to_owned(),
        Happening::PortBack { dump: true } => "this wire's level is known again".to_owned(),
        Happening::Lost { bytes, damaged: false } => format!("{bytes} bytes were received but could not be kept"),
        Happening::Lost { bytes: 0, damaged: true } => "bytes may be missing here: the session is damaged".to_owned(),
        Happening::Lost { bytes, damaged: true } => format!("{bytes} bytes are missing here: the session is damaged"),
        Happening::Pins(pins) => pins_words(pins),
        Happening::Clock(clock) => clock_words(clock),
        _ => String::new(),
    }
}

/// What the pins told, in words: wheels whose inputs are not recorded are left out.
fn pins_words(pins: &Pins) -> String {
    let told = |(wheel, told): (Wheel, Told)| match told {
        Told::NotProbed => None,
        Told::Open => Some(format!("{} open", wheel.name())),
        Told::Duty(duty) => Some(format!("{} {}", wheel.name(), signed_per_cent(duty))),
    };
    let wheels: Vec<String> = Wheel::ALL.into_iter().zip(pins.wheels).filter_map(told).collect();
    format!("seen at the pins of the {}: {}", pins.place.word(), wheels.join(", "))
}

/// A duty in per cent with its tenth and its sign.
pub fn signed_per_cent(duty: Duty) -> String {
    let sign = if duty > 0 { "+" } else { "" };
    format!("{sign}{:.1} %", f64::from(duty) / 10.0)
}

/// A sender's clock, in words. What a receiver should bear is said where it matters: stop bits were broken, or the clock is
/// off by more than receivers bear.
pub fn clock_words(clock: &LineClock) -> String {
    let baud = (clock.milli_baud + 500) / 1_000;
    let off = clock.error_ppm.map_or_else(String::new, |ppm| {
        let way = if ppm < 0 { "slow" } else { "fast" };
        let beyond =
            if ppm.abs() <= ASKED_OF_A_RECEIVER || (ppm.abs() <= BORNE_BY_A_RECEIVER && clock.framing_errors == 0) {
                ""
            } else if ppm.abs() <= BORNE_BY_A_RECEIVER {
                " (a receiver should not be asked to bear more than 2 %)"
            } else {
                " (more than 4.5 %: few receivers bear that)"
            };
        format!(", {:.2} % {way}{beyond}", ppm.abs() as f64 / 1e4)
    });
    let broken = match clock.framing_errors {
        0 => "no framing error".to_owned(),
        1 => "one framing error".to_owned(),
        many => format!("{many} framing errors"),
    };
    format!("clock of the sender by its edges: {baud} baud{off}; {broken}")
}

/// What a piece of text tells, in words.
pub const fn text_words(class: TextClass) -> &'static str {
    match class {
        TextClass::Start { cause: Some(cause), .. } => match cause {
            ResetCause::Power => "board starts: power came on",
            ResetCause::External => "board starts: its reset pin was pulled",
            ResetCause::BrownOut => "board starts: its supply sagged (brown-out)",
            ResetCause::Watchdog => "board starts: its watchdog ran out",
            ResetCause::Software => "board starts: it restarted itself",
            ResetCause::Sleep => "board wakes from sleep",
            ResetCause::Unknown => "board starts: cause not known",
        },
        TextClass::Start { cause: None, .. } => "board starts",
        TextClass::Reset(cause) => match cause {
            ResetCause::Power => "reset cause: power came on",
            ResetCause::External => "reset cause: reset pin",
            ResetCause::BrownOut => "reset cause: supply sagged (brown-out)",
            ResetCause::Watchdog => "reset cause: watchdog",
            ResetCause::Software => "reset cause: it restarted itself",
            ResetCause::Sleep => "reset cause: woke from sleep",
            ResetCause::Unknown => "reset cause not known",
        },
        TextClass::BrownOut => "its supply sagged (brown-out)",
        TextClass::Watchdog => "its watchdog ran out",
        TextClass::Crash => "its program crashed",
        TextClass::Backtrace => "where it crashed",
        TextClass::Download => "it waits for new firmware",
        TextClass::FlashError => "it cannot read its program",
        TextClass::StartDetail => "start-up text",
        TextClass::Free => "text",
    }
}

fn frame_words(wire: Option<Wire>, frame: &Frame, rover: Option<&RoverFile>) -> String {
    let found = wire.and_then(|wire| {
        let rover = rover?;
        let kind = rover.profile(wire)?.kinds.get(frame.kind)?;
        Some((rover.meaning.kinds[wire.index()].get(frame.kind)?, kind))
    });
    let Some((meaning, kind)) = found else { return String::new() };
    let mut values = [Value::Int(0); MOST];
    let count = values.iter_mut().zip(frame.values.iter()).map(|(place, value)| *place = value).count();
    let fields = Fields { meaning, fields: &kind.fields, values: values.get(..count).unwrap_or(&[]) };
    match meaning.role {
        Role::Order => order_words(frame, fields),
        Role::Answer => answer_words(fields, rover),
        Role::Report => match rover.and_then(|rover| fields.code(Means::Move).map(|code| (rover, code))) {
            Some((rover, code)) => {
                let row = rover.meaning.moves.iter().find(|row| row.code == code);
                let duty = fields.thousandths(Means::Duty).map(|value| per_cent(rover.meaning.duty.duty(value)));
                let name = row.map_or(code.as_str(), |row| row.name.as_str());
                duty.map_or(format!("drive board: {name}"), |duty| format!("drive board: {name}, {duty} %"))
            }
            None => "drive board's own report".to_owned(),
        },
        Role::Lapse => "drive board: the deadline ran out".to_owned(),
        Role::Hello => {
            let said = [fields.word(Means::Firmware), fields.word(Means::Reason)];
            let said: Vec<&str> = said.into_iter().flatten().collect();
            format!("drive board is up: {}", said.join(", "))
        }
        Role::Ignored => "for another part; no wheel moves".to_owned(),
    }
}

fn order_words(frame: &Frame, fields: Fields<'_>) -> String {
    let alone = fields.meaning.field(Means::Duty).is_some() && fields.meaning.field(Means::Move).is_none();
    match frame.meant {
        _ if alone => {
            fields.thousandths(Means::Duty).map_or(String::new(), |value| format!("duty {} from now on", value / 1000))
        }
        Some(duties) => duties_words(duties),
        None => "duty not heard yet".to_owned(),
    }
}

fn answer_words(fields: Fields<'_>, rover: Option<&RoverFile>) -> String {
    let word = fields.word(Means::Answer).unwrap_or_default();
    let [obeyed, refused] = rover.map(|rover| rover.meaning.answers.clone()).unwrap_or_default();
    let mut words = if obeyed.iter().any(|known| known == word) {
        "obeyed".to_owned()
    } else if refused.iter().any(|known| known == word) {
        "refused".to_owned()
    } else {
        word.to_owned()
    };
    if let Some(volts) = fields.thousandths(Means::Volts) {
        words += &format!(", {}.{} V", volts / 1000, volts % 1000 / 100);
    }
    if let Some(error) = fields.whole(Means::Error).filter(|error| *error != 0) {
        words += &format!(", error {error:02X}");
    }
    words
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn foreign_text_is_made_harmless() {
        assert_eq!(harmless(b"a\x1b[31mb\r\n"), "a\\1B[31mb\\0D\\0A");
        assert_eq!(harmless(b"\xff\xfeok\x00"), "\\FF\\FEok\\00");
        assert_eq!(harmless("caf\u{e9} \u{202e}x".as_bytes()), "caf\u{e9} \\E2\\80\\AEx");
    }
}
