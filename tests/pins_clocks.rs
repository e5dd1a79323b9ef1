//! Clocks of senders against the rates that a real divisor makes, and what is said of a receiver that has to bear them.
//!
//! Witnesses: the equations of an `ATmega328P`'s rate (data sheet DS40002061B, chapter USART: clock / (16 (n + 1)), or 8 at
//! double speed); Microchip's table of the largest error of a receiver's rate, USART chapter, 8 data bits: 4.54 % slow to
//! 4.58 % fast, 2.0 % recommended, with 16 samples a bit; 4.00 % slow to 3.90 % fast, 1.5 % recommended, with 8 (read in an
//! excerpt).
#![allow(missing_docs, clippy::unwrap_used)]

#[path = "pins/given.rs"]
mod given;
#[path = "pins/made_dump.rs"]
mod made_dump;

use given::{given, source, text};
use made_dump::MadeDump;
use wheeltap::engine::words::clock_words;
use wheeltap::source::pins::{Asked, RoverPins};
use wheeltap_parsers::LineClock;

const LINES: &[u8] = b"pace,180\nway,port\nway,rest\n";
const CLOCK: f64 = 16e6;

/// Rates at 16 MHz: what is meant, samples a bit, the error in per cent as the equations give it.
const DIVISORS: [(u32, f64, f64); 11] = [
    (9_600, 16.0, 0.16),
    (19_200, 16.0, 0.16),
    (38_400, 16.0, 0.16),
    (57_600, 16.0, 2.12),
    (57_600, 8.0, -0.79),
    (115_200, 16.0, -3.55),
    (115_200, 8.0, 2.12),
    (230_400, 16.0, 8.51),
    (230_400, 8.0, -3.55),
    (250_000, 16.0, 0.0),
    (500_000, 16.0, 0.0),
];

fn made(baud: f64) -> String {
    let mut dump = MadeDump::default();
    let wire = dump.signal("tx", '1');
    dump.send(1_000_000, wire, &LINES.repeat(20), 1e9 / baud);
    dump.text()
}

#[test]
fn the_error_of_a_divisor_is_told_and_judged() {
    for (meant, samples, per_cent) in DIVISORS {
        let divisor = (CLOCK / (samples * f64::from(meant))).round();
        let baud = CLOCK / (samples * divisor);
        let off = (baud / f64::from(meant) - 1.0) * 100.0;
        assert!((off - per_cent).abs() < 0.006, "{meant} by {samples}: {off}");
        let rover = RoverPins { rate: Some(meant), ..RoverPins::default() };
        let given = given(&made(baud), &Asked { rover, ..Asked::default() }).unwrap();
        assert_eq!(text(&given.bytes[0]).as_bytes(), LINES.repeat(20), "edges are read whatever the rate");
        let clock = given.clocks.last().unwrap();
        assert!((clock.error_ppm.unwrap() as f64 / 1e4 - off).abs() < 0.1, "{meant} by {samples}: {clock:?}");
        // What a receiver should be asked to bear is said where stop bits were broken; what it cannot bear always.
        for broken in [0, 1] {
            let words = clock_words(&LineClock { framing_errors: broken, ..*clock });
            let (asked, borne) = (words.contains("more than 2 %"), words.contains("few receivers bear"));
            let due = broken > 0 && (2.0..4.54).contains(&off.abs());
            assert_eq!((asked, borne), (due, off.abs() > 4.58), "{words}");
        }
    }
}

/// The bounds in words are those of the table: just inside, just outside.
#[test]
fn the_bounds_are_those_of_the_table() {
    let rover = RoverPins { rate: Some(115_200), ..RoverPins::default() };
    let said = |per_cent: f64| {
        let dump = made(115_200.0 * (1.0 + per_cent / 100.0));
        let given = given(&dump, &Asked { rover: rover.clone(), ..Asked::default() }).unwrap();
        clock_words(&LineClock { framing_errors: 1, ..*given.clocks.last().unwrap() })
    };
    for (per_cent, words) in [
        (-1.9, "1.90 % slow;"),
        (1.9, "1.90 % fast;"),
        (2.1, "more than 2 %"),
        (-4.4, "more than 2 %"),
        (4.7, "few receivers bear"),
        (-5.26, "few receivers bear"),
    ] {
        let said = said(per_cent);
        assert!(said.contains(words), "{per_cent}: {said}");
    }
    assert!(source(&made(115_200.0), &Asked::default()).unwrap().words()[0].contains("115"));
}
