//! A terminal for tests: runs a program in a pseudo-terminal, keeps its screen, presses keys, sends signals.
//!
//! Another test file uses it so:
//!
//! ```ignore
//! #[path = "terminal/terminal.rs"]
//! mod terminal;
//! use terminal::Terminal;
//!
//! let mut terminal = Terminal::wheeltap(&["demo"], 80, 24);
//! terminal.wait_for("FL");
//! terminal.send("?");
//! ```
//!
//! Nothing here waits for a fixed time: it polls the screen until a deadline. Each terminal has a time limit of its
//! own, after which the program is ended and the next wait fails with what stood on the screen.

// Each test file that includes this one uses its own part of it.
#![allow(dead_code)]
// A wait that fails ends its test.
#![allow(clippy::panic)]

use std::fs::File;
use std::io::{Read, Write};
use std::num::NonZeroU16;
use std::os::unix::fs::OpenOptionsExt;
use std::path::Path;
use std::process::Command;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use portable_pty::{Child, CommandBuilder, ExitStatus, MasterPty, PtySize, native_pty_system};
use rustix::fs::OFlags;
use rustix::termios::{OptionalActions, SpecialCodeIndex, tcgetattr, tcsetattr};

/// How long a program may run in all, unless [`Terminal::limit`] says otherwise.
const LIMIT: Duration = Duration::from_secs(60);
/// How long to wait for a text or an end, unless a wait says otherwise.
const WAIT: Duration = Duration::from_secs(20);
/// Pause between two looks.
const LOOK: Duration = Duration::from_millis(5);

/// What the program wrote: the screen it makes, and the bytes themselves.
struct Written {
    parser: vt100::Parser,
    bytes: Vec<u8>,
    ended: bool,
    closing: bool,
}

/// A program in a terminal of its own. Dropping it ends the program and waits for it.
pub struct Terminal {
    master: Option<Box<dyn MasterPty + Send>>,
    keys: Option<Box<dyn Write + Send>>,
    child: Box<dyn Child + Send + Sync>,
    written: Arc<Mutex<Written>>,
    reader: Option<JoinHandle<()>>,
    end_by: Instant,
    exit: Option<ExitStatus>,
}

impl Terminal {
    /// The project's own program with these arguments, in a terminal of `columns` by `rows`.
    pub fn wheeltap(arguments: &[&str], columns: u16, rows: u16) -> Self {
        let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_wheeltap"));
        command.args(arguments);
        Self::run(command, columns, rows)
    }

    /// A line of shell, in a terminal of `columns` by `rows`.
    pub fn shell(line: &str, columns: u16, rows: u16) -> Self {
        let mut command = CommandBuilder::new("/bin/sh");
        command.args(["-c", line]);
        Self::run(command, columns, rows)
    }

    /// Any command: set its folder and environment first. `TERM` is set here, and the two variables that would change
    /// colours or size are taken away unless the command set them.
    pub fn run(mut command: CommandBuilder, columns: u16, rows: u16) -> Self {
        command.env("TERM", "xterm-256color");
        for name in ["COLUMNS", "LINES"] {
            command.env_remove(name);
        }
        let pair = native_pty_system().openpty(size(columns, rows)).expect("a pseudo-terminal");
        let child = pair.slave.spawn_command(command).expect("the program starts");
        // With our own slave handle closed, the reader sees the end when the program ends.
        drop(pair.slave);
        let from_program = pair.master.try_clone_reader().expect("a reader");
        let keys = pair.master.take_writer().expect("a writer");
        let parser = vt100::Parser::new(cells(rows), cells(columns), 0);
        let written = Arc::new(Mutex::new(Written { parser, bytes: Vec::new(), ended: false, closing: false }));
        let reader = {
            let written = Arc::clone(&written);
            std::thread::spawn(move || read_all(from_program, &written))
        };
        Self {
            master: Some(pair.master),
            keys: Some(keys),
            child,
            written,
            reader: Some(reader),
            end_by: Instant::now() + LIMIT,
            exit: None,
        }
    }

