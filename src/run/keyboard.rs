//! The keyboard, read on a thread of its own.

use std::sync::mpsc::Sender;
use std::thread;

use crossterm::event::{Event, read};

use crate::run::Failure;
use crate::run::publish::Ui;

/// Begins to read keys and size changes into `ui`. The thread ends with the program, or when the terminal is gone.
pub fn begin(ui: Sender<Ui>) -> Result<(), Failure> {
    let work = move || {
        loop {
            let what = match read() {
                Ok(Event::Key(key)) => Ui::Key(key),
                Ok(Event::Resize(..)) => Ui::Resized,
                // A paste is no key: text pasted by mistake must not quit or act.
                Ok(_) => continue,
                Err(_) => Ui::TerminalGone,
            };
            let gone = matches!(what, Ui::TerminalGone);
            if ui.send(what).is_err() || gone {
                return;
            }
        }
    };
    let started = thread::Builder::new().name("keyboard".to_owned()).spawn(work);
    started.map(drop).map_err(|error| Failure::device(format!("no thread for the keyboard ({error}).")))
}
