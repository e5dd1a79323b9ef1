//! The terminal: taken over for the console, and given back whatever happens.

use std::io::{self, BufWriter, IsTerminal, Stdout, stdout};
use std::sync::Once;

use crossterm::cursor::Show;
use crossterm::event::{DisableBracketedPaste, EnableBracketedPaste};
use crossterm::execute;
use crossterm::terminal::{EnterAlternateScreen, LeaveAlternateScreen, disable_raw_mode, enable_raw_mode};
use ratatui::Terminal;
use ratatui::backend::CrosstermBackend;

use crate::run::Failure;

/// The terminal while the console has it. Dropping it gives it back.
pub struct Taken {
    /// To draw on.
    pub terminal: Terminal<CrosstermBackend<BufWriter<Stdout>>>,
}

static GIVE_BACK_ON_PANIC: Once = Once::new();

impl Taken {
    /// Takes the terminal over.
    pub fn take() -> Result<Self, Failure> {
        if !stdout().is_terminal() {
            return Err(Failure::usage(
                "standard output is no terminal, so there is no screen. For a file use `decode`; with `demo` and `listen` add --headless.",
            ));
        }
        let failed =
            |error: io::Error| Failure::device(format!("the terminal cannot be used ({error}). Add --headless."));
        GIVE_BACK_ON_PANIC.call_once(|| {
            let usual = std::panic::take_hook();
            std::panic::set_hook(Box::new(move |panic| {
                give_back();
                usual(panic);
            }));
        });
        enable_raw_mode().map_err(failed)?;
        let taken = execute!(stdout(), EnterAlternateScreen, EnableBracketedPaste)
            .and_then(|()| Terminal::new(CrosstermBackend::new(BufWriter::with_capacity(1 << 16, stdout()))));
        match taken {
            Ok(terminal) => Ok(Self { terminal }),
            Err(error) => {
                give_back();
                Err(failed(error))
            }
        }
    }
}

impl Drop for Taken {
    fn drop(&mut self) {
        give_back();
    }
}

/// Gives the terminal back. A terminal that is gone cannot be restored, and need not be.
fn give_back() {
    drop(execute!(stdout(), DisableBracketedPaste, LeaveAlternateScreen, Show));
    drop(disable_raw_mode());
}
