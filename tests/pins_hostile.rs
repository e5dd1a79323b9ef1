//! Dumps as careless recorders and hasty people make them: cut at the last edge, too coarse, without a unit of time,
//! upside down, and options that contradict each other.
//!
//! The witness is the dump itself, written by hand from the standard's grammar (IEEE 1364-2005, clause 18.2) in
//! `pins/made_dump.rs`, or line by line here.
#![allow(missing_docs, clippy::unwrap_used)]

#[path = "pins/given.rs"]
mod given;
#[path = "pins/made_dump.rs"]
mod made_dump;

use given::{given, source, text};
use made_dump::{MadeDump, Wheels};
use wheeltap::source::pins::{Asked, RoverPins, WheelAsked};

const MS: i64 = 1_000_000;
const BIT: f64 = 1e9 / 115_200.0;
const LINES: &[u8] = b"pace,180\nway,port\nway,rest\n";

fn wires(names: &[&str]) -> Asked {
    Asked { wires: names.iter().map(|name| (*name).to_owned()).collect(), ..Asked::default() }
}

fn pins(words: &[&str]) -> Asked {
    Asked { pins: words.iter().map(|words| WheelAsked::read(words).unwrap()).collect(), ..Asked::default() }
}

/// A rover file that states the rate.
fn at_rate(asked: Asked, rate: u32) -> Asked {
    Asked { rover: RoverPins { rate: Some(rate), ..RoverPins::default() }, ..asked }
}

/// These bytes on one wire; the dump ends with the last change, no time behind it.
fn cut_at_the_last_edge(bytes: &[u8]) -> String {
    let mut dump = MadeDump::default();
    let wire = dump.signal("tx", '1');
    dump.send(5 * MS, wire, bytes, BIT);
    let whole = dump.text();
    let (to_edge, _) = whole.trim_end().rsplit_once("\n#").unwrap();
    format!("{to_edge}\n")
}

/// A dump holds changes only (clause 18.2), so a level that is not followed by a change stays. `\n` ends with its last
/// edge at the stop bit; of FF the only edges are those of the start bit.
#[test]
fn the_last_byte_is_heard_though_the_dump_ends_with_its_last_edge() {
    for bytes in [&b"pace,180\nway,port\n"[..], b"pace,180\nway,port\xff", b"pace,180\nway,port\x9c"] {
        let dump = cut_at_the_last_edge(bytes);
        let given = given(&dump, &Asked::default()).unwrap();
        let heard: Vec<u8> = given.bytes[0].iter().map(|(_, byte)| *byte).collect();
        assert_eq!(heard, bytes, "{}", &dump[dump.len() - 40..]);
        let (last, due) = (given.bytes[0].last().unwrap().0, 5 * MS + (bytes.len() as f64 * 10.0 * BIT) as i64);
        assert!((last - due).abs() <= 100, "{last}, due {due}");
        assert!(*given.ticks.last().unwrap() >= last);
    }
}

/// A recorder that says when it stopped, or whose file was cut, tells nothing of what followed: a byte of which not all
/// bits were seen is not made up.
#[test]
fn a_byte_under_way_is_not_made_up() {
    let whole = cut_at_the_last_edge(b"pace,180\nway,port\xf0");
    let heard = |dump: &str| given(dump, &Asked::default()).unwrap().bytes[0].len();
    assert_eq!(heard(&whole), 18);
    let begins = 5 * MS + (170.0 * BIT) as i64;
    let stopped = format!("{whole}#{}\n", begins + (7.0 * BIT) as i64);
    assert_eq!(heard(&stopped), 17, "it stopped within the seventh bit");
    let stopped_later = format!("{whole}#{}\n", begins + (9.2 * BIT) as i64);
    assert_eq!(heard(&stopped_later), 18, "all eight bits were seen");
    assert_eq!(heard(whole.trim_end()), 17, "the file is cut within a line");
    let low = whole.trim_end().rsplit_once("\n#").unwrap().0.to_owned() + "\n";
    assert_eq!(heard(&low), 17, "the wire is low at the end");
}

/// Where no edge, or none that fits, tells the rate, the rover file's is used, and that is what is said.
#[test]
fn a_rate_that_no_edge_told_is_said_to_be_the_rover_files() {
    let mut dump = MadeDump::default();
    dump.signal("tx", '1');
    dump.ends(100 * MS);
    let asked = at_rate(wires(&["tx"]), 115_200);
    let quiet = source(&dump.text(), &asked).unwrap();
    let words = quiet.words().concat();
    assert!(!words.contains("by its edges"), "{words}");
    assert!(words.contains("Wire > is tx, read at 115200 baud as the rover file says: it has no edges"), "{words}");
    assert_eq!(given(&dump.text(), &asked).unwrap().clocks, []);
    let why = given(&dump.text(), &wires(&["tx"])).err().unwrap();
    assert!(why.contains("has no edges at the beginning of the dump") && why.contains("state the rate"), "{why}");
}

/// Lines as a recorder sees them that looks once in `step`, counted in nanoseconds or in its own steps.
fn sampled(unit: &str, unit_ns: i64, step: i64, rate: f64, times: usize) -> String {
    let bit = 1e9 / rate;
    let mut text = format!("$timescale {unit} $end\n$var wire 1 ! tx $end\n$enddefinitions $end\n#0\n1!\n");
    let mut last = 1;
    let message = LINES.repeat(times);
    for look in 0.. {
        let at = look * step;
        let place = ((at - 5 * MS) as f64 / bit).floor();
        let (byte, bit_in_byte) = ((place / 10.0).floor(), place.rem_euclid(10.0));
        if byte >= message.len() as f64 {
            return format!("{text}#{}\n", (at + 50 * MS) / unit_ns);
        }
        let bits = if byte < 0.0 { 0x3FF } else { u32::from(message[byte as usize]) << 1 | 1 << 9 };
        let level = bits >> bit_in_byte as u32 & 1;
        if level != last {
            text += &format!("#{}\n{level}!\n", at / unit_ns);
            last = level;
        }
    }
    unreachable!()
}

