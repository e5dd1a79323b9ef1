//! The tools that the rig needs beyond Rust, and what they make: the rig itself and one program for each board and set
//! of macros.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::Mutex;

/// Built programs, each made once.
pub struct ToolChain {
    out: PathBuf,
    rig: PathBuf,
    programs: Mutex<BTreeMap<String, PathBuf>>,
}

/// Which board a program is for.
#[derive(Clone, Copy, Debug)]
pub enum Board {
    Command,
    Drive,
}

impl Board {
    const fn name(self) -> &'static str {
        match self {
            Self::Command => "command",
            Self::Drive => "drive",
        }
    }

    const fn sources(self) -> &'static [&'static str] {
        match self {
            Self::Command => &["command", "script", "mixer", "cue_writer", "stave_writer", "plain_writer"],
            Self::Drive => &["drive", "bridge", "mixer", "orders", "cue_reader", "stave_reader", "plain_reader"],
        }
    }
}

/// Sources of both boards.
const BOTH: &[&str] = &["check", "text", "uart", "tick", "reason"];

const RIG: &[&str] = &["rig", "options", "chip", "wire", "noise", "tap", "live", "rate", "loom", "pins", "dump"];

impl ToolChain {
    /// Builds the rig; the reason why not where a tool is missing.
    pub fn find() -> Result<Self, String> {
        for tool in ["avr-gcc", "cc"] {
            Command::new(tool).arg("--version").output().map_err(|_| format!("{tool} is missing"))?;
        }
        let headers = headers().ok_or("the headers of libsimavr are missing")?;
        let out = Path::new(env!("CARGO_TARGET_TMPDIR")).join("rig");
        std::fs::create_dir_all(&out).map_err(|error| format!("{}: {error}", out.display()))?;
        let rig = out.join("rig");
        let making = apart(&rig);
        let mut make = Command::new("cc");
        make.args(["-O2", "-std=gnu11", "-Wall", "-Wextra", "-isystem"]).arg(&headers);
        make.arg("-isystem").arg(headers.join("avr")).arg("-o").arg(&making);
        make.args(RIG.iter().map(|name| source("rig", name))).arg("-l:libsimavr.so.2");
        run(&mut make)?;
        std::fs::rename(&making, &rig).map_err(|error| format!("{}: {error}", rig.display()))?;
        Ok(Self { out, rig, programs: Mutex::default() })
    }

    /// A folder for what a case writes.
    pub fn folder(&self, group: &str, case: &str) -> PathBuf {
        let folder = self.out.join(group).join(case);
        std::fs::create_dir_all(&folder).unwrap();
        folder
    }

    /// The program of a board with these macros.
    pub fn program(&self, board: Board, macros: &[&str]) -> PathBuf {
        let key = format!("{}-{}", board.name(), macros.join("-").replace('=', "_"));
        let mut programs = self.programs.lock().unwrap();
        let made = programs.entry(key.clone()).or_insert_with(|| {
            let path = self.out.join(&key).with_extension("elf");
            let mut make = Command::new("avr-gcc");
            make.args(["-mmcu=atmega328p", "-DF_CPU=16000000UL", "-Os", "-std=gnu99", "-Wall", "-Wextra", "-o"]);
            let making = apart(&path);
            make.arg(&making).args(macros.iter().map(|name| format!("-D{name}")));
            make.args(board.sources().iter().chain(BOTH).map(|name| source("firmware", name)));
            run(&mut make).unwrap();
            std::fs::rename(making, &path).unwrap();
            path
        });
        made.clone()
    }

    /// The rig, for a run that lasts.
    pub fn rig(&self) -> Command {
        Command::new(&self.rig)
    }

    /// Runs two programs in the rig; its files are in `folder`.
    pub fn drive(&self, programs: &[PathBuf; 2], folder: &Path, options: &[&str]) {
        run(self.rig().args(programs).arg(folder).args(options)).unwrap();
    }
}

/// A name of this process alone: others may be running what stands at `path`.
fn apart(path: &Path) -> PathBuf {
    path.with_extension(format!("{}.new", std::process::id()))
}

fn source(folder: &str, name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests").join(folder).join(name).with_extension("c")
}

/// Where the library's headers are: installed, or unpacked by `.ci/run`.
fn headers() -> Option<PathBuf> {
    let unpacked = Path::new(env!("CARGO_TARGET_TMPDIR")).join("../rig-headers/usr/include/simavr");
    [PathBuf::from("/usr/include/simavr"), unpacked].into_iter().find(|path| path.join("sim_avr.h").is_file())
}

fn run(command: &mut Command) -> Result<(), String> {
    let name = command.get_program().to_string_lossy().into_owned();
    let out = command.output().map_err(|error| format!("{name}: {error}"))?;
    let said = String::from_utf8_lossy(&out.stderr).into_owned();
    if out.status.success() { Ok(()) } else { Err(format!("{name} failed ({}): {said}", out.status)) }
}
