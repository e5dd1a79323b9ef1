//! The lesson: where it stands, what is asked next, and what is answered to presses and typed words.

mod words;

use wheeltap_parsers::Nanos;

use super::answer::{Answer, HELP};
use super::body::Read;
use super::doubt::nothing_heard;
use super::file_text::{self, Said};
use super::format::{self, Format, Heard, Shipped};
use super::learned::{self, Learned, Rest};
use super::printed;
use super::start_up::{self, reads_like_text};
use super::step::Step;
use super::wiring::Wiring;
use crate::rover::built_in::BuiltIn;
use crate::rover::file::RoverFile;
use crate::rover::mecanum::Motion;

/// How long the rest must last before a move counts as done without Enter, nanoseconds.
const SETTLED: Nanos = 700_000_000;
/// Shortest time between two times of working everything out, nanoseconds.
const PAUSE: Nanos = 200_000_000;
/// Most bytes kept; a rover's link sends far fewer in a lesson.
const MOST_BYTES: usize = 4 << 20;
/// Most different lines shown in one step.
const MOST_SHOWN: usize = 8;

/// So many bytes without any line or check are no order cut short.
const UNKNOWN: u64 = 48;

/// What to type after a doubt.
const KEEPS: &str = "          Enter keeps it as it is; again repeats the step.";

/// How a lesson ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ending {
    /// Write the rover file.
    Write,
    /// Write nothing.
    Nothing,
}

/// A lesson under way.
// Each is a fact of its own: none follows from another.
#[allow(clippy::struct_excessive_bools)]
#[derive(Clone, Debug)]
pub struct Lesson {
    steps: Vec<Step>,
    at: usize,
    reads: Vec<Read>,
    /// What was heard while the board started.
    started: Vec<Read>,
    bytes: usize,
    said: Said,
    shipped: Vec<Shipped>,
    heard: Heard,
    learned: Learned,
    stale: bool,
    worked_out: Nanos,
    shown: usize,
    doubted: bool,
    /// It was said that the link cannot be learned.
    warned: bool,
    asked: bool,
    prompts: usize,
    ending: Option<Ending>,
}

impl Lesson {
    /// A lesson about a link listened to at `rate` baud. `like` narrows the shipped formats to one.
    pub fn new(rate: u32, like: Option<BuiltIn>) -> Self {
        Self {
            steps: Step::all(),
            at: 0,
            reads: Vec::new(),
            started: Vec::new(),
            bytes: 0,
            said: Said { rover: "My rover".to_owned(), rate, ..Said::default() },
            learned: learned::learn(&[], &Heard::nothing()),
            heard: Heard::nothing(),
            shipped: format::shipped(like),
            stale: false,
            worked_out: 0,
            shown: 0,
            doubted: false,
            warned: false,
            asked: false,
            prompts: 0,
            ending: None,
        }
    }

    /// The line rate that goes into the rover file, baud.
    pub const fn set_rate(&mut self, rate: u32) {
        self.said.rate = rate;
    }

    /// The step at hand.
    pub fn step(&self) -> Option<Step> {
        self.steps.get(self.at).copied().filter(|_| self.ending.is_none())
    }

    /// Which prompt this is, and of how many: a step that nobody is asked does not count.
    pub fn place(&self) -> (usize, usize) {
        let asked = |step: &&Step| **step != Step::Stop || self.is_due(Step::Stop);
        let before = self.steps.iter().take(self.at + 1).filter(asked).count();
        (before.max(1), self.steps.iter().filter(asked).count())
    }

    /// How many prompts there were.
    pub const fn prompts(&self) -> usize {
        self.prompts
    }

    /// How it ended, once it has.
    pub const fn ending(&self) -> Option<Ending> {
        self.ending
    }

    /// What is learned so far.
    pub fn learned(&mut self) -> &Learned {
        self.work_out();
        &self.learned
    }

