//! The real program finds the rate of a wire at the level of bits: behind a pseudo-terminal stands a receiver that
//! listens at the very rate the program has set, as an adapter would.
#![cfg(unix)]
#![allow(missing_docs, clippy::unwrap_used)]

#[path = "line_rate/bit_wire.rs"]
mod bit_wire;

use std::io::{BufRead, BufReader, Read};
use std::process::{Child, Command, Stdio};
use std::sync::mpsc::{Receiver as Lines, RecvTimeoutError, channel};
use std::time::Duration;

use bit_wire::{Chance, Edges, Receiver};
use rustix::fs::{Mode, OFlags, open};
use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};
use rustix::termios::{OptionalActions, tcgetattr, tcsetattr};

const LIMIT: Duration = Duration::from_secs(30);

/// Ends the program when the test is over.
struct Program(Child);

impl Drop for Program {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

fn lines(stream: impl Read + Send + 'static) -> Lines<String> {
    let (to, from) = channel();
    std::thread::spawn(move || {
        for line in BufReader::new(stream).lines() {
            let Ok(line) = line else { return };
            if to.send(line).is_err() {
                return;
            }
        }
    });
    from
}

/// Runs the program on a wire at `link` baud until it says what it found; then the lines that it shows at that rate.
fn find(link: u32, taps: &[&str]) -> (Vec<String>, Vec<String>) {
    let near = openpt(OpenptFlags::RDWR | OpenptFlags::NOCTTY | OpenptFlags::CLOEXEC).unwrap();
    grantpt(&near).unwrap();
    unlockpt(&near).unwrap();
    let path = ptsname(&near, Vec::new()).unwrap().into_string().unwrap();
    let far = open(&path, OFlags::RDWR | OFlags::NOCTTY | OFlags::CLOEXEC, Mode::empty()).unwrap();
    let mut mode = tcgetattr(&far).unwrap();
    mode.make_raw();
    tcsetattr(&far, OptionalActions::Now, &mode).unwrap();

    let arguments = ["listen", &path, "--rate", "find", "--headless", "--no-session", "--for", "2"];
    let child = Command::new(env!("CARGO_BIN_EXE_wheeltap"))
        .args(arguments)
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let mut program = Program(child);
    let said = lines(program.0.stderr.take().unwrap());
    let shown = lines(program.0.stdout.take().unwrap());
    let mut chance = Chance::new(link.into());
    let mut tap = |rate: u32| {
        let line = *chance.pick(taps);
        let edges = Edges::sent(line.as_bytes(), f64::from(link) * 1.01, 0.02, &mut chance);
        let heard = Receiver { rate: rate.into(), restarts: false }.hears(&edges, &mut chance);
        let bytes: Vec<u8> = heard.into_iter().map(|(byte, _)| byte).collect();
        assert_eq!(rustix::io::write(&near, &bytes).unwrap(), bytes.len());
    };
    let (mut all, mut listens) = (Vec::new(), false);
    loop {
        // While it listens the taps go on, five a second, until it ends by itself.
        let line = match said.recv_timeout(if listens { Duration::from_millis(200) } else { LIMIT }) {
            Ok(line) => line,
            Err(RecvTimeoutError::Timeout) if listens => {
                tap(tcgetattr(&far).unwrap().input_speed());
                continue;
            }
            Err(_) => break,
        };
        if let Some(rate) = line.strip_prefix("Listening at ").and_then(|rest| rest.strip_suffix(" baud: tap.")) {
            let rate: u32 = rate.parse().unwrap();
            assert_eq!(tcgetattr(&far).unwrap().input_speed(), rate, "the port itself listens at another rate");
            tap(rate);
        }
        listens |= line.starts_with("Not recording");
        all.push(line);
    }
    (all, shown.iter().collect())
}

#[test]
fn the_program_finds_the_rate_and_goes_on_listening_at_it() {
    for link in [57_600, 115_200, 4800] {
        let (said, shown) = find(link, &["way,port\n", "way,rest\n", "pace,180\n", "way,ahead\n"]);
        let says = format!("The line rate is {link} baud.");
        assert!(said.iter().any(|line| line.starts_with(&says)), "{link}: {said:#?}");
        let listens = format!("at {link} baud.");
        assert!(said.iter().any(|line| line.starts_with("Listening to") && line.ends_with(&listens)), "{said:#?}");
        let orders = shown.iter().filter(|line| line.contains("way,") || line.contains("pace,"));
        assert!(orders.count() > 0, "{shown:#?}");
    }
}

/// Without a wire behind it the pseudo-terminal gives the same at every rate; no rate is claimed.
#[test]
fn a_port_without_a_rate_is_named() {
    let rig = wheeltap::source::pseudo_port::PseudoPort::open(None).unwrap();
    let path = rig.path().to_str().unwrap().to_owned();
    let child = Command::new(env!("CARGO_BIN_EXE_wheeltap"))
        .args(["listen", &path, "--rate", "find", "--headless", "--no-session", "--for", "1"])
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let mut program = Program(child);
    let said = lines(program.0.stderr.take().unwrap());
    let mut all = Vec::new();
    while let Ok(line) = said.recv_timeout(LIMIT) {
        if line.ends_with("baud: tap.") {
            rig.write(b"way,port\n").unwrap();
        }
        all.push(line);
    }
    assert!(all.iter().any(|line| line.contains("the same text at different rates")), "{all:#?}");
}
