//! Which lines of a session a reader takes: what it refuses for its time or its place was never looked at for secrets.

use crate::session::{Header, Line};

/// Where the session stands.
pub(super) struct Order {
    last_us: i64,
    /// The next byte due, by wire.
    due: [u64; 2],
}

impl Order {
    /// At the beginning of a session with this head.
    pub(super) fn of(header: &Header) -> Self {
        Self { last_us: header.begins_us(), due: header.offsets() }
    }

    /// Whether the next line is taken: its time and its bytes do not lie before those of the lines before it.
    pub(super) fn takes(&mut self, line: &Line<'_>) -> bool {
        if let Some(t_us) = line.ordered_us() {
            if t_us < self.last_us {
                return false;
            }
            self.last_us = t_us;
        }
        match line {
            Line::Read { wire, offset, bytes, .. } => {
                let due = &mut self.due[wire.index()];
                let takes = *offset >= *due;
                if takes {
                    *due = offset.saturating_add(bytes.len() as u64);
                }
                takes
            }
            Line::Lost { wire, count, .. } => {
                let due = &mut self.due[wire.index()];
                *due = due.saturating_add(*count);
                true
            }
            _ => true,
        }
    }
}
