//! What is told of the recorder where there is no screen to show it: a new file, a trouble, and that it is over.

use std::sync::Arc;

use wheeltap_parsers::Input;

use crate::run::tell;
use crate::session::{NewPart, RecorderStatus};
use crate::source::live::LiveSource;
use crate::source::{Source, SourceError};
use crate::timing::link::LinkFacts;

/// What was told so far.
pub struct News {
    recorder: Option<Arc<RecorderStatus>>,
    /// Number of the last part.
    part: u64,
    /// The trouble that is not over.
    trouble: Option<String>,
}

impl News {
    /// Of this recorder; of none there is no news.
    pub const fn of(recorder: Option<Arc<RecorderStatus>>) -> Self {
        Self { recorder, part: 1, trouble: None }
    }

    /// Tells what is new since the last call.
    pub fn tell(&mut self) {
        for words in self.words() {
            tell(words);
        }
    }

    /// The same once the recording has ended: a trouble that is left is how the program ends, and told there.
    pub fn tell_last(&mut self) {
        let Some(recorder) = &self.recorder else { return };
        if recorder.trouble().is_none() {
            self.tell();
        } else {
            self.parts().iter().for_each(tell);
        }
    }

    fn words(&mut self) -> Vec<String> {
        let Some(recorder) = &self.recorder else { return Vec::new() };
        let now = recorder.trouble();
        let of_trouble = match (&self.trouble, &now) {
            (before, Some(now)) if before.as_ref() != Some(now) => Some(now.clone()),
            (Some(_), None) => Some(over(recorder)),
            _ => None,
        };
        self.trouble = now;
        self.parts().into_iter().chain(of_trouble).collect()
    }

    /// That a new file was begun.
    fn parts(&mut self) -> Option<String> {
        let part = self.recorder.as_ref()?.newest_part()?;
        let words = new_part(&part, self.part)?;
        self.part = part.number;
        Some(words)
    }
}

/// A source that tells the recorder's news meanwhile.
pub struct WithNews<'s> {
    pub source: &'s mut LiveSource,
    pub news: &'s mut News,
}

impl Source for WithNews<'_> {
    fn next(&mut self) -> Result<Option<Input<'_>>, SourceError> {
        self.news.tell();
        self.source.next()
    }

    fn link(&self) -> &LinkFacts {
        self.source.link()
    }
}

/// What is said when a trouble is over.
fn over(recorder: &RecorderStatus) -> String {
    let lost = match recorder.lost() {
        0 => "No byte is counted as lost.".to_owned(),
        1 => "One byte could not be kept so far; the session says where.".to_owned(),
        many => format!("{many} bytes could not be kept so far; the session says where."),
    };
    format!("{}: the recording is in order again. {lost}", recorder.path().display())
}

/// What is said of a new file, unless it was told already; of several only the last is named.
fn new_part(part: &NewPart, told: u64) -> Option<String> {
    let skipped = part.number.checked_sub(told + 1)?;
    let others = if skipped > 0 { format!(" ({skipped} more before it)") } else { String::new() };
    let how = if part.in_silence {
        "Every wire was silent there."
    } else {
        "No wire was silent for long enough, so an order may lie half in the file before it."
    };
    Some(format!("The recording goes on in {}, part {}{others}. {how}", part.path.display(), part.number))
}