    /// The program may run this long in all, from now.
    pub fn limit(&mut self, limit: Duration) {
        self.end_by = Instant::now() + limit;
    }

    /// Types `keys`: plain text, or escape sequences such as `\x1b[A` for the up arrow.
    pub fn send(&mut self, keys: &str) {
        let writer = self.keys.as_mut().expect("the terminal is open");
        writer.write_all(keys.as_bytes()).and_then(|()| writer.flush()).expect("the terminal takes keys");
    }

    /// Sends a signal by its name without `SIG`, such as `TERM` or `INT`.
    pub fn signal(&mut self, name: &str) {
        let id = self.child.process_id().expect("the program runs");
        let done = Command::new("/bin/sh").args(["-c", &format!("kill -{name} {id}")]).status().expect("a shell");
        assert!(done.success(), "no signal {name} for the program");
    }

    /// Changes the size; the program is told by the system.
    pub fn resize(&mut self, columns: u16, rows: u16) {
        self.written().parser.screen_mut().set_size(cells(rows), cells(columns));
        self.master.as_ref().expect("the terminal is open").resize(size(columns, rows)).expect("a new size");
    }

    /// Takes the terminal away, as closing its window does: the program gets a hang-up, and no key before it.
    pub fn close(&mut self) {
        let Some(master) = self.master.take() else { return };
        let mut slave = open_slave(&master.tty_name().expect("the terminal has a name"));
        // The writer types an end of input when it is dropped, unless the terminal has no such key.
        let mut settings = tcgetattr(&slave).expect("the terminal's settings");
        settings.special_codes[SpecialCodeIndex::VEOF] = 0;
        tcsetattr(&slave, OptionalActions::Now, &settings).expect("new settings");
        self.written().closing = true;
        drop((self.keys.take(), master));
        // The reader holds the last handle and waits in a read: any byte wakes it.
        let _woken_already_if_it_fails = slave.write_all(b"\0");
        drop(slave);
        self.join_reader();
    }

    /// The screen as text, one line a row.
    pub fn screen(&self) -> String {
        self.written().parser.screen().contents()
    }

    /// Looks at the screen with its colours and attributes.
    pub fn look<T>(&self, look: impl FnOnce(&vt100::Screen) -> T) -> T {
        look(self.written().parser.screen())
    }

    /// Every byte the program has written so far.
    pub fn bytes(&self) -> Vec<u8> {
        self.written().bytes.clone()
    }

    /// Waits until `text` stands on the screen, and gives the screen.
    #[track_caller]
    pub fn wait_for(&mut self, text: &str) -> String {
        self.wait_until(&format!("{text:?}"), WAIT, |screen| screen.contents().contains(text))
    }

    /// As [`Self::wait_for`], no longer than `within`.
    #[track_caller]
    pub fn wait_for_within(&mut self, text: &str, within: Duration) -> String {
        self.wait_until(&format!("{text:?}"), within, |screen| screen.contents().contains(text))
    }

    /// Waits until `text` no longer stands on the screen.
    #[track_caller]
    pub fn wait_gone(&mut self, text: &str) -> String {
        self.wait_until(&format!("no {text:?}"), WAIT, |screen| !screen.contents().contains(text))
    }

    /// Waits until `seen` says yes. `what` names it in the message.
    #[track_caller]
    pub fn wait_until(&mut self, what: &str, within: Duration, seen: impl Fn(&vt100::Screen) -> bool) -> String {
        match self.try_until(within, seen) {
            Ok(screen) => screen,
            Err(why) => panic!("waited for {what}: {why}; the screen:\n{}", self.screen()),
        }
    }

