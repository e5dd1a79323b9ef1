//! `new`: a rover file to start from.

use std::io::Write;
use std::path::Path;

use crate::rover::built_in;
use crate::run::{Failure, Outcome, new_file, tell};

/// Writes a copy of the shipped rover file `like`; never overwrites.
pub fn run(file: &Path, like: &str) -> Result<Outcome, Failure> {
    let known = || Failure::usage(format!("`{like}` does not ship. Known names: {}.", built_in::names()));
    let built_in = built_in::find(like).ok_or_else(known)?;
    let shown = file.display();
    new_file::filled(file, |mut out| {
        out.write_all(built_in.text.as_bytes()).map_err(|error| new_file::not_written(file, &error))
    })?;
    tell(format!("{shown}: a rover file like `{like}` ({}).", built_in.says));
    tell(format!("Change its words and numbers to your own, then: wheeltap listen PORT --rover {shown}"));
    Ok(Outcome::Fine)
}
