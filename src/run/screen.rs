//! The drawing loop: keys in, wishes out, newest view on the screen. It only reads what the engine's thread publishes.

use std::sync::Arc;
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::thread;
use std::time::{Duration, Instant};

use crate::console::wish::Wish;
use crate::console::{Console, Theme};
use crate::run::publish::{Publisher, Ui, View};
use crate::run::signals::Asked;
use crate::run::terminal::Taken;
use crate::run::{Failure, keyboard};

/// Shortest time between two drawings: at most thirty a second.
const FRAME: Duration = Duration::from_millis(33);
/// How often to look whether the program was asked to end.
const LOOK: Duration = Duration::from_millis(100);

/// What stands on the screen before there is anything to show.
const READING: &str = "Reading the file ... q quits.";

/// What the engine's thread gets: where to publish, and the wishes of the person.
pub struct Desk {
    /// Where views go.
    pub publisher: Publisher,
    /// What the person asks for.
    pub wishes: Receiver<Wish>,
    /// Whether to end.
    pub asked: Asked,
}

/// Runs `work` on its own thread beside the console until either ends.
pub fn run(
    ascii: bool,
    asked: &Asked,
    work: impl FnOnce(Desk) -> Result<(), Failure> + Send + 'static,
) -> Result<(), Failure> {
    let (ui, events) = channel();
    let (wish, wishes) = channel();
    let publisher = Publisher::new(ui.clone());
    let desk = Desk { publisher: publisher.clone(), wishes, asked: asked.clone() };
    let mut taken = Taken::take()?;
    keyboard::begin(ui)?;
    let end = publisher.clone();
    let worker = thread::Builder::new().name("engine".to_owned()).spawn(move || {
        let _told = ToldAnyway(end.clone());
        let how = work(desk);
        end.ended(how);
    });
    let worker = worker.map_err(|error| Failure::device(format!("no thread for the engine ({error}).")))?;
    let no_colour = std::env::var_os("NO_COLOR").is_some_and(|value| !value.is_empty());
    let mut screen = Screen {
        console: Console::new(Theme::from_env(no_colour, ascii)),
        publisher,
        wish,
        asked: asked.clone(),
        dirty: false,
        drawn: None,
        seen: None,
    };
    let how = screen.follow(&events, &mut taken);
    asked.end();
    drop(taken);
    if worker.join().is_err() {
        return Err(broke_down());
    }
    how.or_else(|| ended(&events)).unwrap_or(Ok(()))
}

/// Tells the drawing thread when the engine's thread breaks down; it would wait for ever.
struct ToldAnyway(Publisher);

impl Drop for ToldAnyway {
    fn drop(&mut self) {
        if thread::panicking() {
            self.0.ended(Err(broke_down()));
        }
    }
}

fn broke_down() -> Failure {
    Failure::device("the engine's thread broke down. The session up to here is kept.")
}

/// What the engine's thread said as it ended, if it has.
fn ended(events: &Receiver<Ui>) -> Option<Result<(), Failure>> {
    events.try_iter().find_map(|event| if let Ui::Ended(how) = event { Some(how) } else { None })
}

struct Screen {
    console: Console,
    publisher: Publisher,
    wish: Sender<Wish>,
    asked: Asked,
    dirty: bool,
    drawn: Option<Instant>,
    /// What stands on the screen: a key answers that, not what has come since.
    seen: Option<Arc<View>>,
}

impl Screen {
    /// `Some` when the engine's thread ended first.
    fn follow(&mut self, events: &Receiver<Ui>, taken: &mut Taken) -> Option<Result<(), Failure>> {
        loop {
            if self.asked.to_end() {
                return None;
            }
            match events.recv_timeout(self.wait()) {
                Ok(Ui::Key(key)) => {
                    self.dirty = true;
                    if self.key(key) {
                        return None;
                    }
                }
                Ok(Ui::Resized | Ui::Fresh) => self.dirty = true,
                Ok(Ui::TerminalGone) | Err(RecvTimeoutError::Disconnected) => return None,
                Ok(Ui::Ended(how)) => return Some(how),
                // Nothing to show yet: a large file is being read.
                Err(RecvTimeoutError::Timeout) => self.dirty |= self.publisher.newest().is_none(),
            }
            if self.due() && !self.draw(taken) {
                return None;
            }
        }
    }

