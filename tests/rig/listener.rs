//! The program itself at the rig's pseudo-terminals, in real time.

use std::io::{BufRead, BufReader, Lines, Read, Write};
use std::path::{Path, PathBuf};
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
use crate::terminal::Terminal;
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
    let mut stand = Stand::start(tools, case, "live");
    let program = program(&stand.ports, case, &stand.session, &[]);
    let orders = stand.run(case);
    let (events, findings) = recorded(&stand.session, case, orders);
    drop(program);
    stand.judged(events, findings)
}

/// The same at another rate than the boards', baud, until the rig is done.
pub fn listen_at(tools: &ToolChain, case: &Case<'_>, rate: u32) -> Run {
    let mut stand = Stand::start(tools, case, "live");
    let mut program = program(&stand.ports, case, &stand.session, &["--rate", &rate.to_string()]);
    stand.run(case);
    let asked = Command::new("kill").args(["-TERM", &program.0.id().to_string()]).status().unwrap();
    assert!(asked.success() && program.0.wait().unwrap().success());
    let (events, findings) = run::listen(&stand.session, case.link.rover());
    stand.judged(events, findings)
}

/// The console in a real terminal, while the rig runs at the pace of the clock; then its session on the console again.
pub fn at_console(tools: &ToolChain, case: &Case<'_>) -> Run {
    let mut stand = Stand::start(tools, case, "console");
    let session = stand.session.display().to_string();
    let [to_drive, back] = stand.ports.clone();
    let words = ["listen", &to_drive, "--back", &back, "--rover", case.link.rover(), "--session", &session];
    let mut console = Terminal::wheeltap(&words, 160, 40);
    console.limit(LONG);
    console.wait_for_within("recording", LONG);
    let orders = stand.run(case);
    let (events, findings) = recorded(&stand.session, case, orders);
    console.wait_until("every order", LONG, |screen| counts(screen, orders));
    console.send("q");
    assert_eq!(console.wait_end().exit_code(), 0);
    replay(&session, orders);
    stand.judged(events, findings)
}

/// How long anything may take on a busy computer.
const LONG: Duration = Duration::from_secs(60);

/// Whether the row of wire `>` has this number in it: the good frames.
fn counts(screen: &vt100::Screen, orders: usize) -> bool {
    let (text, orders) = (screen.contents(), orders.to_string());
    text.lines().any(|line| line.starts_with('>') && line.split_whitespace().any(|word| word == orders))
}

/// The session on the console again: at its end it has counted every order.
fn replay(session: &str, orders: usize) {
    let mut console = Terminal::wheeltap(&["replay", session], 160, 40);
    console.limit(LONG);
    console.wait_for_within("replay", LONG);
    console.send("\x1b[F");
    console.wait_until("every order", LONG, |screen| counts(screen, orders));
    console.send("q");
    assert_eq!(console.wait_end().exit_code(), 0);
}

/// The rig at its pseudo-terminals, ready to run.
struct Stand {
    rig: Running,
    said: Lines<BufReader<ChildStdout>>,
    ports: [String; 2],
    folder: PathBuf,
    session: PathBuf,
}

impl Stand {
    fn start(tools: &ToolChain, case: &Case<'_>, group: &str) -> Self {
        let folder = tools.folder(group, case.name);
        let session = folder.join("live.wheeltap");
        drop(std::fs::remove_file(&session));
        let mut rig = tools.rig();
        rig.args(run::programs(tools, case)).arg(&folder).args(case.rig).stdin(Stdio::piped()).stdout(Stdio::piped());
        let mut rig = Running(rig.spawn().unwrap());
        let mut said = BufReader::new(rig.0.stdout.take().unwrap()).lines();
        let ports = [line(&mut said), line(&mut said)];
        Self { rig, said, ports, folder, session }
    }

    /// Runs the case to its end; how many orders were sent.
    fn run(&mut self, case: &Case<'_>) -> usize {
        self.rig.0.stdin.as_mut().unwrap().write_all(b"go\n").unwrap();
        assert_eq!(line(&mut self.said), "done");
        orders::sent(&self.truth(), case.link).len()
    }

    fn truth(&self) -> Truth {
        Truth::read(&std::fs::read_to_string(self.folder.join("truth.txt")).unwrap())
    }

    fn judged(self, events: Vec<Event>, findings: Vec<Finding>) -> Run {
        let vcd = self.folder.join("pins.vcd");
        let dump = Dump::read(&std::fs::read_to_string(&vcd).unwrap());
        let truth = self.truth();
        Run { log: self.session, truth, dump, vcd, at_pins: AtPins::default(), events, findings }
    }
}

fn line(said: &mut Lines<BufReader<ChildStdout>>) -> String {
    said.next().unwrap().unwrap()
}

/// The program, once it has said that it records: the ports are open by then.
fn program(ports: &[String; 2], case: &Case<'_>, session: &Path, more: &[&str]) -> Running {
    let [to_drive, back] = ports;
    let mut command = Command::new(env!("CARGO_BIN_EXE_wheeltap"));
    command.args(["listen", to_drive, "--back", back, "--rover", case.link.rover(), "--headless", "--session"]);
    command.arg(session).args(more).stdout(Stdio::null()).stderr(Stdio::piped());
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
