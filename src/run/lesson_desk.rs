//! A lesson at the console's teach page: prompts and answers, while the engine goes on and the recording too.

use std::collections::VecDeque;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use wheeltap_parsers::{Input, Nanos, Wire};

use crate::console::status::Lesson as LessonView;
use crate::rover::file::RoverFile;
use crate::run::teach::{NOTE, SAID, write_new};
use crate::teach::Lesson;
use crate::teach::lesson::Ending;

/// Most lines of the talk kept; older ones have scrolled away.
const MOST_LINES: usize = 200;
/// Most files of one name beside a session.
const MOST_FILES: u32 = 100;

/// Where the talk stands.
enum Stage {
    /// Nobody has asked for a lesson.
    Before,
    /// Under way.
    Lesson(Box<Lesson>),
    /// Written; the person is asked whether to use it.
    Use(Arc<RoverFile>),
    /// Over.
    Over,
}

/// The talk at the page.
pub struct LessonDesk {
    /// The session being recorded; the rover file is written beside it.
    session: Option<PathBuf>,
    rate: u32,
    stage: Stage,
    lines: Vec<String>,
    now: Nanos,
    /// What the person stated and the session does not hold yet.
    said: VecDeque<String>,
}

impl LessonDesk {
    /// A desk at a link of this rate, baud. Without a session the file is written in the folder the program runs in.
    pub const fn new(session: Option<PathBuf>, rate: u32) -> Self {
        Self { session, rate, stage: Stage::Before, lines: Vec::new(), now: 0, said: VecDeque::new() }
    }

    /// Begins a lesson, unless one is under way.
    pub fn begin(&mut self) {
        if matches!(self.stage, Stage::Before) {
            self.say([
                "CAUTION: wheels will turn. Rover on a stand, wheels free, a hand at the pack plug.".to_owned(),
                "Take the control panel in hand. I learn what each button sends; I never send anything.".to_owned(),
            ]);
            self.stage = Stage::Lesson(Box::new(Lesson::new(self.rate, None)));
        }
    }

    /// What the page shows.
    pub fn view(&self) -> LessonView {
        LessonView { lines: self.lines.clone(), over: matches!(self.stage, Stage::Over) }
    }

    /// Takes what the ports gave. True when something new is to be shown.
    pub fn take(&mut self, input: &Input<'_>) -> bool {
        self.now = self.now.max(input.at());
        let Stage::Lesson(lesson) = &mut self.stage else { return false };
        let says = match input {
            Input::Chunk(chunk) if chunk.wire == Wire::ToDrive => lesson.hear(self.now, chunk.bytes),
            _ => lesson.pass(self.now),
        };
        let new = !says.is_empty();
        self.say(says);
        new
    }

    /// The note that a statement, or a new prompt, leaves in the session; the prompt stands on the page then.
    pub fn ask(&mut self) -> Option<String> {
        if let Some(said) = self.said.pop_front() {
            return Some(format!("{SAID}{said}"));
        }
        let Stage::Lesson(lesson) = &mut self.stage else { return None };
        let step = lesson.step()?;
        let prompt = lesson.ask()?;
        self.say(prompt);
        Some(format!("{NOTE}{}", step.id()))
    }

    /// Takes a typed line; gives the rover file that is to be used from now on.
    pub fn type_line(&mut self, line: &str) -> Option<Arc<RoverFile>> {
        self.say([format!("> {line}")]);
        match &mut self.stage {
            Stage::Lesson(lesson) => {
                if Lesson::is_statement(line) {
                    self.said.push_back(line.to_owned());
                }
                let says = lesson.type_line(line);
                self.say(says);
                self.close();
                None
            }
            Stage::Use(rover) => {
                let rover = Arc::clone(rover);
                self.answer(line, rover)
            }
            Stage::Before | Stage::Over => {
                self.stage = Stage::Before;
                self.begin();
                None
            }
        }
    }

    /// Says what came of using the new file.
    pub fn say_used(&mut self, how: &Result<(), String>) {
        self.say([match how {
            Ok(()) => {
                "It is used now, and what was recorded so far is read again with it. Esc: back to the rover.".to_owned()
            }
            Err(why) => format!("It is not used now: {why}"),
        }]);
    }

    fn answer(&mut self, line: &str, rover: Arc<RoverFile>) -> Option<Arc<RoverFile>> {
        match line.trim().to_lowercase().as_str() {
            "yes" | "y" => {
                self.stage = Stage::Over;
                return Some(rover);
            }
            "no" | "n" => {
                self.stage = Stage::Over;
                self.say([format!(
                    "It stays beside the session. Next time: wheeltap listen PORT --rover {}",
                    rover.file
                )]);
            }
            _ => self.say(["Type yes or no.".to_owned()]),
        }
        None
    }

    /// Writes the file when the lesson has come to its end.
    fn close(&mut self) {
        let Stage::Lesson(lesson) = &mut self.stage else { return };
        let Some(ending) = lesson.ending() else { return };
        if ending == Ending::Nothing {
            self.stage = Stage::Over;
            self.say(["No rover file was written. Enter begins another lesson; Esc leaves.".to_owned()]);
            return;
        }
        let (text, faults) = lesson.rover_file();
        let written = match faults.first() {
            Some(fault) => Err(format!("what was learned does not fit a rover file yet: {fault}")),
            None => self.write(&text),
        };
        match written {
            Ok(rover) => {
                self.say([
                    format!("{} is written. Read it: every line is explained.", rover.file),
                    "Use it now, for this session? Type yes or no.".to_owned(),
                ]);
                self.stage = Stage::Use(rover);
            }
            Err(why) => {
                self.stage = Stage::Over;
                self.say([format!(
                    "No rover file was written: {why} The lesson is in the session: wheeltap teach --from."
                )]);
            }
        }
    }

    fn write(&self, text: &str) -> Result<Arc<RoverFile>, String> {
        let file = self.free_name()?;
        write_new(&file, text).map_err(|failure| failure.message)?;
        let name = file.display().to_string();
        RoverFile::load(&name, text).map(Arc::new).map_err(|faults| faults.iter().map(ToString::to_string).collect())
    }

    /// The session's own name with another ending; a number is added where that is taken.
    fn free_name(&self) -> Result<PathBuf, String> {
        let stem = self.session.as_deref().unwrap_or_else(|| Path::new("my-rover")).with_extension("");
        let name = |number: u32| match number {
            1 => PathBuf::from(format!("{}.toml", stem.display())),
            more => PathBuf::from(format!("{}-{more}.toml", stem.display())),
        };
        let free = (1..=MOST_FILES).map(name).find(|name| !name.exists());
        free.ok_or_else(|| format!("{}.toml: a hundred files of this name are here. Remove some.", stem.display()))
    }

    fn say(&mut self, lines: impl IntoIterator<Item = String>) {
        self.lines.extend(lines);
        let over = self.lines.len().saturating_sub(MOST_LINES);
        self.lines.drain(..over);
    }
}