    fn wait(&self) -> Duration {
        let since = self.drawn.map(|at| at.elapsed());
        match since {
            Some(since) if self.dirty => FRAME.saturating_sub(since),
            _ => LOOK,
        }
    }

    fn due(&self) -> bool {
        self.dirty && self.drawn.is_none_or(|at| at.elapsed() >= FRAME)
    }

    /// True when the person wants to quit.
    fn key(&mut self, key: crossterm::event::KeyEvent) -> bool {
        let Some(view) = self.seen.clone().or_else(|| self.publisher.newest()) else { return is_quit(key) };
        match self.console.key(key, &view.snapshot, &view.status) {
            Some(Wish::Quit) => true,
            Some(wish) => self.wish.send(wish).is_err(),
            None => false,
        }
    }

    /// False when the terminal is gone.
    fn draw(&mut self, taken: &mut Taken) -> bool {
        self.dirty = false;
        self.drawn = Some(Instant::now());
        let Some(view) = self.publisher.newest() else {
            return taken.terminal.draw(|frame| frame.render_widget(READING, frame.area())).is_ok();
        };
        self.seen = Some(Arc::clone(&view));
        let console = &mut self.console;
        taken.terminal.draw(|frame| console.draw(frame, &view.snapshot, &view.status)).is_ok()
    }
}

/// Before the first view there is no console to ask.
fn is_quit(key: crossterm::event::KeyEvent) -> bool {
    use crossterm::event::{KeyCode, KeyModifiers};
    key.code == KeyCode::Char('q') || (key.code == KeyCode::Char('c') && key.modifiers.contains(KeyModifiers::CONTROL))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::panic)]
    use std::io::Read;

    use portable_pty::{CommandBuilder, PtySize, native_pty_system};

    use super::*;

    /// Set for the copy of the test below that runs in a terminal of its own.
    const CHILD: &str = "WHEELTAP_TEST_CHILD";

    /// The engine's thread breaks down while the console has the terminal.
    fn breaks_down() {
        let failure = run(false, &Asked::watch().unwrap(), |_desk| panic!("planted")).unwrap_err();
        assert_eq!(failure, broke_down());
        println!("told: {}", failure.message);
    }

    /// This test's own program, in a terminal between two looks at its modes; gives back all that was written.
    fn in_a_terminal(test: &str) -> String {
        let program = std::env::current_exe().unwrap();
        let line = format!(
            "before=$(stty -g); {} --exact --nocapture {test}; after=$(stty -g); \
             test \"$before\" = \"$after\" && echo modes-as-before",
            program.display()
        );
        let mut command = CommandBuilder::new("/bin/sh");
        command.args(["-c", &line]);
        command.env("TERM", "xterm-256color");
        command.env(CHILD, "1");
        let pair = native_pty_system().openpty(PtySize::default()).unwrap();
        let mut child = pair.slave.spawn_command(command).unwrap();
        drop(pair.slave);
        let mut reader = pair.master.try_clone_reader().unwrap();
        let mut written = Vec::new();
        // A Linux pseudo-terminal answers with an error once its program has ended.
        drop(reader.read_to_end(&mut written));
        child.wait().unwrap();
        String::from_utf8_lossy(&written).into_owned()
    }

    #[test]
    fn a_breakdown_gives_the_terminal_back_and_ends_the_program() {
        if std::env::var_os(CHILD).is_some() {
            return breaks_down();
        }
        let written = in_a_terminal("run::screen::tests::a_breakdown_gives_the_terminal_back_and_ends_the_program");
        // The list of control sequences of the X terminal emulator, private modes 1049 and 25.
        let [enter, leave, show, panic, told] =
            ["\x1b[?1049h", "\x1b[?1049l", "\x1b[?25h", "planted", "told: "].map(|text| written.find(text));
        assert!(enter.is_some() && enter < leave && leave < show && show < panic && panic < told, "{written:?}");
        assert!(written.contains("1 passed") && written.contains("modes-as-before"), "{written:?}");
    }
}
