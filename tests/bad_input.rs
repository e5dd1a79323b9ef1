//! What goes wrong, and what the real program says of it: no panic, a stated exit code, what and where and what next,
//! and never a control character of somebody else's on a terminal.
//!
//! The table of all cases is `tests/golden/bad-input.txt`; read it as a person who is told these lines.
#![cfg(unix)]
#![allow(missing_docs, clippy::unwrap_used)]

#[path = "bad_input/files.rs"]
mod files;
#[path = "terminal/without_screen.rs"]
mod without_screen;

use std::fmt::Write;
use std::path::Path;

use without_screen::{Ended, Rover, Running, wait_for};

/// Exit codes of the program, from its help and `README.md`.
const STATED: [i32; 4] = [0, 1, 2, 3];

/// The line of a message that says what is wrong.
fn first_line(err: &str) -> &str {
    let is_message = |line: &&str| line.starts_with("wheeltap: ") || line.starts_with("error: ");
    err.lines().find(is_message).or_else(|| err.lines().next()).unwrap_or("")
}

/// What holds for each case.
#[track_caller]
fn sound(name: &str, ended: &Ended) {
    let code = ended.code();
    assert!(STATED.contains(&code), "{name}: exit code {code}: {}", ended.err);
    assert!(!ended.err.contains("panicked"), "{name}: {}", ended.err);
    for text in [ended.err.as_str(), ended.text()] {
        let foreign = text.chars().find(|letter| letter.is_control() && *letter != '\n');
        assert_eq!(foreign, None, "{name}: a control character in {text:?}");
    }
    assert!(code < 2 || first_line(&ended.err).len() > 20 || ended.err.is_empty(), "{name}: no message: {}", ended.err);
}

/// Runs each line of shell and adds its row to the table.
fn rows(folder: &Path, cases: &[(&str, &str)], table: &mut String) {
    for (name, line) in cases {
        let ended = Running::shell(folder, line).end();
        sound(name, &ended);
        let message = first_line(&ended.err).replace(folder.to_str().unwrap(), "FOLDER");
        let row = format!("{name}\n    {line}\n    exit {}: {message}", ended.code());
        writeln!(table, "{}", row.trim_end()).unwrap();
    }
}

/// Nobody's rights, where the tests run as root; there a file without rights can still be read.
const NOBODY: &str = "setpriv --reuid=65534 --regid=65534 --clear-groups";

fn is_root() -> bool {
    std::os::unix::fs::MetadataExt::uid(&std::fs::metadata("/proc/self").unwrap()) == 0
}

#[rustfmt::skip]
const FILES: &[(&str, &str)] = &[
    ("empty file", "$W decode empty"),
    ("empty file, replayed", "$W replay empty"),
    ("empty standard input", "$W decode - < empty"),
    ("folder", "$W decode folder"),
    ("missing file", "$W decode none"),
    ("missing file, replayed", "$W replay none"),
    ("device instead of a file", "$W decode /dev/null"),
    ("session cut inside its first line", "$W decode cut-first"),
    ("session cut inside its rover file", "$W decode cut-rover"),
    ("the same with the rover file named", "$W decode cut-rover --rover plain-line"),
    ("session cut inside its last line", "$W decode cut-last"),
    ("session of a newer version", "$W decode newer"),
    ("session of a newer version, replayed", "$W replay newer"),
    ("session on a pipe, cut", "head -c 900 whole | $W decode -"),
    ("zeros", "$W decode zeros"),
    ("invalid UTF-8", "$W decode not-utf8 --rover plain-line"),
    ("invalid UTF-8 in a rover file", "$W decode whole --rover not-utf8"),
    ("missing rover file", "$W decode whole --rover none.toml"),
    ("folder as rover file", "$W decode whole --rover folder"),
    ("rover file with ten faults", "$W decode whole --rover ten-faults.toml"),
    ("rover file that is no TOML", "$W decode whole --rover not-toml.toml"),
    ("line of a million bytes", "$W decode long-line --rover plain-line"),
    ("plain log with a bad line", "$W decode bad-log"),
    ("plain log of a million bytes without an end", "$W decode long-log"),
    ("plain log whose times descend", "$W decode descends"),
    ("foreign text that steers terminals", "$W decode steers --rover plain-line"),
    ("the same as JSON", "$W decode steers --rover plain-line --json"),
    ("the same in a rover file", "$W decode whole --rover steers.toml"),
    ("the same in a rover file, as JSON", "$W decode whole --rover steers.toml --json"),
    ("the same in a file's name", r#"$W decode "$(printf 'none\033[31m')""#),
    ("new over an existing file", "$W new whole"),
    ("new in a missing folder", "$W new none/rover.toml"),
    ("unknown shipped name", "$W new x.toml --like nothing"),
    ("unknown style", "$W demo --like nothing"),
    ("unknown fault", "$W demo --fault nothing"),
    ("no verb", "$W"),
    ("unknown verb", "$W astern"),
    ("JSON without headless", "$W demo --json"),
];

#[rustfmt::skip]
const OUTPUTS: &[(&str, &str)] = &[
    ("full standard output, decode", "$W decode whole > /dev/full"),
    ("full standard output, decode as JSON", "$W decode whole --json > /dev/full"),
    ("full standard output, demo", "$W demo --headless --for 1 > /dev/full"),
    ("full standard output, simulate", "$W simulate --for 1 > /dev/full"),
    ("full standard error", "$W decode none 2> /dev/full || test $? = 2"),
    ("closed standard error", "$W decode none 2>&- || test $? = 2"),
    ("standard output whose reader has gone, decode", "{ $W decode whole; echo $? > code; } | :; exit $(cat code)"),
    ("standard output whose reader has gone, demo", "{ $W demo --headless --for 2; echo $? > code; } | head -1 > /dev/null; exit $(cat code)"),
    ("a screen without a terminal, demo", "$W demo > no-screen"),
    ("a screen without a terminal, replay", "$W replay whole > no-screen"),
];

#[rustfmt::skip]
const PORTS: &[(&str, &str)] = &[
    ("port that is a file", "$W listen whole --headless --for 1"),
    ("port that is a folder", "$W listen folder --headless --for 1"),
    ("port that is another device", "$W listen /dev/null --headless --for 1"),
    ("rate 0", "$W listen port --rate 0 --headless --for 1"),
    ("rate of five million", "$W listen port --rate 5000000 --headless --for 1"),
    ("rate that is no number", "$W listen port --rate fast --headless --for 1"),
    ("one port for both wires", "$W listen port --back port --headless --for 1"),
    ("port that another listener holds", "$W listen port --headless --for 1"),
];

#[rustfmt::skip]
const SESSIONS: &[(&str, &str)] = &[
    ("session file that exists", "$W listen port --session whole --headless --for 1"),
    ("session in a missing folder", "$W listen port --session none/a.wheeltap --headless --for 1"),
    ("name of a simulated port that exists", "$W simulate --link whole --for 1"),
];

#[test]
fn each_case_is_told_clearly() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    files::write(folder);
    let mut table = String::new();
    rows(folder, FILES, &mut table);
    rows(folder, OUTPUTS, &mut table);
    let rover = Rover::start(folder, &[]);
    let port = rover.port.to_str().unwrap();
    let holder = Running::wheeltap(folder, &["listen", port, "--headless", "--no-session"]);
    wait_for("the listener", || holder.said().contains("Listening to"));
    rows(folder, PORTS, &mut table);
    holder.signal("TERM");
    assert_eq!(holder.end().code(), 0);
    rows(folder, SESSIONS, &mut table);
    rover.stop();
    insta::with_settings!({snapshot_path => "golden", prepend_module_to_snapshot => false, omit_expression => true}, {
        insta::assert_snapshot!("bad-input", table);
    });
}

