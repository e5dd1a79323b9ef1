//! What the keys do at the bench: the panel's buttons, the menu of repairs, the question what was planted.

use crossterm::event::{KeyCode, KeyEvent, KeyEventKind, KeyModifiers};

use super::by_hand::Deed;
use crate::console::stand::{Button, Stand};
use crate::rover::wheels::Wheel;
use crate::simulation::{Step, Style, Way, Work};

/// The keys of the moves, with their places on the panel.
const MOVES: [(char, Way, (u16, u16)); 10] = [
    ('1', Way::AheadPort, (0, 0)),
    ('2', Way::Ahead, (1, 0)),
    ('3', Way::AheadStarboard, (2, 0)),
    ('4', Way::Port, (0, 1)),
    ('5', Way::Starboard, (2, 1)),
    ('6', Way::AsternPort, (0, 2)),
    ('7', Way::Astern, (1, 2)),
    ('8', Way::AsternStarboard, (2, 2)),
    ('9', Way::SpinPort, (0, 3)),
    ('0', Way::SpinStarboard, (2, 3)),
];
/// How far one key moves the pace, of 255.
const PACE_STEP: u8 = 20;
/// What the lamp goes through.
const LAMPS: [u8; 3] = [0, 120, 255];

/// What a key asks of the one who runs the bench.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Asks {
    /// Do these, one after the other.
    Do(Vec<Deed>),
    /// Tell what was planted and what is wrong now.
    Reveal,
    /// End.
    Quit,
}

/// Sorts of repair.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Repair {
    Leads,
    Plug,
    Plugs,
    Wheels,
    Row,
}

/// Where the menu of repairs stands.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
enum Menu {
    #[default]
    Shut,
    Sort,
    First(Repair),
    Second(Repair, Wheel),
}

/// The person's hands, and how the panel stands.
#[derive(Clone, Debug)]
pub struct Hands {
    style: Style,
    down: Option<Way>,
    pace: u8,
    gear: u8,
    lamp: usize,
    menu: Menu,
    reveal_asked: bool,
    message: String,
}

impl Hands {
    /// Nothing pressed; pace and gear as the boards come up.
    pub const fn new(style: Style) -> Self {
        let message = String::new();
        Self { style, down: None, pace: 140, gear: 2, lamp: 0, menu: Menu::Shut, reveal_asked: false, message }
    }

    /// Says something to the person.
    pub fn say(&mut self, message: impl Into<String>) {
        self.message = message.into();
    }

    /// Takes a key.
    pub fn key(&mut self, event: KeyEvent) -> Asks {
        let none = Asks::Do(Vec::new());
        if event.kind == KeyEventKind::Release {
            return none;
        }
        let control = event.modifiers.contains(KeyModifiers::CONTROL);
        match event.code {
            KeyCode::Char('c') if control => Asks::Quit,
            KeyCode::Esc => {
                self.menu = Menu::Shut;
                self.say("");
                none
            }
            KeyCode::Char(key) if !control => self.press(key),
            _ => none,
        }
    }

    fn press(&mut self, key: char) -> Asks {
        let asked = std::mem::take(&mut self.reveal_asked);
        match (self.menu, key) {
            (_, 'q') => Asks::Quit,
            (Menu::Shut, 'v') => self.reveal(asked),
            (Menu::Shut, _) => Asks::Do(self.panel(key)),
            _ => Asks::Do(self.choose(key)),
        }
    }

    fn reveal(&mut self, asked: bool) -> Asks {
        if asked {
            return Asks::Reveal;
        }
        self.reveal_asked = true;
        self.say("This tells what was planted, and the riddle is over. Press v once more to be told, any other key to go on.");
        Asks::Do(Vec::new())
    }

