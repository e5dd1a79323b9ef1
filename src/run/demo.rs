//! `demo`: the built-in simulated rover, paced like the real thing.

use std::time::{Duration, Instant};

use crate::console::status::{Mode, Status};
use crate::engine::Engine;
use crate::run::headless::{Output, Printer};
use crate::run::live::{Follow, Show};
use crate::run::signals::Asked;
use crate::run::simulate::Simulated;
use crate::run::{Failure, Outcome, rover_choice, screen};
use crate::source::Source;
use crate::source::simulated::{Adapter, SimulatedSource};

/// What to show, and how.
pub struct Options {
    /// The simulated rover.
    pub simulated: Simulated,
    /// With or without a screen.
    pub output: Output,
    /// Plain ASCII.
    pub ascii: bool,
}

/// Shows the simulated rover until asked to end.
pub fn run(options: &Options) -> Result<Outcome, Failure> {
    let asked = Asked::watch()?;
    let rover = rover_choice::named(options.simulated.style.name())?;
    let mut source = SimulatedSource::new(&options.simulated.settings(), Adapter::Timer { ms: 1 });
    let mut engine = Engine::new(source.link().clone(), Some(rover));
    options.simulated.tell_of_idle_faults();
    let mut faults: Vec<String> = options.simulated.named().map(crate::simulation::Fault::name).collect();
    if options.simulated.has_secret() {
        faults.push("a secret".to_owned());
    }
    let message = (!faults.is_empty()).then(|| format!("Planted: {}", faults.join(", ")));
    let status = move || Status { mode: Mode::Demo, message: message.clone(), ..Status::default() };
    let ends = options.output.seconds.map(Duration::from_secs);
    let follow = |wishes| Follow {
        begun: Instant::now(),
        paced: true,
        ends,
        asked: asked.clone(),
        wishes,
        note: None,
        teach: None,
    };
    if options.output.headless {
        let printer = Some(Printer::new(options.output.json));
        let mut show = Show { publisher: None, printer, status: Box::new(status) };
        follow(None).run(&mut source, &mut engine, &mut show)?;
        Follow::end(&mut engine, &mut show)?;
        return Ok(Outcome::Fine);
    }
    let parts = follow(None);
    screen::run(options.ascii, &asked, move |desk| {
        let mut follow = Follow { begun: Instant::now(), wishes: Some(desk.wishes), ..parts };
        let mut show = Show { publisher: Some(desk.publisher), printer: None, status: Box::new(status) };
        follow.run(&mut source, &mut engine, &mut show).map(drop)
    })?;
    Ok(Outcome::Fine)
}