    /// The prompt, once for each time a step is begun.
    pub fn ask(&mut self) -> Option<Vec<String>> {
        let step = self.step().filter(|_| !self.asked)?;
        self.asked = true;
        self.prompts += 1;
        let (at, all) = self.place();
        let mut lines = vec![String::new(), format!("{at:>2} of {all}   {}", step.heading())];
        lines.extend(step.tells().iter().map(|line| format!("          {line}")));
        if step == Step::Move(Motion::Backward) {
            lines.push("          From now on a press and a release are noticed by themselves: no Enter.".to_owned());
        }
        if step.listens() {
            lines.push("     type Enter = done, or: skip again back name list write quit help".to_owned());
        }
        Some(lines)
    }

    /// Takes what one read returned.
    pub fn hear(&mut self, at: Nanos, bytes: &[u8]) -> Vec<String> {
        if self.bytes + bytes.len() > MOST_BYTES {
            return self.full();
        }
        let step = self.step().filter(|step| step.listens());
        let kept = if step == Some(Step::StartUp) { &mut self.started } else { &mut self.reads };
        kept.push(Read { at, step, bytes: bytes.to_vec() });
        self.bytes += bytes.len();
        self.stale = true;
        self.pass(at)
    }

    /// No more is kept; said once.
    fn full(&mut self) -> Vec<String> {
        let first = self.bytes <= MOST_BYTES;
        self.bytes = MOST_BYTES + 1;
        let says = format!(
            "  DOUBT: more than {} MB came, so nothing more is learned from. Type write, or quit and begin again.",
            MOST_BYTES >> 20
        );
        if first { vec![says] } else { Vec::new() }
    }

    /// Time goes on to `at`: shows what is new, and goes on by itself when a move was pressed and let go.
    pub fn pass(&mut self, at: Nanos) -> Vec<String> {
        let Some(step) = self.step().filter(|step| step.listens()) else { return Vec::new() };
        if self.stale && at - self.worked_out >= PAUSE {
            self.worked_out = at;
            self.work_out();
        }
        let mut says = self.new_lines(step);
        says.extend(self.cannot_be_learned(step));
        if self.is_settled(step, at) {
            says.extend(self.close(step));
        }
        says
    }

    /// Takes a typed line.
    pub fn type_line(&mut self, line: &str) -> Vec<String> {
        let Some(step) = self.step() else { return Vec::new() };
        self.work_out();
        match Answer::read(line) {
            Answer::Enter => self.enter(step),
            Answer::Skip => self.skip(step),
            Answer::Again => self.again(step),
            Answer::Back => self.back(),
            Answer::List => self.list(),
            Answer::Done => self.done(),
            Answer::Quit => {
                self.ending = Some(Ending::Nothing);
                Vec::new()
            }
            Answer::Help => HELP.map(|line| format!("          {line}")).to_vec(),
            Answer::Name(name) => self.name(step, name),
            Answer::Text(text) => self.text(step, &text),
        }
    }

    /// Whether a typed line states something of the rover, as its name or its wiring, and does not steer the lesson.
    pub fn is_statement(line: &str) -> bool {
        matches!(Answer::read(line), Answer::Name(_) | Answer::Text(_))
    }

    /// Goes to a step of a recorded lesson; what was heard during an earlier try of it no longer counts.
    pub fn go_to(&mut self, step: Step) {
        if let Some(place) = self.steps.iter().position(|known| *known == step) {
            self.move_to(place);
            self.forget(step);
        }
    }

    /// The rover file as it would be written now, and what is wrong with it, if anything is.
    pub fn rover_file(&mut self) -> (String, Vec<String>) {
        self.work_out();
        let text = file_text::write(&self.learned, &self.said);
        let faults = RoverFile::load("the new rover file", &text).err().unwrap_or_default();
        (text, faults.iter().map(ToString::to_string).collect())
    }

    fn work_out(&mut self) {
        if std::mem::take(&mut self.stale) {
            self.heard = format::find(&self.reads, &self.shipped, &self.heard);
            start_up::leave_out(&mut self.heard, &printed::lines(&self.started));
            self.learned = learned::learn(&self.reads, &self.heard);
        }
    }

    /// Says at once, and once, that nothing can be told apart in what comes while a button is pressed.
    fn cannot_be_learned(&mut self, step: Step) -> Vec<String> {
        let unknown = matches!(self.learned.format, Format::Unknown) && self.heard.loose[1] >= UNKNOWN;
        if self.warned || self.stale || !unknown || !matches!(step, Step::Move(_)) {
            return Vec::new();
        }
        self.warned = true;
        self.link_doubts(step)
    }