    /// As [`Self::wait_until`], with why not as a value.
    pub fn try_until(&mut self, within: Duration, seen: impl Fn(&vt100::Screen) -> bool) -> Result<String, String> {
        let deadline = (Instant::now() + within).min(self.end_by);
        loop {
            // Asked before the look: what was written before the end is then certainly in the look.
            let ended = self.written().ended;
            let screen = self.look(|screen| seen(screen).then(|| screen.contents()));
            if let Some(screen) = screen {
                return Ok(screen);
            }
            if ended {
                return Err("the program has ended".to_owned());
            }
            self.check_limit()?;
            if Instant::now() >= deadline {
                return Err(format!("not within {within:?}"));
            }
            std::thread::sleep(LOOK);
        }
    }

    /// Waits for the program to end by itself, and gives how.
    #[track_caller]
    pub fn wait_end(&mut self) -> ExitStatus {
        match self.try_end(WAIT) {
            Ok(exit) => exit,
            Err(why) => panic!("waited for the end: {why}; the screen:\n{}", self.screen()),
        }
    }

    /// As [`Self::wait_end`], with why not as a value.
    pub fn try_end(&mut self, within: Duration) -> Result<ExitStatus, String> {
        let deadline = Instant::now() + within;
        loop {
            if let Some(exit) = self.ended() {
                // The last of its output is on the screen once the reader is done.
                self.join_reader();
                return Ok(exit);
            }
            self.check_limit()?;
            if Instant::now() >= deadline {
                return Err(format!("not within {within:?}"));
            }
            std::thread::sleep(LOOK);
        }
    }

    fn ended(&mut self) -> Option<ExitStatus> {
        if self.exit.is_none() {
            self.exit = self.child.try_wait().expect("the program's state");
        }
        self.exit.clone()
    }

    fn check_limit(&mut self) -> Result<(), String> {
        if Instant::now() < self.end_by {
            return Ok(());
        }
        self.end();
        Err("the time limit of this terminal is over".to_owned())
    }

    /// Ends the program for certain and waits for it.
    fn end(&mut self) {
        if self.ended().is_none() {
            // A hang-up first, then the signal that cannot be refused.
            let _gone_already = self.child.kill();
            self.exit = self.child.wait().ok();
        }
    }

    fn join_reader(&mut self) {
        if let Some(reader) = self.reader.take() {
            reader.join().expect("the reader of the terminal");
        }
    }

    fn written(&self) -> MutexGuard<'_, Written> {
        self.written.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Drop for Terminal {
    fn drop(&mut self) {
        // The reader ends by itself: nobody holds the other side any more.
        self.end();
    }
}

/// Whether a program of this id still runs: for tests of what is left behind. Only where there is `/proc`.
pub fn runs(id: u32) -> bool {
    let state = std::fs::read_to_string(Path::new("/proc").join(id.to_string()).join("stat")).unwrap_or_default();
    // The state stands after the name in brackets; Z is a program that has ended and was not waited for.
    state.rsplit_once(") ").is_some_and(|(_, rest)| !rest.starts_with('Z'))
}

fn read_all(mut from_program: Box<dyn Read + Send>, written: &Mutex<Written>) {
    let mut buffer = [0; 16 * 1024];
    loop {
        let got = match from_program.read(&mut buffer) {
            Ok(got) => got,
            Err(error) if error.kind() == std::io::ErrorKind::Interrupted => continue,
            // A Linux pseudo-terminal answers with an error once its program has ended.
            Err(_) => 0,
        };
        let mut written = written.lock().unwrap_or_else(PoisonError::into_inner);
        if got == 0 || written.closing {
            written.ended = got == 0;
            return;
        }
        written.parser.process(&buffer[..got]);
        written.bytes.extend_from_slice(&buffer[..got]);
    }
}

/// The program's side of the terminal, without making it ours.
fn open_slave(path: &Path) -> File {
    let flags = i32::try_from(OFlags::NOCTTY.bits()).expect("a flag of open");
    File::options().read(true).write(true).custom_flags(flags).open(path).expect("the terminal opens")
}

fn size(columns: u16, rows: u16) -> PtySize {
    PtySize { rows, cols: columns, pixel_width: 0, pixel_height: 0 }
}

fn cells(count: u16) -> NonZeroU16 {
    NonZeroU16::new(count).expect("a terminal has at least one row and one column")
}