    /// A key of the panel.
    fn panel(&mut self, key: char) -> Vec<Deed> {
        self.say("");
        if let Some((_, way, _)) = MOVES.into_iter().find(|(of, ..)| *of == key) {
            return self.touch(way);
        }
        match key {
            ' ' => self.let_go(),
            '-' => self.set_pace(self.pace.saturating_sub(PACE_STEP)),
            '+' | '=' => self.set_pace(self.pace.saturating_add(PACE_STEP)),
            '[' => self.set_pace(0),
            ']' => self.set_pace(255),
            'm' if self.has_lamp() => self.turn_lamp(),
            'g' if self.has_gears() => self.change_gear(),
            'b' => {
                self.say("The command board starts again: its start-up text stands on the wire now.");
                vec![Deed::Reset]
            }
            'r' => self.open_menu(),
            _ => Vec::new(),
        }
    }

    /// The same move lets go; another one lets go of the first.
    fn touch(&mut self, way: Way) -> Vec<Deed> {
        let again = self.down == Some(way);
        let mut deeds = self.let_go();
        if !again {
            self.down = Some(way);
            deeds.push(Deed::Panel(Step::Press(way)));
        }
        deeds
    }

    fn let_go(&mut self) -> Vec<Deed> {
        self.down.take().map(|_| Deed::Panel(Step::Release)).into_iter().collect()
    }

    fn set_pace(&mut self, pace: u8) -> Vec<Deed> {
        self.pace = pace;
        vec![Deed::Panel(Step::Pace(pace))]
    }

    fn turn_lamp(&mut self) -> Vec<Deed> {
        self.lamp = (self.lamp + 1) % LAMPS.len();
        vec![Deed::Panel(Step::Lamp(LAMPS[self.lamp]))]
    }

    fn change_gear(&mut self) -> Vec<Deed> {
        self.gear = self.gear % 3 + 1;
        vec![Deed::Panel(Step::Gear(self.gear))]
    }

    const fn has_lamp(&self) -> bool {
        matches!(self.style, Style::PlainLine)
    }

    const fn has_gears(&self) -> bool {
        matches!(self.style, Style::CueLine | Style::Stave | Style::Ladder)
    }

    /// Nobody repairs a rover that is driven.
    fn open_menu(&mut self) -> Vec<Deed> {
        self.menu = Menu::Sort;
        self.let_go()
    }

    fn choose(&mut self, key: char) -> Vec<Deed> {
        let wheel = Wheel::ALL.into_iter().zip('1'..).find(|(_, of)| *of == key).map(|(wheel, _)| wheel);
        match self.menu {
            Menu::Sort => {
                if let Some((.., repair)) = self.repairs().into_iter().find(|(of, ..)| *of == key) {
                    self.menu = Menu::First(repair);
                }
                Vec::new()
            }
            Menu::First(Repair::Row) => {
                let row = MOVES.into_iter().find(|(of, ..)| *of == key).map(|(_, way, _)| way);
                row.map(|way| self.correct(way)).unwrap_or_default()
            }
            Menu::First(repair) => wheel.map(|wheel| self.first(repair, wheel)).unwrap_or_default(),
            Menu::Second(repair, one) => {
                wheel.filter(|other| *other != one).map(|other| self.second(repair, one, other)).unwrap_or_default()
            }
            Menu::Shut => Vec::new(),
        }
    }

    fn first(&mut self, repair: Repair, wheel: Wheel) -> Vec<Deed> {
        let name = wheel.name();
        match repair {
            Repair::Leads => {
                self.done(Work::TurnLeads(wheel), &format!("the two leads of {name}'s motor are turned round"))
            }
            Repair::Plug => self.done(Work::PushPlug(wheel), &format!("the motor plug of {name} is pushed in")),
            _ => {
                self.menu = Menu::Second(repair, wheel);
                Vec::new()
            }
        }
    }

    fn second(&mut self, repair: Repair, one: Wheel, other: Wheel) -> Vec<Deed> {
        let (a, b) = (one.name(), other.name());
        match repair {
            Repair::Plugs => self.done(
                Work::ExchangePlugs(one, other),
                &format!("the motor plugs of {a} and {b} are exchanged at the drivers"),
            ),
            _ => self.done(
                Work::ExchangeWheels(one, other),
                &format!("the wheels of {a} and {b} are taken off and mounted at each other's corner"),
            ),
        }
    }