    /// Lines of this step not shown yet.
    fn new_lines(&mut self, step: Step) -> Vec<String> {
        if self.stale {
            return Vec::new();
        }
        let lines = match step {
            Step::StartUp => printed::lines(&self.started),
            _ => self.lines_of(step).cloned().collect(),
        };
        let more = lines.iter().take(MOST_SHOWN).skip(self.shown);
        let says: Vec<String> = more.map(|line| format!("          heard     {}", line.escape_debug())).collect();
        self.shown += says.len();
        says
    }

    /// What was heard during a step, repeats left out.
    fn lines_of(&self, step: Step) -> impl Iterator<Item = &String> {
        self.learned.lines.iter().filter(move |(during, _)| *during == step).map(|(_, line)| line)
    }

    /// Whether the move was pressed and let go, with a rest that an earlier move has shown already.
    fn is_settled(&mut self, step: Step, at: Nanos) -> bool {
        let Step::Move(motion) = step else { return false };
        let known = self.learned.rest == Rest::Stated
            || self.learned.presses.iter().any(|press| press.motion != motion && press.rested.is_some());
        let press = self.learned.press(motion).filter(|press| press.says.is_some() && known && !self.stale);
        let rested = press.and_then(|press| press.rested).is_some_and(|rested| at - rested >= SETTLED);
        rested && (self.doubts_of(step).is_empty() || !std::mem::replace(&mut self.doubted, true))
    }

    /// Says what the step gave, and goes on where nothing is doubtful.
    fn close(&mut self, step: Step) -> Vec<String> {
        let doubts = self.doubts_of(step);
        let mut says = self.row(step);
        says.extend(doubts.iter().map(|doubt| format!("  {doubt}")));
        if doubts.is_empty() {
            self.next();
        } else {
            says.push(KEEPS.to_owned());
        }
        says
    }

    fn doubts_of(&self, step: Step) -> Vec<String> {
        let doubts = self.learned.doubts.iter().filter(|doubt| doubt.step == Some(step));
        doubts.map(super::doubt::Doubt::words).chain(self.text_for_an_order(step)).collect()
    }

    /// A doubt where what passes for the order of a move reads like text that a board prints by itself.
    fn text_for_an_order(&self, step: Step) -> Option<String> {
        let Step::Move(motion) = step else { return None };
        let code = self.learned.press(motion)?.says.as_deref()?;
        let holds = |line: &str| line.split(|letter: char| !letter.is_alphanumeric()).any(|word| word == code);
        let line = self.lines_of(step).find(|line| reads_like_text(line) && holds(line))?;
        Some(format!(
            "DOUBT: `{}` reads like start-up text, not like a button. Type again, then press the button.",
            line.escape_debug()
        ))
    }

    fn enter(&mut self, step: Step) -> Vec<String> {
        let heard = self.reads.iter().chain(&self.started).any(|read| read.step == Some(step));
        match step {
            Step::StartUp | Step::Move(_) if !heard => {
                let before = self.reads.iter().chain(&self.started).any(|read| !read.bytes.is_empty());
                nothing_heard(step, before).iter().map(|line| format!("          {line}")).collect()
            }
            Step::Wiring => {
                self.next();
                Vec::new()
            }
            _ if !self.doubted && self.text_for_an_order(step).is_some() => {
                self.doubted = true;
                let doubt = self.text_for_an_order(step).map(|doubt| format!("  {doubt}"));
                doubt.into_iter().chain([KEEPS.to_owned()]).collect()
            }
            _ => {
                let mut says = if std::mem::take(&mut self.doubted) { Vec::new() } else { self.told(step) };
                says.extend(self.link_doubts(step));
                self.next();
                says
            }
        }
    }

    fn told(&self, step: Step) -> Vec<String> {
        let doubts = self.doubts_of(step).into_iter().map(|doubt| format!("  {doubt}"));
        self.row(step).into_iter().chain(doubts).collect()
    }

