//! What the verbs say of a value-change dump that is cut, coarse, without a wire, or opened by a verb for sessions: the
//! real program.
//!
//! The witness is the dump itself, written by hand from the standard's grammar (IEEE 1364-2005, clause 18.2) in
//! `pins/made_dump.rs`.
#![cfg(unix)]
#![allow(missing_docs, clippy::unwrap_used)]

#[path = "pins/made_dump.rs"]
mod made_dump;
#[path = "terminal/without_screen.rs"]
mod without_screen;

use std::path::Path;

use made_dump::{MadeDump, Wheels};
use without_screen::{Ended, Running};

const MS: i64 = 1_000_000;
const BIT: f64 = 1e9 / 115_200.0;
const ORDERS: [(i64, &str); 4] = [(50, "pace,180\n"), (100, "way,ahead\n"), (700, "way,port\n"), (1_300, "way,rest\n")];
/// 180 of 255, thousandths.
const D: i64 = 706;

/// The plain line's orders with the pins of the chip as meant: the rover file has the left side's motors mirrored.
fn sound(wire: &str) -> MadeDump {
    let mut dump = MadeDump::default();
    let wire = dump.signal(wire, '1');
    let chip = Wheels::at(&mut dump, "chip");
    for (at, text) in ORDERS {
        dump.send(at * MS, wire, text.as_bytes(), BIT);
    }
    chip.told(&mut dump, (102 * MS, 702 * MS), [-D, D, -D, D]);
    chip.told(&mut dump, (702 * MS, 1_302 * MS), [D, D, -D, -D]);
    chip.told(&mut dump, (1_302 * MS, 1_303 * MS), [0; 4]);
    dump.send(2_000 * MS, wire, b"way,rest\n", BIT);
    dump.ends(2_500 * MS);
    dump
}

fn told(text: &str, arguments: &[&str]) -> Ended {
    told_bytes(text.as_bytes(), arguments)
}

/// The verb on this dump, with the plain line's rover file.
fn told_bytes(text: &[u8], arguments: &[&str]) -> Ended {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("made.vcd"), text).unwrap();
    run(folder.path(), arguments)
}

fn run(folder: &Path, arguments: &[&str]) -> Ended {
    Running::wheeltap(folder, &[arguments, &["--rover", "plain-line"]].concat()).end()
}

#[test]
fn compare_judges_a_dump_as_decode_does() {
    let text = sound("tx").text();
    let alone = told(&text, &["decode", "made.vcd"]);
    assert_eq!((alone.code(), alone.text().contains("the chip told")), (0, false), "{}", alone.text());
    let both = told(&text, &["compare", "made.vcd", "made.vcd"]);
    assert_eq!(both.code(), 0, "{}", both.err);
    assert!(!both.text().contains("the chip told") && both.text().contains("ahead: 1 -> 1"), "{}", both.text());
    assert!(both.err.contains("Wire > is tx, 115200 baud by its edges."), "{}", both.err);
    let none = told_bytes(b"way,port\n", &["compare", "made.vcd", "made.vcd", "--wire", "tx"]);
    assert_eq!(none.code(), 2);
    assert!(none.err.contains("choose signals of a value-change dump"), "{}", none.err);
}

#[test]
fn a_dump_is_no_bundle_and_its_rows_are_frames_only() {
    let text = sound("tx").text();
    let bundle = told(&text, &["bundle", "made.vcd", "--out", "away"]);
    assert_eq!(bundle.code(), 2);
    for words in
        ["this is a value-change dump, and a bundle is a session", "wheeltap decode made.vcd", "wheeltap listen"]
    {
        assert!(bundle.err.contains(words), "{words}: {}", bundle.err);
    }
    let rows = told(&text, &["export", "made.vcd"]);
    assert_eq!((rows.code(), rows.text().lines().count()), (0, 1 + ORDERS.len() + 1), "{}", rows.text());
    assert!(rows.err.contains("what was seen at the pins is no row"), "{}", rows.err);
}

