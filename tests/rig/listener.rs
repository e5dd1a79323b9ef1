//! The program itself at the rig's pseudo-terminals, in real time.

use std::io::{BufRead, BufReader, Lines, Read, Write};
use std::path::Path;
use std::process::{Child, ChildStdout, Command, Stdio};
use std::time::{Duration, Instant};

use wheeltap::engine::event::{Event, Happening};
use wheeltap::findings::Finding;
use wheeltap_parsers::Wire;

use crate::at_pins::AtPins;
use crate::cases::Case;
use crate::dump::Dump;
use crate::orders;
use crate::run::{self, Run};
use crate::tool_chain::ToolChain;
use crate::truth::Truth;

/// A process that is ended with this value.
struct Running(Child);

impl Drop for Running {
    fn drop(&mut self) {
        drop(self.0.kill());
        drop(self.0.wait());
    }
}

/// Lets the program record the case while it runs, and reads its session.
pub fn listen(tools: &ToolChain, case: &Case<'_>) -> Run {
    let folder = tools.folder("live", case.name);
    let session = folder.join("live.wheeltap");
    drop(std::fs::remove_file(&session));
    let mut rig = tools.rig();
    rig.args(run::programs(tools, case)).arg(&folder).args(case.rig).stdin(Stdio::piped()).stdout(Stdio::piped());
    let mut rig = Running(rig.spawn().unwrap());
    let mut said = BufReader::new(rig.0.stdout.take().unwrap()).lines();
    let program = program([line(&mut said), line(&mut said)], case, &session);
    let mut go = rig.0.stdin.take().unwrap();
    go.write_all(b"go\n").unwrap();
    assert_eq!(line(&mut said), "done");
    let truth = Truth::read(&std::fs::read_to_string(folder.join("truth.txt")).unwrap());
    let orders = orders::sent(&truth, case.link).len();
    let (events, findings) = recorded(&session, case, orders);
    drop(program);
    let dump = Dump::read(&std::fs::read_to_string(folder.join("pins.vcd")).unwrap());
    Run { log: session, truth, dump, vcd: folder.join("pins.vcd"), at_pins: AtPins::default(), events, findings }
}

fn line(said: &mut Lines<BufReader<ChildStdout>>) -> String {
    said.next().unwrap().unwrap()
}

/// The program, once it has said that it records: the ports are open by then.
fn program(ports: [String; 2], case: &Case<'_>, session: &Path) -> Running {
    let [to_drive, back] = ports;
    let mut command = Command::new(env!("CARGO_BIN_EXE_wheeltap"));
    command.args(["listen", &to_drive, "--back", &back, "--rover", case.link.rover(), "--headless", "--session"]);
    command.arg(session).stdout(Stdio::null()).stderr(Stdio::piped());
    let mut program = Running(command.spawn().unwrap());
    let mut said = BufReader::new(program.0.stderr.take().unwrap());
    let mut heard = String::new();
    while !heard.contains("Recording to") {
        assert!(said.read_line(&mut heard).unwrap() > 0, "the program ended: {heard}");
    }
    std::thread::spawn(move || drop(said.read_to_end(&mut Vec::new())));
    program
}

/// What the session holds, as soon as there is a frame on either wire for every order; the board answers each.
fn recorded(session: &Path, case: &Case<'_>, orders: usize) -> (Vec<Event>, Vec<Finding>) {
    let end = Instant::now() + Duration::from_secs(20);
    loop {
        let (events, findings) = run::listen(session, case.link.rover());
        let frames = |wire| {
            let of_wire = events.iter().filter(|event| event.wire == Some(wire));
            of_wire.filter(|event| matches!(event.what, Happening::Frame(_))).count()
        };
        if Wire::BOTH.into_iter().all(|wire| frames(wire) >= orders) || Instant::now() > end {
            return (events, findings);
        }
        std::thread::yield_now();
    }
}
