//! The console: reads a [`Snapshot`] and a [`Status`], draws them, turns keys into a [`Wish`].
//!
//! It owns no data of the rover and does nothing itself: the loop in `run` grants the wish. It does no input or output
//! and reads no clock; everything it shows is dated by the snapshot.
//!
//! [`Snapshot`]: crate::engine::snapshot::Snapshot
//! [`Status`]: status::Status
//! [`Wish`]: wish::Wish

pub mod key_table;
pub mod keys;
pub mod page;
pub mod stand;
pub mod status;
pub mod theme;
pub mod wish;

mod check;
mod clock;
mod motion;
mod pen;
mod scroll;
mod sheet;
mod text_fit;
mod update;
mod view;

#[cfg(test)]
mod any_size;
#[cfg(test)]
mod check_sample;
#[cfg(test)]
mod check_tests;
#[cfg(test)]
mod pictures;
#[cfg(test)]
mod sample;

use ratatui::Frame;
use wheeltap_parsers::Nanos;

use crate::engine::snapshot::Snapshot;
use crate::rover::wheels::Wheel;
use check::CheckEntry;
use page::Page;
use scroll::Scroll;
use status::Status;
pub use theme::Theme;

/// What a person sees and how they look at it. Holds only view state: the page, the places in lists, the remark being
/// typed.
#[derive(Clone, Debug, Default)]
pub struct Console {
    theme: Theme,
    page: Page,
    /// The page before the help, which the help explains first.
    before_help: Page,
    /// The remark being typed.
    entry: Option<String>,
    /// What is typed at the teach page.
    answer: String,
    /// The person asked to quit while the recording was in trouble.
    quit_asked: bool,
    /// The leg or line at the cursor, by its time; `None` follows the newest.
    line_at: Option<(Nanos, u64)>,
    leg_at: Option<Nanos>,
    /// The row of the session page at the cursor; `None` follows the place of the replay.
    session_row: Option<usize>,
    /// The rows of that page at the last drawing, and the one the replay stands in.
    session_rows: usize,
    session_here: usize,
    /// The finding shown whole; `None` is the worst.
    finding: Option<(&'static str, Option<Wheel>)>,
    /// The place in the page's long text.
    scroll: Scroll,
    /// The answer of the wheel check being given.
    check: CheckEntry,
}

impl Console {
    /// A console on its overview.
    pub fn new(theme: Theme) -> Self {
        Self { theme, ..Self::default() }
    }

    /// The page in view.
    pub const fn page(&self) -> Page {
        self.page
    }

    /// Draws everything into `frame`, whatever its size.
    pub fn draw(&mut self, frame: &mut Frame, snapshot: &Snapshot, status: &Status) {
        let area = frame.area();
        let pen = pen::Pen::new(frame.buffer_mut(), area, self.theme);
        view::draw(self, pen, snapshot, status);
    }
}