#[test]
fn a_wire_that_was_not_found_is_said() {
    // The wire is flat and its name says nothing.
    let mut flat = MadeDump::default();
    let _ = (flat.signal("lamp", '1'), flat.signal("tx", '1'));
    let chip = Wheels::at(&mut flat, "chip");
    chip.told(&mut flat, (102 * MS, 702 * MS), [-D, D, -D, D]);
    flat.ends(900 * MS);
    let ended = told(&flat.text(), &["decode", "made.vcd"]);
    assert_eq!(ended.code(), 2, "{}", ended.err);
    assert!(ended.text().contains("seen at the pins of the chip: FL +70.6 %"), "{}", ended.text());
    for words in ["No wire was found: none of these signals looks like bytes: lamp, tx.", "--wire NAME"] {
        assert!(ended.err.contains(words), "{words}: {}", ended.err);
    }
    // Only pins: shown, and the wire is missed.
    let mut pins = MadeDump::default();
    let chip = Wheels::at(&mut pins, "chip");
    chip.told(&mut pins, (102 * MS, 702 * MS), [-D, D, -D, D]);
    pins.ends(900 * MS);
    let ended = told(&pins.text(), &["decode", "made.vcd"]);
    assert_eq!(ended.code(), 0, "{}", ended.err);
    assert!(ended.err.contains("No wire was found: every signal is an input of a wheel"), "{}", ended.err);
}

/// The times of a dump made coarser, as a recorder with a slow clock writes them.
fn coarser(text: &str, by: i64, unit: &str) -> String {
    let time = |line: &str| match line.strip_prefix('#') {
        Some(time) => format!("#{}", time.parse::<i64>().unwrap() / by),
        None => line.to_owned(),
    };
    let lines: Vec<String> = text.lines().map(time).collect();
    lines.join("\n").replace("$timescale 1 ns $end", &format!("$timescale {unit} $end")) + "\n"
}

/// At 115200 baud a bit lasts 8.7 us; the pulses last 1 ms.
#[test]
fn times_too_coarse_for_wire_or_pulses_are_said_and_accuse_nobody() {
    let text = sound("tx").text();
    for (by, unit, duty) in [
        (10_000, "10 us", None),
        (100_000, "100 us", Some("so a duty is known to 10.0 % only")),
        (MS, "1 ms", Some("too coarse for its pulses: only which way is judged. Record with steps of 10 us or less")),
    ] {
        let ended = told(&coarser(&text, by, unit), &["decode", "made.vcd"]);
        assert_eq!(ended.code(), 2, "{unit}: {}", ended.err);
        let words = format!("The dump's times step by {unit}, and bytes at 115200 baud need 4 steps a bit at least");
        assert!(ended.err.contains("No wire was found") && ended.err.contains(&words), "{unit}: {}", ended.err);
        assert_eq!(ended.err.contains("so a duty is known") || ended.err.contains("only which way"), duty.is_some());
        assert!(duty.is_none_or(|duty| ended.err.contains(duty)), "{unit}: {}", ended.err);
        assert!(!ended.text().contains("FAULT"), "{unit}: {}", ended.text());
    }
}

#[test]
fn what_the_end_took_is_said_behind_all_that_is_left() {
    let text = sound("tx").text();
    let (to_end, _) = text.trim_end().rsplit_once('\n').unwrap();
    let comment = text.replacen("#700", "$comment never closed\n#700", 1);
    for (cut, words) in [
        (format!("{to_end}\n#21"), "the dump ends inside a word, `#21`"),
        (format!("{to_end}\n#2500000000\n1"), "the dump ends inside a word, `1`"),
        (comment, "a `$comment` begins here and has no `$end`, so all"),
    ] {
        let ended = told(&cut, &["decode", "made.vcd"]);
        assert_eq!(ended.code(), 2, "{words}: {}", ended.err);
        assert!(ended.err.contains("made.vcd: line ") && ended.err.contains("(byte "), "{}", ended.err);
        assert!(ended.err.contains(words) && ended.text().contains("way,ahead"), "{words}: {}", ended.err);
    }
    let unsure = told(text.trim_end(), &["decode", "made.vcd"]);
    assert_eq!(unsure.code(), 0, "{}", unsure.err);
    assert!(unsure.err.contains("and no end of a line behind it"), "{}", unsure.err);
}

