//! `teach`: a rover file from pressing buttons, in a plain terminal, recorded like any session.

use std::io::{self, BufRead, Write};
use std::path::{Path, PathBuf};
use std::sync::mpsc::{Receiver, TryRecvError, channel};

use wheeltap_parsers::{Input, Nanos, Wire};

use crate::rover::built_in;
use crate::run::headless::{Out, Output};
use crate::run::listen::{self, LineRate, Tap};
use crate::run::signals::Asked;
use crate::run::{Failure, Outcome, new_file};
use crate::source::open;
use crate::teach::lesson::Ending;
use crate::teach::{Lesson, Step};

/// What a note of a lesson begins with; the step's id follows.
pub(super) const NOTE: &str = "teach: ";
/// What a note of a lesson begins with that keeps what the person stated: a name, the wiring of a wheel.
pub(super) const SAID: &str = "teach said: ";

/// From where to learn, and where to write.
pub struct Options {
    /// Port on the wire to the drive board; a session when `recorded`.
    pub from: String,
    /// True to learn from a recorded session of a lesson.
    pub recorded: bool,
    /// The rover file to write; it must not exist.
    pub out: PathBuf,
    /// Line rate.
    pub rate: Option<LineRate>,
    /// The shipped file whose format this link has.
    pub like: Option<String>,
    /// Where to record.
    pub session: Option<PathBuf>,
    /// Whether to record.
    pub records: bool,
}

/// Teaches until the file is written or the person ends it.
pub fn run(options: &Options) -> Result<Outcome, Failure> {
    refuse_existing(&options.out)?;
    let like = options.like.as_deref().and_then(built_in::find);
    let mut lesson = Lesson::new(listen::USUAL_RATE, like);
    let mut out = Out::stdout();
    if options.recorded {
        for line in replayed(options, &mut lesson)? {
            out.line(&line)?;
        }
    } else if let Some(session) = live(options, &mut lesson, &mut out)? {
        out.line(&format!("The session is in {}.", session.display()))?;
    }
    let outcome = finish(options, &mut lesson, &mut out);
    out.flush()?;
    outcome
}

fn refuse_existing(file: &Path) -> Result<(), Failure> {
    if file.exists() {
        let shown = file.display();
        return Err(Failure::usage(format!("{shown} is there already and stays as it is. Choose another name.")));
    }
    Ok(())
}

/// Runs the lesson on a port; gives the session's file where one was recorded.
fn live(options: &Options, lesson: &mut Lesson, out: &mut Out) -> Result<Option<PathBuf>, Failure> {
    let asked = Asked::watch()?;
    let mut tap = listen::open(&tap_options(options), &asked)?;
    if let Some(rate) = tap.rate() {
        lesson.set_rate(rate);
    }
    let typed = typed_lines();
    greet(out)?;
    let done = Talk { lesson, out, typed: &typed, asked: &asked }.hold(&mut tap);
    let session = tap.stop();
    done?;
    session
}

fn tap_options(options: &Options) -> listen::Options {
    listen::Options {
        port: options.from.clone(),
        back: None,
        rover: None,
        rate: options.rate,
        session: options.session.clone(),
        records: options.records,
        rotate: Vec::new(),
        output: Output { headless: true, json: false, seconds: None },
        ascii: true,
    }
}

fn greet(out: &mut Out) -> Result<(), Failure> {
    for line in [
        "",
        "CAUTION: wheels will turn. Rover on a stand, wheels free, a hand at the pack plug.",
        "Take the control panel in hand. I listen on the wire and learn what each button",
        "sends; I never send anything. Type help at any time to see what can be typed.",
    ] {
        out.line(line)?;
    }
    Ok(())
}

/// Lines typed by the person, from a thread of their own: reading one waits. It ends with the input.
fn typed_lines() -> Receiver<String> {
    let (send, typed) = channel();
    std::thread::spawn(move || {
        for line in io::stdin().lock().lines() {
            let Ok(line) = line else { break };
            if send.send(line).is_err() {
                break;
            }
        }
    });
    typed
}

/// The lesson, the person and the wire.
struct Talk<'t> {
    lesson: &'t mut Lesson,
    out: &'t mut Out,
    typed: &'t Receiver<String>,
    asked: &'t Asked,
}

