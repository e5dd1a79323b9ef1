//! `replay`: a session, plain log, value-change dump or raw bytes again, on the console.

use crate::run::player::Player;
use crate::run::signals::Asked as Ended;
use crate::run::{Failure, Outcome, screen, signals_choice};
use crate::source::Asked;
use std::path::{Path, PathBuf};

/// Shows `file` again until the person quits.
pub fn run(file: &Path, asked: Asked, rover: Option<&str>, ascii: bool) -> Result<Outcome, Failure> {
    let ended = Ended::watch()?;
    let name = file.display().to_string();
    let (opened, rover) = signals_choice::open(&name, &asked, rover)?;
    let damaged = opened.session().map_or(0, |session| session.torn().len());
    let (file, mut asked): (PathBuf, Asked) = (file.to_owned(), asked);
    if let Some(rover) = &rover {
        asked.rover = signals_choice::rover_pins(rover);
    }
    drop(opened);
    screen::run(ascii, &ended, move |desk| {
        let mut player = Player::open(&file, asked, rover)?;
        if damaged > 0 {
            player.say(format!("{damaged} lines at the head of this session are damaged."));
        }
        player.run(&desk)
    })?;
    Ok(Outcome::Fine)
}
