//! `simulate`: the simulated rover's boards on pretend serial ports, with its control panel where a person can press it.

mod bench;
mod by_hand;
mod hands;
mod seen_words;

use std::io::{IsTerminal, stdin, stdout};
use std::path::{Path, PathBuf};
use std::time::Instant;

use wheeltap_parsers::Nanos;

use crate::run::headless::Out;
use crate::run::signals::Asked;
use crate::run::{Failure, Outcome, tell};
use crate::simulation::{Burst, Fault, Moonwagon, Script, Settings, Style};
use crate::source::pseudo_port::{PseudoPort, write_at};

/// A fault asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Planted {
    /// This one.
    Named(Fault),
    /// One of the wheels that the seed picks and nobody names.
    Secret,
}

/// What to simulate.
#[derive(Clone, Debug)]
pub struct Simulated {
    /// Link style.
    pub style: Style,
    /// Faults to plant.
    pub faults: Vec<Planted>,
    /// Where all chance comes from.
    pub seed: u64,
}

impl Simulated {
    /// As the simulation takes it.
    pub fn settings(&self) -> Settings {
        Settings { style: self.style, seed: self.seed, faults: self.planted(), script: Script::demo() }
    }

    /// The faults, secret ones too.
    fn planted(&self) -> Vec<Fault> {
        let pick = |planted: &Planted| match planted {
            Planted::Named(fault) => *fault,
            Planted::Secret => Fault::secret(self.seed, self.style),
        };
        self.faults.iter().map(pick).collect()
    }

    /// The faults that may be named.
    pub fn named(&self) -> impl Iterator<Item = Fault> {
        let named = |planted: &Planted| if let Planted::Named(fault) = planted { Some(*fault) } else { None };
        self.faults.iter().filter_map(named)
    }

    /// Whether some fault is not to be named.
    pub fn has_secret(&self) -> bool {
        self.faults.contains(&Planted::Secret)
    }

    /// Says which of the faults this build cannot have.
    pub fn tell_of_idle_faults(&self) {
        for fault in self.named().filter(|fault| !fault.applies_to(self.style)) {
            tell(format!("{} changes nothing on the link style {}.", fault.name(), self.style.name()));
        }
    }
}

/// How to simulate.
pub struct Options {
    /// The simulated rover.
    pub simulated: Simulated,
    /// Another name for the port.
    pub link: Option<PathBuf>,
    /// Ends by itself.
    pub seconds: Option<u64>,
    /// Whether a person presses the panel; `None`: where there is a terminal.
    pub panel: Option<bool>,
    /// Tells at the end what was planted.
    pub reveal: bool,
    /// Plain ASCII.
    pub ascii: bool,
}

/// The ports, and the commands that listen to them.
struct Ports {
    to_drive: PseudoPort,
    back: Option<PseudoPort>,
    listen: String,
}

impl Ports {
    fn open(style: Style, link: Option<&Path>) -> Result<Self, Failure> {
        let to_drive = PseudoPort::open(link)?;
        let back_link = link.map(|link| {
            let mut name = link.as_os_str().to_owned();
            name.push("-back");
            PathBuf::from(name)
        });
        let back = style.answers().then(|| PseudoPort::open(back_link.as_deref())).transpose()?;
        let shown = link.unwrap_or(to_drive.path()).display();
        let back_shown = back.as_ref().map(|back| back_link.as_deref().unwrap_or(back.path()));
        let back_shown = back_shown.map(|back| format!(" --back {}", back.display())).unwrap_or_default();
        let listen = format!("wheeltap listen {shown}{back_shown}");
        Ok(Self { to_drive, back, listen })
    }
}

/// Opens the ports, says how to listen to them, and drives the rover, or lets a person drive it, until asked to end.
pub fn run(options: &Options) -> Result<Outcome, Failure> {
    let asked = Asked::watch()?;
    let simulated = &options.simulated;
    simulated.tell_of_idle_faults();
    let ports = Ports::open(simulated.style, options.link.as_deref())?;
    if options.panel.unwrap_or_else(|| stdin().is_terminal() && stdout().is_terminal()) {
        bench::run(options, ports, &asked)?;
    } else {
        say(simulated, &ports)?;
        drive(options, &ports, &asked)?;
    }
    if options.reveal {
        let mut out = Out::stdout();
        out.line(&planted_words(&simulated.planted()))?;
        out.flush()?;
    }
    Ok(Outcome::Fine)
}

/// The seeded driver.
fn drive(options: &Options, ports: &Ports, asked: &Asked) -> Result<(), Failure> {
    let ends = options.seconds.map_or(Nanos::MAX, nanos);
    let mut wagon = Moonwagon::new(&options.simulated.settings());
    let bursts = std::iter::from_fn(move || wagon.next_burst()).take_while(move |burst: &Burst| burst.ends <= ends);
    write_at([Some(&ports.to_drive), ports.back.as_ref()], bursts, Instant::now(), asked.flag())?;
    Ok(())
}

fn nanos(seconds: u64) -> Nanos {
    i64::try_from(seconds).map_or(Nanos::MAX, |seconds| seconds.saturating_mul(1_000_000_000))
}

fn say(simulated: &Simulated, ports: &Ports) -> Result<(), Failure> {
    let mut out = Out::stdout();
    let name = simulated.style.name();
    out.line(&format!("The Moonwagon ({name}) is on {}. In another terminal:", ports.to_drive.path().display()))?;
    out.line(&format!("    {} --rover {name}", ports.listen))?;
    for fault in simulated.named() {
        out.line(&format!("Planted: {}", fault.says()))?;
    }
    if simulated.has_secret() {
        out.line("Planted: one fault at the wheels that is not told. Add --reveal to be told at the end.")?;
    }
    out.line("Ctrl-C ends it.")?;
    out.flush()?;
    Ok(())
}

/// What was planted, in words.
fn planted_words(faults: &[Fault]) -> String {
    let says: Vec<String> = faults.iter().map(|fault| fault.says()).collect();
    if says.is_empty() {
        "Planted: nothing; the rover is sound.".to_owned()
    } else {
        format!("Planted: {}", says.join(" "))
    }
}