/// At 115200 baud a bit lasts 8.7 us. A recorder that looks once in a millisecond sees levels that have nothing to do with
/// the bytes: no clock is told, no byte is made of them, and the grid is said.
#[test]
fn a_grid_of_a_millisecond_gives_no_clock_and_no_bytes() {
    for dump in [sampled("1 ms", MS, MS, 115_200.0, 60), sampled("1 ns", 1, MS, 115_200.0, 60)] {
        for asked in [wires(&["tx"]), at_rate(wires(&["tx"]), 115_200), at_rate(Asked::default(), 115_200)] {
            let why = given(&dump, &asked).map(|given| given.clocks).expect_err("a clock of nothing");
            assert!(why.contains("times step by 1 ms") && why.contains("4 steps a bit"), "{why}");
        }
    }
}

/// Two to three looks a bit: the bytes may still be right, a clock may not be told of them. Twelve looks a bit, and
/// enough bytes, are good for half a per cent.
#[test]
fn a_clock_is_told_only_where_the_grid_bears_it() {
    for (step, rate) in [(1_000, 115_200.0), (42, 115_200.0), (8_000, 9_600.0)] {
        let given = given(&sampled("1 ns", 1, step, rate, 6), &Asked::default()).unwrap();
        assert_eq!(text(&given.bytes[0]).as_bytes(), LINES.repeat(6), "{step} ns");
        let clock = given.clocks.last().unwrap();
        assert!(clock.error_ppm.unwrap().abs() < 5_000, "{step} ns: {clock:?}");
    }
    for (step, rate) in [(100_000, 9_600.0), (40_000, 9_600.0), (4_000, 115_200.0)] {
        let dump = sampled("1 ns", 1, step, rate, 6);
        let clocks = given(&dump, &at_rate(wires(&["tx"]), rate as u32)).map(|given| given.clocks);
        assert!(clocks.clone().unwrap_or_default().is_empty(), "{step} ns: {clocks:?}");
    }
}

/// The standard knows no unit of time that holds where none is stated (clause 18.2.3.6).
#[test]
fn a_dump_without_a_timescale_is_refused() {
    let dump = cut_at_the_last_edge(LINES).replace("$timescale 1 ns $end\n", "");
    let why = given(&dump, &Asked::default()).err().unwrap();
    assert!(why.starts_with("made.vcd: line ") && why.contains("states no `$timescale`"), "{why}");
    assert!(why.contains("Write `$timescale 1 ns $end`"), "{why}");
}

/// RS-232 turns the levels over: the wire rests low (levels of RS-232 from memory, no source at hand).
#[test]
fn a_wire_that_is_turned_over_is_read_and_said_to_be() {
    let upright = cut_at_the_last_edge(LINES);
    let turn = |line| match line {
        "0!" => "1!",
        "1!" => "0!",
        other => other,
    };
    let turned = upright.lines().map(turn).collect::<Vec<_>>().join("\n") + "\n";
    for (dump, over) in [(upright, false), (turned, true)] {
        for asked in [Asked::default(), wires(&["tx"]), at_rate(wires(&["tx"]), 115_200)] {
            let source = source(&dump, &asked).unwrap();
            let words = source.words().concat();
            assert_eq!(words.contains("upside down") && words.contains("rests low"), over, "{words}");
            let port = &wheeltap::source::Source::link(&source).wires[0].as_ref().unwrap().port;
            assert_eq!(port.contains("upside down"), over, "{port}");
            assert_eq!(text(&given(&dump, &asked).unwrap().bytes[0]).as_bytes(), LINES);
        }
    }
}

#[test]
fn options_that_name_one_thing_twice_are_refused() {
    let mut dump = MadeDump::default();
    let wire = dump.signal("tx", '1');
    let _ = Wheels::at(&mut dump, "wheel");
    dump.send(5 * MS, wire, LINES, BIT);
    let dump = dump.text();
    let fl = "wheel:FL=fl.in1,fl.in2,fl.en";
    for (asked, words) in [
        (wires(&["tx", "tx"]), "--wire names tx twice"),
        (pins(&[fl, fl]), "--pins names FL at the wheel twice"),
        (pins(&[fl, "FL=rr.in1,rr.in2"]), "--pins names FL at the wheel twice"),
        (pins(&["FL=fl.in1,fl.in1,fl.en"]), "--pins FL names wheel.fl.in1 twice"),
        (
            Asked { wires: vec!["tx".to_owned()], ..pins(&["FL=tx,fl.in2"]) },
            "tx is named by --wire, and it is an input of a wheel",
        ),
    ] {
        let why = given(&dump, &asked).err().unwrap_or_default();
        assert!(why.contains(words) && why.ends_with('.'), "{words}: {why}");
    }
    let both = Asked { pins: pins(&[fl, "chip:FL=rr.in1,rr.in2", "RL=rl.in1,rl.in2,fl.en"]).pins, ..Asked::default() };
    assert!(given(&dump, &both).is_ok(), "two places, and an enable that two wheels share");
}