    /// Doubts about the link as a whole, after the first moves.
    fn link_doubts(&self, step: Step) -> Vec<String> {
        let whole = self.learned.doubts.iter().filter(|doubt| doubt.step.is_none());
        let says = whole.map(|doubt| format!("  {}", doubt.words()));
        if matches!(step, Step::Move(_)) { says.collect() } else { Vec::new() }
    }

    fn skip(&mut self, step: Step) -> Vec<String> {
        self.forget(step);
        self.next();
        vec![format!("     ok   {} is left out.", step.heading())]
    }

    fn again(&mut self, step: Step) -> Vec<String> {
        self.forget(step);
        self.move_to(self.at);
        vec!["     ok   What was heard in this step is forgotten.".to_owned()]
    }

    fn back(&mut self) -> Vec<String> {
        let before = (0..self.at).rev().find(|place| self.steps.get(*place).is_some_and(|step| self.is_due(*step)));
        let Some(place) = before else { return vec!["          This is the first step.".to_owned()] };
        self.move_to(place);
        match self.step() {
            Some(step) => self.again(step),
            None => Vec::new(),
        }
    }

    fn forget(&mut self, step: Step) {
        for read in self.reads.iter_mut().filter(|read| read.step == Some(step)) {
            read.step = None;
            self.stale = true;
        }
        match step {
            Step::Wiring => self.said.wiring.clear(),
            Step::StartUp => self.started.clear(),
            _ => {}
        }
    }

    fn done(&mut self) -> Vec<String> {
        if self.learned.is_usable() {
            self.ending = Some(Ending::Write);
            return Vec::new();
        }
        let mut says = vec!["          No move is learned yet, so there is nothing to write. quit ends.".to_owned()];
        says.extend(self.learned.doubts.iter().map(|doubt| format!("  {}", doubt.words())));
        says
    }

    fn name(&mut self, step: Step, name: String) -> Vec<String> {
        match step {
            Step::Move(motion) => {
                let says = format!("     ok   {} is your `{name}`.", motion.id());
                self.said.names.insert(motion, name);
                vec![says]
            }
            Step::Name => self.text(step, &name),
            _ => vec!["          A name belongs to a move. Go back to it first.".to_owned()],
        }
    }

    fn text(&mut self, step: Step, text: &str) -> Vec<String> {
        match step {
            Step::Name => {
                text.clone_into(&mut self.said.rover);
                self.enter(step)
            }
            Step::Wiring => vec![self.wire(text)],
            _ => vec![format!("          `{}` is not known here. help shows what can be typed.", text.escape_debug())],
        }
    }

    /// One wheel's wiring; taken only where the file stays sound with it.
    fn wire(&mut self, text: &str) -> String {
        let wiring = match Wiring::read(text) {
            Ok(wiring) => wiring,
            Err(why) => return format!("          {why}"),
        };
        let before = self.said.wiring.clone();
        self.said.wiring.retain(|known| known.wheel != wiring.wheel);
        let says = format!("     ok   {}", wiring.words());
        self.said.wiring.push(wiring);
        let (_, faults) = self.rover_file();
        match faults.first() {
            Some(fault) => {
                self.said.wiring = before;
                format!("          Not taken: {fault}")
            }
            None => says,
        }
    }

    /// Whether a step is asked at all.
    fn is_due(&self, step: Step) -> bool {
        let whole = matches!(self.learned.format, Format::Whole(..));
        match step {
            Step::Stop => self.learned.is_usable() && self.learned.lacks_rest(),
            Step::Duty | Step::Other => !whole,
            _ => true,
        }
    }

    fn next(&mut self) {
        self.work_out();
        let from = self.at + 1;
        let next = (from..self.steps.len()).find(|place| self.steps.get(*place).is_some_and(|step| self.is_due(*step)));
        self.move_to(next.unwrap_or(self.steps.len()));
        if next.is_none() {
            self.ending = Some(if self.learned.is_usable() { Ending::Write } else { Ending::Nothing });
        }
    }

    fn move_to(&mut self, place: usize) {
        self.at = place;
        self.asked = false;
        self.shown = 0;
        self.doubted = false;
    }
}
