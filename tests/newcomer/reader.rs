//! A newcomer at the console: reads the text of the screen and nothing else, presses keys, presses the panel.

use std::sync::Arc;

use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use ratatui::Terminal;
use ratatui::backend::TestBackend;
use wheeltap::console::status::Status;
use wheeltap::console::wish::Wish;
use wheeltap::console::{Console, Theme};
use wheeltap::engine::Engine;
use wheeltap::rover::built_in;
use wheeltap::rover::file::RoverFile;
use wheeltap::timing::link::{LinkFacts, WireFacts, chunk};
use wheeltap_parsers::{Input, Wire};

use super::wagon::{NAMES, Wagon};

const MS: i64 = 1_000_000;

/// How it went.
#[derive(Clone, Debug, Default)]
pub struct Journey {
    /// Each change that was asked for, and whether it brought the rover nearer to sound.
    pub repairs: Vec<(String, bool)>,
    /// The console said ACCEPTED.
    pub accepted: bool,
    /// The console said that the answers lie outside the model.
    pub outside: bool,
    /// Moves and looks answered.
    pub answers: usize,
    /// The screen left the newcomer with nothing to do.
    pub stuck: Option<String>,
}

/// The newcomer, the console and the bench with the rover.
pub struct Newcomer {
    engine: Engine,
    console: Console,
    screen: Terminal<TestBackend>,
    facts: WireFacts,
    now: i64,
    offset: u64,
    /// The move last ordered, and whether at high duty.
    ordered: (String, bool),
    pub notes: Vec<String>,
}

fn facts() -> WireFacts {
    WireFacts { rate: Some(115_200), settings: "8N1".to_owned(), latency: 0, port: "bench".to_owned() }
}

/// An engine on the plain line; its copies share what the diagnosis works out beforehand.
pub fn engine() -> Engine {
    let file = built_in::find("plain-line").unwrap();
    let rover = Arc::new(RoverFile::load(file.name, file.text).unwrap());
    Engine::new(LinkFacts { wires: [Some(facts()), None], ..LinkFacts::default() }, Some(rover))
}

impl Newcomer {
    pub fn new(engine: &Engine, size: (u16, u16)) -> Self {
        let mut newcomer = Self {
            engine: engine.clone(),
            console: Console::new(Theme::from_env(true, true)),
            screen: Terminal::new(TestBackend::new(size.0, size.1)).unwrap(),
            facts: facts(),
            now: 0,
            offset: 0,
            ordered: ("rest".to_owned(), true),
            notes: Vec::new(),
        };
        newcomer.line("way,rest");
        newcomer.press(KeyCode::Char('k'));
        newcomer
    }

    fn tick(&mut self) {
        self.now += 300 * MS;
        self.engine.push(Input::Tick(self.now));
    }

    fn line(&mut self, text: &str) {
        self.tick();
        let bytes = format!("{text}\n").into_bytes();
        self.engine.push(Input::Chunk(chunk(&self.facts, Wire::ToDrive, self.offset, self.now + MS, self.now, &bytes)));
        self.offset += bytes.len() as u64;
        self.tick();
    }

    /// The panel: speed, then a button pressed and let go.
    fn order(&mut self, name: &str, high: bool) {
        self.line(if high { "pace,200" } else { "pace,80" });
        self.line(&format!("way,{name}"));
        if name != "rest" {
            self.line("way,rest");
        }
        self.ordered = (name.to_owned(), high);
    }

    fn press(&mut self, code: KeyCode) {
        let snapshot = self.engine.snapshot(self.now);
        let wish = self.console.key(KeyEvent::new(code, KeyModifiers::NONE), &snapshot, &Status::default());
        if let Some(Wish::Note(text)) = wish {
            self.tick();
            self.engine.push(Input::Note { at: self.now, text: &text });
            self.notes.push(text);
            self.tick();
        }
    }

