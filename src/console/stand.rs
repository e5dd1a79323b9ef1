//! The simulated rover on its stand, with its control panel: what a person at the bench sees and can press.
//!
//! It knows nothing of wires or rover files: the wheels are those seen, whatever was ordered.

mod drawing;

use ratatui::Frame;

use super::Theme;
use super::pen::Pen;

/// How a wheel is seen.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Turning {
    /// The top of the tyre goes to the nose.
    Forward,
    /// The top of the tyre goes to the tail.
    Backward,
    /// Stands, silent.
    #[default]
    Still,
    /// Stands and hums.
    Hums,
}

/// A button of the panel.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Button {
    /// The key that presses it.
    pub key: char,
    /// Its name on the panel.
    pub name: &'static str,
    /// Its place: column 0 to 2, row from 0.
    pub place: (u16, u16),
    /// Whether it is down.
    pub down: bool,
}

/// Everything on the screen.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Stand {
    /// What stands here.
    pub title: String,
    /// Whole seconds since the rover was switched on.
    pub seconds: u64,
    /// How to listen, a command a line.
    pub listen: Vec<String>,
    /// The moves.
    pub buttons: Vec<Button>,
    /// The other controls: their keys, and what they do or how they stand.
    pub controls: Vec<(&'static str, String)>,
    /// A list to choose from, in place of the panel: what is asked, then a key and a text a row.
    pub choice: Option<(String, Vec<(String, String)>)>,
    /// FL, FR, RL, RR as seen.
    pub wheels: [Turning; 4],
    /// Where it would go on the floor, in words.
    pub goes: String,
    /// The last thing to say to the person.
    pub message: String,
}

impl Stand {
    /// Draws everything into `frame`, whatever its size.
    pub fn draw(&self, frame: &mut Frame, theme: Theme) {
        let area = frame.area();
        drawing::draw(self, Pen::new(frame.buffer_mut(), area, theme));
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use ratatui::Terminal;
    use ratatui::backend::TestBackend;

    use super::*;

    fn stand() -> Stand {
        let names = [("ahead-port", (0, 0)), ("ahead", (1, 0)), ("ahead-starboard", (2, 0)), ("port", (0, 1))];
        let button =
            |((name, place), key): ((&'static str, (u16, u16)), char)| Button { key, name, place, down: key == '2' };
        Stand {
            title: "The Moonwagon, simulated (plain-line): one fault planted, not told".to_owned(),
            seconds: 75,
            listen: vec!["wheeltap listen PORT --rover plain-line".to_owned()],
            buttons: names.into_iter().zip('1'..).map(button).collect(),
            controls: vec![("space", "let go          pressed: ahead".to_owned())],
            wheels: [Turning::Forward, Turning::Backward, Turning::Still, Turning::Hums],
            goes: "forward and to the left, turning left; its wheels slip and scrub over the floor.".to_owned(),
            message: "Done: the two leads of RR's motor are turned round.".to_owned(),
            ..Stand::default()
        }
    }

    fn picture(stand: &Stand, size: (u16, u16), theme: Theme) -> String {
        let mut terminal = Terminal::new(TestBackend::new(size.0, size.1)).unwrap();
        terminal.draw(|frame| stand.draw(frame, theme)).unwrap();
        let buffer = terminal.backend().buffer();
        let row = |y| (0..size.0).map(|x| buffer[(x, y)].symbol()).collect::<String>().trim_end().to_owned();
        (0..size.1).map(row).collect::<Vec<_>>().join("\n")
    }

    #[test]
    fn the_stand_at_eighty_by_twenty_four() {
        insta::assert_snapshot!("stand_80x24", picture(&stand(), (80, 24), Theme::from_env(true, false)));
        let choice = Some(("Which repair?".to_owned(), vec![("l".to_owned(), "turn round two leads".to_owned())]));
        let ascii = picture(&Stand { choice, ..stand() }, (80, 24), Theme::from_env(true, true));
        assert!(ascii.is_ascii());
        insta::assert_snapshot!("stand_choice_80x24_ascii", ascii);
    }

    #[test]
    fn any_size_is_drawn() {
        for width in [1, 2, 20, 43, 60, 79, 200] {
            for height in [1, 2, 5, 9, 20, 60] {
                let text = picture(&stand(), (width, height), Theme::default());
                assert!(width < 43 || text.contains("The Moonwagon"), "{text}");
            }
        }
    }
}
