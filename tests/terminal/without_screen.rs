//! The program without a screen, for tests: its output in files, ended for certain after a time limit.

// Each test file that includes this one uses its own part of it.
#![allow(dead_code)]
// A wait that fails ends its test.
#![allow(clippy::panic, clippy::unwrap_used)]

use std::fs::File;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, ExitStatus, Stdio};
use std::time::{Duration, Instant};

/// How long a program may run, and how long a wait may last.
pub const LIMIT: Duration = Duration::from_secs(60);
/// Pause between two looks.
const LOOK: Duration = Duration::from_millis(5);

/// Waits until `done`, or fails naming `what`.
#[track_caller]
pub fn wait_for(what: &str, mut done: impl FnMut() -> bool) {
    let deadline = Instant::now() + LIMIT;
    while !done() {
        assert!(Instant::now() < deadline, "{what}: not within {LIMIT:?}");
        std::thread::sleep(LOOK);
    }
}

/// The program, or another, while it runs. Dropping it ends it.
pub struct Running {
    child: Child,
    out: PathBuf,
    err: PathBuf,
}

/// How it ended.
pub struct Ended {
    /// Exit code or signal.
    pub status: ExitStatus,
    /// Standard output.
    pub out: Vec<u8>,
    /// Standard error.
    pub err: String,
}

impl Ended {
    /// Standard output as text.
    #[track_caller]
    pub fn text(&self) -> &str {
        std::str::from_utf8(&self.out).expect("output is UTF-8")
    }

    /// Its exit code; fails when a signal ended it.
    #[track_caller]
    pub fn code(&self) -> i32 {
        self.status.code().unwrap_or_else(|| panic!("ended by {}: {}", self.status, self.err))
    }
}

impl Running {
    /// The project's program in `folder`, which also takes its output.
    pub fn wheeltap(folder: &Path, arguments: &[&str]) -> Self {
        let mut command = Command::new(env!("CARGO_BIN_EXE_wheeltap"));
        command.args(arguments);
        Self::start(folder, command, "wheeltap")
    }

    /// A line of shell in `folder`; `$W` is the project's program.
    pub fn shell(folder: &Path, line: &str) -> Self {
        let mut command = Command::new("/bin/sh");
        command.args(["-c", line]).env("W", env!("CARGO_BIN_EXE_wheeltap"));
        Self::start(folder, command, "shell")
    }

    fn start(folder: &Path, mut command: Command, name: &str) -> Self {
        let number = (0..1000).find(|number| !folder.join(format!("{name}-{number}.out")).exists()).unwrap_or(0);
        let [out, err] = ["out", "err"].map(|end| folder.join(format!("{name}-{number}.{end}")));
        command.current_dir(folder).stdin(Stdio::null());
        command.stdout(File::create(&out).unwrap()).stderr(File::create(&err).unwrap());
        Self { child: command.spawn().unwrap(), out, err }
    }

    /// Its process id.
    pub fn id(&self) -> u32 {
        self.child.id()
    }

    /// What it has written so far.
    pub fn written(&self) -> String {
        String::from_utf8_lossy(&std::fs::read(&self.out).unwrap()).into_owned()
    }

    /// What it has said on standard error so far.
    pub fn said(&self) -> String {
        String::from_utf8_lossy(&std::fs::read(&self.err).unwrap()).into_owned()
    }

    /// Sends a signal by its name without `SIG`.
    pub fn signal(&self, name: &str) {
        let line = format!("kill -{name} {}", self.child.id());
        assert!(Command::new("/bin/sh").args(["-c", &line]).status().unwrap().success());
    }

    /// Whether it has ended.
    pub fn over(&mut self) -> bool {
        self.child.try_wait().unwrap().is_some()
    }

    /// Waits for its end.
    #[track_caller]
    pub fn end(mut self) -> Ended {
        wait_for("the end of the program", || self.child.try_wait().unwrap().is_some());
        Ended { status: self.child.wait().unwrap(), out: std::fs::read(&self.out).unwrap(), err: self.said() }
    }
}

impl Drop for Running {
    fn drop(&mut self) {
        // It may have ended already.
        drop(self.child.kill());
        drop(self.child.wait());
    }
}

/// The simulated rover on pretend ports with names that stay.
pub struct Rover {
    running: Running,
    /// The port on the wire to the drive board.
    pub port: PathBuf,
    /// The port on the wire back, where the style answers.
    pub back: Option<PathBuf>,
}

impl Rover {
    /// Starts `simulate` in `folder` and waits until its ports are there.
    #[track_caller]
    pub fn start(folder: &Path, arguments: &[&str]) -> Self {
        let port = folder.join("port");
        let whole: Vec<&str> =
            ["simulate", "--link", port.to_str().unwrap()].iter().chain(arguments).copied().collect();
        let mut running = Running::wheeltap(folder, &whole);
        wait_for("the simulated ports", || {
            assert!(!running.over(), "simulate has ended: {}", running.said());
            running.written().contains("Ctrl-C ends it.")
        });
        let back = folder.join("port-back");
        let back = back.exists().then_some(back);
        Self { running, port, back }
    }

    /// The words after `listen` that name its ports.
    pub fn ports(&self) -> Vec<&str> {
        let back = self.back.iter().flat_map(|back| ["--back", back.to_str().unwrap()]);
        std::iter::once(self.port.to_str().unwrap()).chain(back).collect()
    }

    /// Ends it by a signal it can answer to, so that the names of its ports go away.
    pub fn stop(self) {
        self.running.signal("TERM");
        assert_eq!(self.running.end().code(), 0);
    }
}