    fn correct(&mut self, way: Way) -> Vec<Deed> {
        self.finish(&format!("the row `{}` of the drive board's table is written anew and loaded", way.name()));
        vec![Deed::CorrectRow(way)]
    }

    fn done(&mut self, work: Work, what: &str) -> Vec<Deed> {
        self.finish(what);
        vec![Deed::Work(work)]
    }

    fn finish(&mut self, what: &str) {
        self.menu = Menu::Shut;
        self.say(format!(
            "Done: {what}. Press the moves again and look. The same repair once more takes most of them back."
        ));
    }

    fn repairs(&self) -> Vec<(char, &'static str, Repair)> {
        let mut all = vec![
            ('l', "turn round the two leads of one motor", Repair::Leads),
            ('p', "push one motor plug in, firmly", Repair::Plug),
            ('x', "exchange the motor plugs of two wheels", Repair::Plugs),
            ('w', "exchange two wheels, with their rollers", Repair::Wheels),
        ];
        if self.style == Style::PlainLine {
            all.push(('t', "correct a row of the drive board's table of moves", Repair::Row));
        }
        all
    }

    /// Puts panel, menu and message onto the stand.
    pub fn show(&self, stand: &mut Stand) {
        let button = |(key, way, place): (char, Way, (u16, u16))| Button {
            key,
            name: way.name(),
            place,
            down: self.down == Some(way),
        };
        stand.buttons = MOVES.map(button).to_vec();
        stand.controls = self.controls();
        stand.choice = self.choice();
        stand.message.clone_from(&self.message);
    }

    fn controls(&self) -> Vec<(&'static str, String)> {
        let down = self.down.map_or("nothing is pressed", Way::name);
        let mut rows = vec![
            ("space", format!("let go          pressed: {down}")),
            ("- +", format!("slower, faster  pace {} of 255", self.pace)),
            ("[ ]", "slowest, fastest".to_owned()),
        ];
        if self.has_lamp() {
            rows.push(("m", format!("lamp            {} of 255", LAMPS[self.lamp])));
        }
        if self.has_gears() {
            rows.push(("g", format!("gear            {} of 3", self.gear)));
        }
        rows.push(("b", "reset button of the command board".to_owned()));
        rows.push(("r v q", "repair, what was planted, quit".to_owned()));
        rows
    }

    fn choice(&self) -> Option<(String, Vec<(String, String)>)> {
        let care = "(On a real rover: pack plug out first.)";
        let wheels = |but: Option<Wheel>| -> Vec<(String, String)> {
            let all = Wheel::ALL.into_iter().zip('1'..).filter(|(wheel, _)| Some(*wheel) != but);
            let mut rows: Vec<_> =
                all.map(|(wheel, key)| (key.to_string(), format!("{} {}", wheel.name(), wheel.words()))).collect();
            rows.push(("Esc".to_owned(), "no repair".to_owned()));
            rows
        };
        match self.menu {
            Menu::Shut => None,
            Menu::Sort => {
                let mut rows: Vec<_> =
                    self.repairs().into_iter().map(|(key, says, _)| (key.to_string(), says.to_owned())).collect();
                rows.push(("Esc".to_owned(), "no repair".to_owned()));
                Some((format!("Which repair? One change only. {care}"), rows))
            }
            Menu::First(Repair::Row) => {
                let mut rows: Vec<_> = MOVES.map(|(key, way, _)| (key.to_string(), way.name().to_owned())).to_vec();
                rows.push(("Esc".to_owned(), "no repair".to_owned()));
                Some(("Which row?".to_owned(), rows))
            }
            Menu::First(Repair::Leads | Repair::Plug) => Some((format!("At which wheel? {care}"), wheels(None))),
            Menu::First(_) => Some((format!("The first of the two? {care}"), wheels(None))),
            Menu::Second(_, one) => Some((format!("{} and which other? {care}", one.name()), wheels(Some(one)))),
        }
    }
}

#[cfg(test)]
mod tests;