/// A mark before UTF-8, and two bytes a letter, as some editors save a text.
#[test]
fn a_dump_is_known_behind_a_mark_and_in_two_bytes_a_letter() {
    let text = sound("tx").text();
    let marked = told(&format!("\u{feff}{text}"), &["decode", "made.vcd"]);
    assert_eq!((marked.code(), marked.text()), (0, told(&text, &["decode", "made.vcd"]).text()));
    let wide = |big: bool| -> Vec<u8> {
        let order = |unit: u16| if big { unit.to_be_bytes() } else { unit.to_le_bytes() };
        format!("\u{feff}{text}").encode_utf16().flat_map(order).collect()
    };
    for bytes in [wide(false), wide(true), wide(false)[2..].to_vec()] {
        let ended = told_bytes(&bytes, &["decode", "made.vcd"]);
        assert_eq!(ended.code(), 2);
        assert!(ended.err.contains("UTF-16") && ended.err.contains("save it as plain text"), "{}", ended.err);
    }
}

#[test]
fn two_signals_of_one_name_have_a_way_out() {
    let text = sound("tap.tx").text();
    let twice = text.replacen(
        "$enddefinitions",
        "$scope module tap $end\n$var wire 1 ~ tx $end\n$upscope $end\n$enddefinitions",
        1,
    );
    let line = 1 + twice.lines().position(|line| line.contains("1 ~ tx")).unwrap();
    let ended = told(&twice, &["decode", "made.vcd", "--wire", "tap.tx"]);
    assert_eq!(ended.code(), 2);
    let words = format!("2 signals have the one name `tap.tx` (--wire): the header declares them in lines 4, {line}.");
    assert!(ended.err.contains(&words) && ended.err.contains("Give them different names"), "{}", ended.err);
    assert_eq!(told(&twice, &["decode", "made.vcd"]).code(), 0, "only one of them has edges");
}

/// A wire that is named as the one back and never changes is tapped, and nobody sends on it.
#[test]
fn a_silent_wire_that_is_named_is_taken() {
    let mut dump = sound("tap.to_drive");
    dump.signal("tap.from_drive", '1');
    let ended = told(&dump.text(), &["decode", "made.vcd"]);
    let words = "Wire < is tap.from_drive, silent: it stays high at the beginning of the dump; read at 115200 baud as the \
                 other wire.";
    assert!(ended.err.contains(&words.replace("                 ", "")), "{}", ended.err);
}

/// `x` on the wire, as after `$dumpoff`: no adapter was unplugged.
#[test]
fn a_level_that_is_not_known_is_no_port_that_went_away() {
    let mut dump = sound("tx");
    dump.set(1_500 * MS, 0, 'x');
    dump.set(1_600 * MS, 0, '1');
    let ended = told(&dump.text(), &["decode", "made.vcd"]);
    let text = ended.text();
    assert_eq!(ended.code(), 0, "{text}");
    assert!(text.contains("level is not known from here on: the recording was stopped, or says x"), "{text}");
    assert!(text.contains("DOUBT: The level of a wire was not known once"), "{text}");
    assert!(!text.contains("port went away") && !text.contains("adapter's plug"), "{text}");
}

/// Four lows longer than a byte: broken stop bits. The clock is told once, with its figure, and so is their number.
#[test]
fn the_clock_is_told_once_whatever_breaks() {
    let mut dump = sound("tx");
    for at in [1_400, 1_500, 1_600, 1_700] {
        dump.set(at * MS, 0, '0');
        dump.set((at + 1) * MS, 0, '1');
    }
    let ended = told(&dump.text(), &["decode", "made.vcd"]);
    let clocks: Vec<&str> = ended.text().lines().filter(|line| line.contains("clock of the sender")).collect();
    assert!(matches!(clocks.as_slice(), [one] if one.contains("4 framing errors")), "{clocks:?}");
}

/// Without an enable only which way is known: a wheel that turns as meant is not accused, one that turns the other way is.
#[test]
fn without_an_enable_only_the_way_is_judged() {
    let text = sound("tx").text();
    // The code stays declared, under a name of no input.
    let blind = text.replace(" en $end", " held $end");
    let ended = told(&blind, &["decode", "made.vcd"]);
    assert_eq!(ended.code(), 0, "{}", ended.text());
    assert!(ended.err.contains("no enable recorded: only which way it would turn is known"), "{}", ended.err);
    let swapped = blind.replacen(" in1 $end", " inx $end", 1).replacen(" in2 $end", " in1 $end", 1);
    let swapped = swapped.replacen(" inx $end", " in2 $end", 1);
    let ended = told(&swapped, &["decode", "made.vcd"]);
    assert_eq!(ended.code(), 1, "{}", ended.text());
    assert!(ended.text().contains("FL: meant was +70.6 %, the chip told backward (the other way)"), "{}", ended.text());
}
