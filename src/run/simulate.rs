//! `simulate`: the simulated rover's boards on pretend serial ports.

use std::path::{Path, PathBuf};
use std::time::Instant;

use wheeltap_parsers::Nanos;

use crate::run::headless::Out;
use crate::run::signals::Asked;
use crate::run::{Failure, Outcome};
use crate::simulation::{Burst, Fault, Moonwagon, Script, Settings, Style};
use crate::source::pseudo_port::{PseudoPort, write_at};

/// What to simulate.
#[derive(Clone, Debug)]
pub struct Simulated {
    /// Link style.
    pub style: Style,
    /// Faults to plant.
    pub faults: Vec<Fault>,
    /// Where all chance comes from.
    pub seed: u64,
}

impl Simulated {
    /// As the simulation takes it.
    pub fn settings(&self) -> Settings {
        Settings { style: self.style, seed: self.seed, faults: self.faults.clone(), script: Script::demo() }
    }
}

/// Opens the ports, says how to listen to them, and drives the rover until asked to end.
pub fn run(simulated: &Simulated, link: Option<&Path>, seconds: Option<u64>) -> Result<Outcome, Failure> {
    let asked = Asked::watch()?;
    let port = PseudoPort::open(link)?;
    let back_link = link.map(|link| {
        let mut name = link.as_os_str().to_owned();
        name.push("-back");
        PathBuf::from(name)
    });
    let back = simulated.style.answers().then(|| PseudoPort::open(back_link.as_deref())).transpose()?;
    say(simulated, link.unwrap_or(port.path()), back.as_ref().map(|back| back_link.as_deref().unwrap_or(back.path())))?;
    let ends = seconds.map_or(Nanos::MAX, |seconds| i64::try_from(seconds).map_or(Nanos::MAX, |s| s * 1_000_000_000));
    let mut wagon = Moonwagon::new(&simulated.settings());
    let bursts = std::iter::from_fn(move || wagon.next_burst()).take_while(move |burst: &Burst| burst.ends <= ends);
    write_at([Some(&port), back.as_ref()], bursts, Instant::now(), asked.flag())?;
    Ok(Outcome::Fine)
}

fn say(simulated: &Simulated, port: &Path, back: Option<&Path>) -> Result<(), Failure> {
    let mut out = Out::stdout();
    let name = simulated.style.name();
    let back = back.map(|back| format!(" --back {}", back.display())).unwrap_or_default();
    out.line(&format!("The Moonwagon ({name}) is on {}. In another terminal:", port.display()))?;
    out.line(&format!("    wheeltap listen {}{back} --rover {name}", port.display()))?;
    for fault in &simulated.faults {
        out.line(&format!("Planted: {}", fault.says()))?;
    }
    out.line("Ctrl-C ends it.")?;
    out.flush()?;
    Ok(())
}
