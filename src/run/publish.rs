//! Handing the newest view from the thread that runs the engine to the thread that draws.

use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::Sender;
use std::sync::{Arc, Mutex, PoisonError};

use crossterm::event::KeyEvent;

use crate::console::status::Status;
use crate::engine::snapshot::Snapshot;
use crate::run::Failure;

/// Everything the drawing thread waits for.
pub enum Ui {
    /// A key was pressed.
    Key(KeyEvent),
    /// The terminal's size changed.
    Resized,
    /// A new view is there.
    Fresh,
    /// The terminal can no longer be read.
    TerminalGone,
    /// The engine's thread has ended.
    Ended(Result<(), Failure>),
}

/// What is drawn.
pub struct View {
    /// The rover and the link.
    pub snapshot: Snapshot,
    /// The loop's own state.
    pub status: Status,
}

/// The newest view. A slow terminal never holds the engine up: older views are dropped.
#[derive(Clone)]
pub struct Publisher {
    slot: Arc<Mutex<Option<Arc<View>>>>,
    waiting: Arc<AtomicBool>,
    ui: Sender<Ui>,
}

impl Publisher {
    /// A publisher that wakes the drawing thread through `ui`.
    pub fn new(ui: Sender<Ui>) -> Self {
        Self { slot: Arc::default(), waiting: Arc::default(), ui }
    }

    /// Puts a new view in place of the last.
    pub fn publish(&self, view: View) {
        *self.slot.lock().unwrap_or_else(PoisonError::into_inner) = Some(Arc::new(view));
        if !self.waiting.swap(true, Ordering::AcqRel) {
            self.send(Ui::Fresh);
        }
    }

    /// The newest view, if there is one.
    pub fn newest(&self) -> Option<Arc<View>> {
        self.waiting.store(false, Ordering::Release);
        self.slot.lock().unwrap_or_else(PoisonError::into_inner).clone()
    }

    /// Says that the engine's thread has ended.
    pub fn ended(&self, how: Result<(), Failure>) {
        self.send(Ui::Ended(how));
    }

    fn send(&self, what: Ui) {
        // It fails only when the drawing thread has gone, and then nobody wants to know.
        drop(self.ui.send(what));
    }
}