/// The names of the ports of this machine stand in the message, so it is no row of the table.
#[test]
fn a_missing_port_is_told_clearly() {
    let folder = tempfile::tempdir().unwrap();
    for (name, shown) in [("none", "none"), (r"none\033]0;x\007", r"none\1B]0;x\07")] {
        let ended =
            Running::shell(folder.path(), &format!("$W listen \"$(printf '{name}')\" --headless --for 1")).end();
        sound("missing port", &ended);
        assert_eq!(ended.code(), 3);
        assert!(ended.err.contains(&format!("{shown}: there is no such port.")), "{}", ended.err);
        assert!(ended.err.contains("wheeltap ports"), "{}", ended.err);
    }
}

#[test]
fn what_may_not_be_read_is_told_clearly() {
    let folder = tempfile::tempdir().unwrap();
    let rover = Rover::start(folder.path(), &[]);
    let close = "cp $W w; chmod 755 . w; W=./w; echo x > shut; chmod 000 shut; chmod 600 $(readlink port);";
    let as_nobody = if is_root() { NOBODY } else { "" };
    for (name, words, code) in
        [("decode shut", "shut: no permission to read it.", 3), ("decode whole --rover shut", "shut", 2)]
    {
        let ended = Running::shell(folder.path(), &format!("{close} echo > whole; {as_nobody} $W {name}")).end();
        sound(name, &ended);
        assert_eq!((ended.code(), ended.err.contains(words)), (code, true), "{}", ended.err);
    }
    if is_root() {
        let ended = Running::shell(folder.path(), &format!("{close} {NOBODY} $W listen port --headless --for 1")).end();
        sound("port", &ended);
        assert_eq!((ended.code(), ended.err.contains("port: no permission to open it.")), (3, true), "{}", ended.err);
    }
    rover.stop();
}

#[test]
fn every_fault_of_a_rover_file_is_named_with_its_line() {
    let folder = tempfile::tempdir().unwrap();
    files::write(folder.path());
    let ended = Running::shell(folder.path(), "$W decode whole --rover ten-faults.toml").end();
    assert_eq!(ended.code(), 2);
    let lines: Vec<&str> = ended.err.lines().filter(|line| line.contains("ten-faults.toml, line ")).collect();
    for fault in files::TEN_FAULTS {
        let key = fault.1;
        assert!(lines.iter().any(|line| line.contains(key)), "{key} is not named: {}", ended.err);
    }
    assert!(lines.len() >= files::TEN_FAULTS.len(), "{}", ended.err);
}

/// 512 MiB of zeros in 192 MiB of address space. For twenty times as much, by hand:
/// `truncate -s 10G zeros; ulimit -v 196608; wheeltap decode - --json < zeros`.
#[test]
fn endless_zeros_take_no_memory() {
    let folder = tempfile::tempdir().unwrap();
    let line = "truncate -s 512M zeros && ulimit -v 196608 && $W decode - --rover plain-line --json < zeros";
    let ended = Running::shell(folder.path(), line).end();
    assert_eq!(ended.code(), 0, "{}", ended.err);
    let noise: Vec<&str> = ended.text().lines().filter(|line| line.contains("\"kind\":\"noise\"")).collect();
    assert_eq!(noise.len(), 1);
    assert!(noise[0].contains("\"offset\":0,\"len\":536870912"), "{}", noise[0]);
}
