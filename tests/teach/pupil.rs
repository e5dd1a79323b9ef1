//! Someone at the control panel who does what the prompts say, on a link that [`super::link`] made.

use wheeltap::rover::mecanum::Motion;
use wheeltap::teach::Step;
use wheeltap::teach::lesson::{Ending, Lesson};

use super::chance::Chance;
use super::link::{Link, Sends};

const MS: i64 = 1_000_000;
/// What a board's own program prints when it starts: no list of known texts has it.
const OWN_TEXT: &[u8] = b"\x00\xF8tea board 2, ready in 812 ms\r\njoined the net at channel 6\r\n";

/// The pupil and the time.
pub struct Pupil<'l> {
    pub link: &'l mut Link,
    pub chance: Chance,
    pub said: Vec<String>,
    now: i64,
    duty: i64,
    /// Code under the finger.
    code: String,
    due: Option<i64>,
    has_started: bool,
}

impl<'l> Pupil<'l> {
    pub fn new(link: &'l mut Link, seed: u64) -> Self {
        let rest = link.code(Motion::Rest).expect("a rest");
        let mut chance = Chance::new(seed);
        let duty = link.duty.map_or(0, |(low, high)| chance.whole(low.max(1), high));
        let due = matches!(link.sends, Sends::Always(_)).then_some(0);
        Self { link, chance, said: Vec::new(), now: 0, duty, code: rest, due, has_started: false }
    }

    /// Goes through the whole lesson.
    pub fn attend(&mut self, lesson: &mut Lesson) {
        if self.chance.one_in(4) {
            self.send(
                lesson,
                b"\x00\xF8ets Jul 29 2019 12:21:46\r\nrst:0x1 (POWERON_RESET),boot:0x13\r\nload:0x3fff0018,len:4\r\n",
            );
        }
        while let Some(step) = lesson.step() {
            self.said.extend(lesson.ask().unwrap_or_default());
            assert!(lesson.prompts() < 40, "no end: {:#?}", self.said);
            self.wait(lesson, 400, 900);
            self.follow(lesson, step);
        }
        assert_eq!(lesson.ending(), Some(Ending::Write), "{:#?}\n{}", self.said, self.link.text);
    }

    fn follow(&mut self, lesson: &mut Lesson, step: Step) {
        match step {
            Step::Move(motion) => match self.link.code(motion) {
                Some(code) => {
                    if self.has_started && self.chance.one_in(8) {
                        // The board starts again in the middle of the lesson.
                        self.send(lesson, OWN_TEXT);
                        self.wait(lesson, 100, 300);
                    }
                    self.press(lesson, &code, 1200, 2500);
                    self.wait(lesson, 1000, 1600);
                }
                None => return self.type_line(lesson, "skip"),
            },
            Step::Duty => self.duty_control(lesson),
            Step::Other => self.other_parts(lesson),
            Step::StartUp => {
                if self.chance.one_in(3) {
                    return self.type_line(lesson, "skip");
                }
                self.has_started = true;
                self.send(lesson, OWN_TEXT);
                self.order(lesson);
                self.wait(lesson, 300, 600);
            }
            Step::Stop | Step::Name | Step::Wiring => {}
        }
        if lesson.step() == Some(step) {
            self.type_line(lesson, "");
        }
    }

    fn type_line(&mut self, lesson: &mut Lesson, line: &str) {
        self.said.push(format!("> {line}"));
        self.said.extend(lesson.type_line(line));
    }

    fn press(&mut self, lesson: &mut Lesson, code: &str, low: i64, high: i64) {
        code.clone_into(&mut self.code);
        self.order(lesson);
        self.due = match self.link.sends {
            Sends::Times(_) => None,
            Sends::WhileKept(ms) | Sends::Always(ms) => Some(self.now + ms * MS),
        };
        self.wait(lesson, low, high);
        self.code = self.link.code(Motion::Rest).expect("a rest");
        self.order(lesson);
        self.due = match self.link.sends {
            Sends::Always(ms) => Some(self.now + ms * MS),
            _ => None,
        };
    }

    /// What is under the finger goes out.
    fn order(&mut self, lesson: &mut Lesson) {
        let times = if let Sends::Times(times) = self.link.sends { times } else { 1 };
        let resting = Some(&self.code) == self.link.code(Motion::Rest).as_ref();
        let duty = if resting { 0 } else { self.duty };
        for copy in 0..times {
            if copy > 0 {
                self.now += 20 * MS;
            }
            let frame = self.link.frame(0, &self.code.clone(), duty);
            self.send(lesson, &frame);
        }
    }

    fn duty_control(&mut self, lesson: &mut Lesson) {
        let Some((low, high)) = self.link.duty else { return };
        let forward = self.link.code(Motion::Forward).expect("forward");
        for end in [low, high] {
            for value in [i64::midpoint(low, high), i64::midpoint(low, high) + 1, end] {
                self.duty = value;
                if !self.link.duty_with_move() {
                    let frame = self.link.frame(1, "", value);
                    self.send(lesson, &frame);
                    self.wait(lesson, 60, 90);
                }
            }
            self.press(lesson, &forward, 200, 400);
            self.wait(lesson, 300, 500);
        }
    }

    fn other_parts(&mut self, lesson: &mut Lesson) {
        let first = self.link.rover.meaning.kinds[0].len() - self.link.parts.len();
        for part in 0..self.link.parts.len() {
            for value in [0, 128, 255] {
                let frame = self.link.frame(first + part, "", value);
                self.send(lesson, &frame);
                self.wait(lesson, 100, 200);
            }
        }
    }

    /// Time goes on; what is due meanwhile is sent.
    fn wait(&mut self, lesson: &mut Lesson, low: i64, high: i64) {
        let until = self.now + self.chance.whole(low, high) * MS;
        while self.now < until {
            let next = (self.now + 50 * MS).min(until);
            if let Some(due) = self.due.filter(|due| *due <= next) {
                self.now = due;
                self.order(lesson);
                self.due = match self.link.sends {
                    Sends::WhileKept(ms) | Sends::Always(ms) => Some(due + ms * MS),
                    Sends::Times(_) => None,
                };
            } else {
                self.now = next;
                self.said.extend(lesson.pass(next));
            }
        }
    }

    /// One frame in one to three reads.
    fn send(&mut self, lesson: &mut Lesson, bytes: &[u8]) {
        let mut rest = bytes;
        while !rest.is_empty() {
            let len = if self.chance.one_in(3) { self.chance.whole(1, rest.len() as i64) as usize } else { rest.len() };
            let (read, behind) = rest.split_at(len);
            self.said.extend(lesson.hear(self.now, read));
            rest = behind;
        }
    }
}