impl Talk<'_> {
    /// Goes on until the lesson is over, the person is gone, or the port is.
    fn hold(mut self, tap: &mut Tap) -> Result<(), Failure> {
        let mut now: Nanos = 0;
        while self.lesson.ending().is_none() && !self.asked.to_end() {
            self.ask(tap)?;
            let says = match tap.next()? {
                Some(input) => {
                    now = now.max(input.at());
                    self.take(&input, now)
                }
                None => break,
            };
            self.say(&says)?;
            if !self.typed(tap)? {
                break;
            }
        }
        Ok(())
    }

    fn ask(&mut self, tap: &Tap) -> Result<(), Failure> {
        let (Some(step), Some(lines)) = (self.lesson.step(), self.lesson.ask()) else { return Ok(()) };
        tap.note(&format!("{NOTE}{}", step.id()));
        self.say(&lines)
    }

    fn take(&mut self, input: &Input<'_>, now: Nanos) -> Vec<String> {
        match input {
            Input::Chunk(chunk) if chunk.wire == Wire::ToDrive => self.lesson.hear(now, chunk.bytes),
            Input::PortGone { .. } => vec!["  DOUBT: the port went away. Plug it in again; I go on then.".to_owned()],
            Input::PortBack { .. } => vec!["     ok   The port is back.".to_owned()],
            _ => self.lesson.pass(now),
        }
    }

    /// Takes what was typed; false once nobody can type any more.
    fn typed(&mut self, tap: &Tap) -> Result<bool, Failure> {
        match self.typed.try_recv() {
            Ok(line) => {
                if Lesson::is_statement(&line) {
                    tap.note(&format!("{SAID}{line}"));
                }
                let says = self.lesson.type_line(&line);
                self.say(&says)?;
                Ok(true)
            }
            Err(TryRecvError::Empty) => Ok(true),
            Err(TryRecvError::Disconnected) => Ok(false),
        }
    }

    fn say(&mut self, lines: &[String]) -> Result<(), Failure> {
        for line in lines {
            self.out.line(&folded(line))?;
        }
        self.out.flush()?;
        Ok(())
    }
}

/// Cells of a line of the lesson: a usual terminal has eighty.
const WIDTH: usize = 79;

/// A sentence over as many lines as it needs, each as far in as the first word.
fn folded(line: &str) -> String {
    let indent = line.len() - line.trim_start().len();
    let indent = if line.trim_start().starts_with("ok ") { indent + 5 } else { indent };
    let (mut out, mut row) = (String::new(), String::new());
    for (place, word) in line.split(' ').enumerate() {
        if row.chars().count() + 1 + word.chars().count() > WIDTH && !row.trim().is_empty() {
            out += row.trim_end();
            out += "\n";
            row = " ".repeat(indent) + word;
        } else {
            row += if place > 0 { " " } else { "" };
            row += word;
        }
    }
    out + &row
}

/// Learns from a recorded lesson: its notes say which step was asked when.
fn replayed(options: &Options, lesson: &mut Lesson) -> Result<Vec<String>, Failure> {
    let mut source = open(&options.from)?;
    let recorded = source.link().wire(Wire::ToDrive).and_then(|facts| facts.rate);
    let given = match options.rate {
        Some(LineRate::Baud(rate)) => Some(rate),
        Some(LineRate::Find) | None => recorded,
    };
    if let Some(rate) = given {
        lesson.set_rate(rate);
    }
    let mut steps = 0;
    while let Some(input) = source.next()? {
        match input {
            Input::Chunk(chunk) if chunk.wire == Wire::ToDrive => {
                lesson.hear(chunk.hi, chunk.bytes);
            }
            Input::Note { text, .. } => {
                if let Some(step) = text.strip_prefix(NOTE).and_then(Step::from_id) {
                    lesson.go_to(step);
                    steps += 1;
                }
                if let Some(line) = text.strip_prefix(SAID).filter(|line| Lesson::is_statement(line)) {
                    lesson.type_line(line);
                }
            }
            _ => {}
        }
    }
    if steps == 0 {
        let from = &options.from;
        return Err(Failure::usage(format!(
            "{from}: this is no session of a lesson: no note in it says which button was asked for. Teach live: \
             wheeltap teach PORT --out FILE."
        )));
    }
    Ok(lesson.list().into_iter().chain(lesson.type_line("write")).collect())
}

fn finish(options: &Options, lesson: &mut Lesson, out: &mut Out) -> Result<Outcome, Failure> {
    if lesson.ending() != Some(Ending::Write) {
        out.line("No rover file was written.")?;
        return Ok(Outcome::Fine);
    }
    let (text, faults) = lesson.rover_file();
    if let Some(fault) = faults.first() {
        return Err(Failure::usage(format!(
            "what was learned does not fit a rover file yet: {fault}. Nothing was written; the session can be read again."
        )));
    }
    write_new(&options.out, &text)?;
    let shown = options.out.display();
    out.line("")?;
    out.line(&format!("{shown} is written, after {} prompts. Read it: every line is explained.", lesson.prompts()))?;
    let port = if options.recorded { "PORT" } else { options.from.as_str() };
    out.line(&format!("Next: wheeltap listen {port} --rover {shown}"))?;
    Ok(Outcome::Fine)
}

/// Writes a file that must not exist yet.
pub(super) fn write_new(file: &Path, text: &str) -> Result<(), Failure> {
    new_file::filled(file, |mut out| {
        out.write_all(text.as_bytes()).map_err(|error| new_file::not_written(file, &error))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn long_sentences_are_folded_at_words_and_stay_indented() {
        let line = format!("     ok   {}", "word ".repeat(30).trim_end());
        let folded = folded(&line);
        assert!(folded.lines().count() == 3 && folded.lines().all(|row| row.len() <= WIDTH), "{folded}");
        assert!(folded.lines().skip(1).all(|row| row.starts_with("          word")), "{folded}");
        assert_eq!(super::folded("  short"), "  short");
    }
}