    /// The screen as one text, rows joined where a sentence goes on.
    fn read(&mut self) -> String {
        let snapshot = self.engine.snapshot(self.now);
        let console = &mut self.console;
        self.screen.draw(|frame| console.draw(frame, &snapshot, &Status::default())).unwrap();
        let buffer = self.screen.backend().buffer();
        let width = usize::from(buffer.area.width);
        let rows = buffer.content().chunks(width);
        let rows = rows.map(|row| row.iter().map(ratatui::buffer::Cell::symbol).collect::<String>().trim().to_owned());
        rows.collect::<Vec<String>>().join(" ").split_whitespace().collect::<Vec<&str>>().join(" ")
    }

    /// The whole of a text that has more rows than the screen.
    fn read_on(&mut self) -> String {
        let mut all = self.read();
        for _ in 0..40 {
            if !all.contains("more with up and down") {
                break;
            }
            self.press(KeyCode::Down);
            let more = self.read();
            if all.ends_with(&more) {
                break;
            }
            all.push(' ');
            all.push_str(&more);
        }
        all
    }

    /// Follows the screen until it is accepted, or there is nothing more to do.
    pub fn follow(&mut self, wagon: &mut Wagon, most_repairs: usize) -> Journey {
        let mut journey = Journey::default();
        for _ in 0..400 {
            let screen = self.read();
            if screen.contains("OUTSIDE THE MODEL") {
                journey.outside = true;
                return journey;
            }
            if screen.contains("ACCEPTED") {
                journey.accepted = true;
                return journey;
            }
            if let Some(exchange) =
                ["TELL APART FIRST: ", "PUT BACK FIRST "].iter().find(|begin| screen.contains(**begin))
            {
                wagon.exchange(&between(&screen, exchange, &["press i"]));
                self.press(KeyCode::Char('i'));
                continue;
            }
            if screen.contains("DIAGNOSED") {
                let all = self.read_on();
                let change = between(&all, "CHANGE, this one only: ", &[" BUT: ", " PROOF: ", " rows 1 to "]);
                let nearer = wagon.obey(&change);
                journey.repairs.push((change, nearer));
                if !nearer || journey.repairs.len() >= most_repairs {
                    return journey;
                }
                self.press(KeyCode::Char('p'));
                continue;
            }
            if !self.step(&screen, wagon, &mut journey) {
                journey.stuck = Some(screen);
                return journey;
            }
        }
        journey.stuck = Some("400 steps".to_owned());
        journey
    }

    /// One thing that the screen asks for; false when nothing on it can be followed.
    fn step(&mut self, screen: &str, wagon: &Wagon, journey: &mut Journey) -> bool {
        if screen.contains("Press Enter when all of that is done") {
            self.press(KeyCode::Enter);
        } else if let Some(wheel) = due(screen, "8 top to nose") {
            // The wheels are looked at while the move runs; with nothing ordered, as they are.
            let runs = if screen.contains("You ordered `") { &self.ordered.0 } else { "rest" };
            let turn = wagon.turning(runs, self.ordered.1)[wheel];
            self.press(KeyCode::Char(['2', '5', '8'][(turn + 1) as usize]));
            journey.answers += usize::from(wheel == 3);
        } else if let Some(wheel) = due(screen, "1 runs as drawn") {
            self.press(KeyCode::Char(if wagon.other_hand(wheel) { '2' } else { '1' }));
            journey.answers += usize::from(wheel == 3);
        } else if screen.contains("Now on the FLOOR") {
            self.press(KeyCode::Char('s'));
        } else if screen.contains("Let go of every button") {
            self.order("rest", self.ordered.1);
        } else if let Some(rest) = screen.split("then press `").nth(1) {
            let (name, how) = rest.split_once('`').unwrap_or_default();
            self.order(name, how.trim_start().starts_with("at high speed"));
        } else {
            return false;
        }
        true
    }
}

/// The wheel that is asked for, where its prompt goes on with `keys`.
fn due(screen: &str, keys: &str) -> Option<usize> {
    let words = ["front left", "front right", "rear left", "rear right"];
    (0..4).find(|wheel| screen.contains(&format!("{}, {}: {keys}", NAMES[*wheel], words[*wheel])))
}

fn between(text: &str, begin: &str, ends: &[&str]) -> String {
    let rest = text.split_once(begin).map_or("", |(_, rest)| rest);
    let end = ends.iter().filter_map(|end| rest.find(end)).min().unwrap_or(rest.len());
    rest[..end].to_owned()
}
