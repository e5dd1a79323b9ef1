//! A board starts anew in mid-run.

use super::hand_made::{POWER, SAG, back, checked, count, cue, finding, got, lacks, play, stave, to, unknown};
use wheeltap_parsers::Wire;

#[test]
fn positive() {
    let engine = play(
        "cue-line",
        &[cue(1_000, 1, 1, [0, 0, 0]), cue(1_200, 2, 2, [0, 90, 0]), to(1_400, SAG), cue(4_000, 0, 0, [0, 0, 0])],
    );
    let found = finding(&engine, "reset-brown-out").unwrap();
    assert_eq!(found.count, 1);
    assert!(
        found.says.contains("command board") && found.says.contains("once within a second of a step"),
        "{}",
        found.says
    );
}

/// A board that is switched on; a chip's text of power-on in mid-run is one, since nobody switched it.
#[test]
fn look_alike() {
    let on = play("cue-line", &[to(500, POWER), cue(1_000, 0, 0, [0, 0, 0])]);
    assert_eq!(on.findings().iter().filter(|finding| finding.id.starts_with("reset")).count(), 0);
    let again = play("cue-line", &[cue(1_000, 7, 7, [0, 0, 0]), to(1_500, POWER), cue(2_000, 0, 0, [0, 0, 0])]);
    assert_eq!(count(&again, "reset-power"), 1);
}

/// Nothing is needed of the link but the text. A board whose wire is not tapped, or whose own text no rover file
/// explains, is neither accused nor cleared.
#[test]
fn cannot_judge() {
    let engine = unknown(&[to(1_000, "way,ahead\n"), to(1_500, SAG), back(2_000, "hello\n")]);
    assert_eq!(engine.findings().iter().filter(|finding| finding.id.starts_with("reset")).count(), 0);
    assert!(lacks(&engine, "reset").is_empty());
    let plain = play("plain-line", &[back(1_500, "#boot drive rst=B\n")]);
    assert_eq!(count(&plain, "reset-brown-out"), 0, "its wire is not explained by this rover file");
}

/// A stave's hello has no reason: the drive board was reset all the same. The first hello is its switching on.
#[test]
fn a_hello_without_a_reason_in_mid_run() {
    let stave = |at: i64, text: &[u8]| (at, Wire::FromDrive, text.to_vec());
    // A wheel report that was worked out apart, and a hello whose check is worked out here by the crate `crc`.
    let report = |at: i64| stave(at, &hello(0xF3, [0x64, 0x64, 0x64, 0x64, 0x3C]));
    let up = |at: i64| stave(at, &hello(0xF4, [1, 4, 0, 0, 0]));
    let on = play("stave", &[up(500), report(1_000), report(1_100)]);
    assert_eq!(count(&on, "reset"), 0);
    let again = play("stave", &[up(500), report(1_000), report(1_100), up(2_000), report(2_100)]);
    let found = finding(&again, "reset").unwrap();
    assert_eq!(found.count, 1);
    assert!(found.says.contains("drive board"), "{}", found.says);
}

fn hello(kind: u8, [a, b, c, d, e]: [u8; 5]) -> Vec<u8> {
    stave(&[kind, 7, a, b, c, d, e, 2])
}

/// A board that cannot read its program says so twice with each start (ESP32 boot text, as public logs show it).
#[test]
fn each_failed_start_counts_once() {
    let text = "ets Jul 29 2019 12:21:46\r\n\r\nrst:0x10 (RTCWDT_RTC_RESET),boot:0x33 (SPI_FAST_FLASH_BOOT)\r\n\
                flash read err, 1000\r\nets_main.c 371 \r\n";
    let reads: Vec<_> = (0..5).map(|n| to(500 + n * 360, text)).collect();
    assert_eq!(count(&play("cue-line", &reads), "start-fails"), 5);
}

/// A drive board that hangs again and again says so each time, however soon: four hellos, no text.
#[test]
fn each_hello_counts() {
    let up = |at: i64| back(at, &checked("=up 1.3 dog "));
    let mut reads = vec![cue(900, 1, 1, [0, 0, 0]), got(910, 1)];
    reads.extend((0..4).map(|n| up(1_000 + n * 120)));
    assert_eq!(count(&play("cue-line", &reads), "reset-watchdog"), 4);
}
