//! `new`: a rover file to start from.

use std::fs::OpenOptions;
use std::io::Write;
use std::path::Path;

use crate::rover::built_in;
use crate::run::{Failure, Outcome, tell};

/// Writes a copy of the shipped rover file `like`; never overwrites.
pub fn run(file: &Path, like: &str) -> Result<Outcome, Failure> {
    let known = || Failure::usage(format!("`{like}` does not ship. Known names: {}.", built_in::names()));
    let built_in = built_in::find(like).ok_or_else(known)?;
    let shown = file.display();
    let refused = |error: std::io::Error| match error.kind() {
        std::io::ErrorKind::AlreadyExists => {
            Failure::usage(format!("{shown} is there already and stays as it is. Choose another name."))
        }
        _ => Failure::device(format!("{shown}: cannot be written ({error}). Choose another folder.")),
    };
    let mut out = OpenOptions::new().write(true).create_new(true).open(file).map_err(refused)?;
    out.write_all(built_in.text.as_bytes()).map_err(refused)?;
    tell(format!("{shown}: a rover file like `{like}` ({}).", built_in.says));
    tell(format!("Change its words and numbers to your own, then: wheeltap listen PORT --rover {shown}"));
    Ok(Outcome::Fine)
}
