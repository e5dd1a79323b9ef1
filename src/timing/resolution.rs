//! The tap's own resolution: how wide the intervals of recent frames are.

use wheeltap_parsers::Nanos;

/// How many recent frames count.
const RECENT: usize = 64;

/// Measures the resolution from the frames' intervals.
#[derive(Clone, Debug, Default)]
pub struct Resolution {
    widths: Vec<Nanos>,
    next: usize,
}

impl Resolution {
    /// Takes the width of one more frame's interval.
    pub fn take(&mut self, width: Nanos) {
        if self.widths.len() < RECENT {
            self.widths.push(width);
        } else if let Some(place) = self.widths.get_mut(self.next) {
            *place = width;
        }
        self.next = (self.next + 1) % RECENT;
    }

    /// Nine in ten recent intervals are no wider than this; `None` before the first.
    pub fn measured(&self) -> Option<Nanos> {
        let mut widths = self.widths.clone();
        widths.sort_unstable();
        widths.get(widths.len() * 9 / 10).or(widths.last()).copied()
    }
}
