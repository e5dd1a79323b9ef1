//! `replay`: a session, plain log or raw bytes again, on the console.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use crate::rover::file::RoverFile;
use crate::run::player::Player;
use crate::run::signals::Asked;
use crate::run::{Failure, Outcome, rover_choice, screen};
use crate::source::open::recognise;

/// Shows `file` again until the person quits.
pub fn run(file: &Path, rover: Option<&str>, ascii: bool) -> Result<Outcome, Failure> {
    let asked = Asked::watch()?;
    let name = file.display().to_string();
    let opened = recognise(&name)?;
    let session = opened.session();
    let own = session.and_then(|session| session.rover());
    let chosen = rover_choice::choose(rover, own)?;
    // A copy inside the session that cannot be read is no reason not to show the session with a better one.
    let inside = own.filter(|_| rover.is_some()).and_then(|own| rover_choice::choose(None, Some(own)).ok().flatten());
    let damaged = session.map_or(0, |session| session.torn().len());
    let about = session.and_then(|session| session.header().about.first().cloned());
    drop(opened);
    let (file, rover): (PathBuf, Option<Arc<RoverFile>>) = (file.to_owned(), chosen);
    screen::run(ascii, &asked, move |desk| {
        let mut player = Player::open(&file, rover, inside)?;
        if let Some(about) = about {
            player.say(format!("This session says: {about}"));
        }
        if damaged > 0 {
            player.say(format!("{damaged} lines at the head of this session are damaged."));
        }
        player.run(&desk)
    })?;
    Ok(Outcome::Fine)
}
