//! `replay`: a session, plain log, value-change dump or raw bytes again, on the console.

use std::path::{Path, PathBuf};

use crate::run::player::Player;
use crate::run::signals::Asked as Ended;
use crate::run::{Failure, Outcome, rover_choice, screen, signals_choice};
use crate::source::Asked;

/// Shows `file` again until the person quits.
pub fn run(file: &Path, asked: Asked, rover: Option<&str>, ascii: bool) -> Result<Outcome, Failure> {
    let ended = Ended::watch()?;
    let name = file.display().to_string();
    let other = rover.is_some();
    let (opened, rover) = signals_choice::open(&name, &asked, rover)?;
    // A copy inside the session that cannot be read is no reason not to show the session with a better one.
    let own = opened.session().filter(|_| other);
    let inside = own.and_then(|own| rover_choice::choose(None, Some(own)).ok().flatten());
    let about = opened.session().and_then(|session| session.header().about.first().cloned());
    let midway = opened.session().and_then(|session| session.header().begins_midway());
    let damaged = opened.session().map_or(0, |session| session.torn().len());
    let (file, mut asked): (PathBuf, Asked) = (file.to_owned(), asked);
    if let Some(rover) = &rover {
        asked.rover = signals_choice::rover_pins(rover);
    }
    drop(opened);
    screen::run(ascii, &ended, move |desk| {
        let mut player = Player::open(&file, asked, rover, inside, &desk.asked)?;
        // One row holds what was said last: both in one.
        let says = about.map(|about| format!("This session says: {about}"));
        let says = match (says, midway) {
            (Some(says), Some(midway)) => Some(format!("{says} It {midway}.")),
            (None, Some(midway)) => Some(format!("This session {midway}.")),
            (says, None) => says,
        };
        if let Some(says) = says {
            player.say(says);
        }
        if damaged > 0 {
            player.say(format!("{damaged} lines at the head of this session are damaged."));
        }
        player.run(&desk)
    })?;
    Ok(Outcome::Fine)
}
