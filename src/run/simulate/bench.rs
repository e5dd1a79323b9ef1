//! The bench: screen, keys and the simulated rover, each doing its part until the person quits.

use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread;
use std::time::{Duration, Instant};

use super::by_hand::{ByHand, Deed, Shared};
use super::hands::{Asks, Hands};
use super::{Options, Ports, planted_words, seen_words};
use crate::console::Theme;
use crate::console::stand::Stand;
use crate::run::publish::Ui;
use crate::run::signals::Asked;
use crate::run::terminal::Taken;
use crate::run::{Failure, keyboard};
use crate::simulation::{Moonwagon, Script, Settings};

/// Longest time between two looks at the rover.
const LOOK: Duration = Duration::from_millis(50);

/// Lets a person drive the simulated rover until they quit, or the time is over.
pub fn run(options: &Options, ports: Ports, asked: &Asked) -> Result<(), Failure> {
    let simulated = &options.simulated;
    let settings = Settings { script: Script::by_hand(), ..simulated.settings() };
    let mut stand = Stand { title: title(options), listen: listen(options, &ports), ..Stand::default() };
    let hands = Hands::new(simulated.style);
    hands.show(&mut stand);
    let begun = Instant::now();
    let rover = ByHand::new(Moonwagon::new(&settings), ports, begun);
    let shared: Shared = Arc::new(Mutex::new(rover.state()));
    let (deeds, taken) = channel();
    let mut terminal = Taken::take()?;
    let (ui, events) = channel();
    keyboard::begin(ui)?;
    let worker = {
        let (shared, asked) = (Arc::clone(&shared), asked.clone());
        thread::Builder::new().name("rover".to_owned()).spawn(move || {
            let how = rover.run(&taken, &shared, &asked);
            asked.end();
            how
        })
    };
    let worker = worker.map_err(|error| Failure::device(format!("no thread for the rover ({error}).")))?;
    let ends = options.seconds.map(|seconds| begun + Duration::from_secs(seconds));
    let planted = planted_words(&settings.faults);
    let theme = theme(options.ascii);
    let mut bench = Bench { stand, hands, shared, deeds, planted, theme, begun, ends };
    bench.follow(&events, &mut terminal, asked);
    asked.end();
    drop(terminal);
    worker.join().unwrap_or_else(|_| Err(Failure::device("the simulated rover's thread broke down.")))
}

fn title(options: &Options) -> String {
    let fault = match options.simulated.faults.len() {
        0 => "sound",
        1 => "one fault planted, not told",
        _ => "faults planted, not told",
    };
    format!("The Moonwagon, simulated ({}): {fault}", options.simulated.style.name())
}

/// The commands that listen, with a rover file and without.
fn listen(options: &Options, ports: &Ports) -> Vec<String> {
    let name = options.simulated.style.name();
    vec![format!("{} --rover {name}", ports.listen), format!("{}        (no rover file yet)", ports.listen)]
}

fn theme(ascii: bool) -> Theme {
    let no_colour = std::env::var_os("NO_COLOR").is_some_and(|value| !value.is_empty());
    Theme::from_env(no_colour, ascii)
}

struct Bench {
    stand: Stand,
    hands: Hands,
    shared: Shared,
    deeds: Sender<Deed>,
    planted: String,
    theme: Theme,
    begun: Instant,
    ends: Option<Instant>,
}

impl Bench {
    fn follow(&mut self, events: &Receiver<Ui>, taken: &mut Taken, asked: &Asked) {
        let mut drawn = None;
        while !asked.to_end() && self.ends.is_none_or(|ends| Instant::now() < ends) {
            self.look();
            if drawn.as_ref() != Some(&self.stand) {
                let (stand, theme) = (&self.stand, self.theme);
                if taken.terminal.draw(|frame| stand.draw(frame, theme)).is_err() {
                    return;
                }
                drawn = Some(self.stand.clone());
            }
            match events.recv_timeout(LOOK) {
                Ok(Ui::Key(key)) if !self.key(key) => return,
                Ok(Ui::Resized) => drawn = None,
                Ok(Ui::TerminalGone) | Err(RecvTimeoutError::Disconnected) => return,
                _ => {}
            }
        }
    }

    /// Brings the stand up to what is so now.
    fn look(&mut self) {
        let seen = self.shared.lock().unwrap_or_else(PoisonError::into_inner).seen;
        self.stand.wheels = seen.wheels.map(seen_words::turning);
        self.stand.goes = seen_words::goes(seen.goes);
        self.stand.seconds = self.begun.elapsed().as_secs();
        self.hands.show(&mut self.stand);
    }

    /// False when the person quits.
    fn key(&mut self, key: crossterm::event::KeyEvent) -> bool {
        match self.hands.key(key) {
            Asks::Quit => return false,
            Asks::Reveal => self.reveal(),
            Asks::Do(deeds) => {
                for deed in deeds {
                    let _ended_if_it_fails = self.deeds.send(deed);
                }
            }
        }
        true
    }

    fn reveal(&mut self) {
        let wrong = self.shared.lock().unwrap_or_else(PoisonError::into_inner).wrong.clone();
        let now = if wrong.is_empty() {
            "Wheels and table are sound now.".to_owned()
        } else {
            format!("Wrong now: {}.", wrong.join("; "))
        };
        self.hands.say(format!("{} {now}", self.planted));
    }
}
