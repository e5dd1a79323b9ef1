//! The title row: which rover, where the bytes come from, the page, the tap's resolution, the session time.

use crate::console::clock;
use crate::console::page::Page;
use crate::console::pen::Pen;
use crate::console::status::{Mode, Status};
use crate::console::text_fit::width;
use crate::engine::snapshot::Snapshot;

/// Draws the row.
pub fn draw(pen: &mut Pen, page: Page, snapshot: &Snapshot, status: &Status) {
    let (strong, faint) = (pen.theme.strong(), pen.theme.faint());
    let time = clock::at(snapshot.now);
    let end = pen.put_right(0, &time, strong);
    let mut left = pen.part(0, 0, end.saturating_sub(1), 1);
    let mut x = left.put(0, 0, "wheeltap", strong);
    x = left.put(x + 2, 0, &snapshot.rover, strong);
    x = left.put(x + 2, 0, source(status.mode), faint);
    if page != Page::Overview {
        left.put(x + 2, 0, page.name(), strong);
        return;
    }
    x = left.put(x + 2, 0, &resolution(snapshot), faint);
    if let Some(pack) = snapshot.pack_millivolts {
        let volts = format!("pack {}.{} V", pack / 1000, pack.abs() / 100 % 10);
        x = left.put(x + 2, 0, &volts, strong);
    }
    let begun = status.begun.as_ref().map(|begun| format!("begun {begun}"));
    if let Some(begun) = begun.filter(|text| width(text) + usize::from(x) + 2 <= left.width().into()) {
        left.put(x + 2, 0, &begun, faint);
    }
}

const fn source(mode: Mode) -> &'static str {
    match mode {
        Mode::Demo => "demo, simulated",
        Mode::Listen => "listening",
        Mode::Replay => "replay",
    }
}

fn resolution(snapshot: &Snapshot) -> String {
    snapshot.resolution.map_or_else(
        || "tap resolution not measured yet".to_owned(),
        |nanos| format!("tap resolution {}", clock::length(nanos)),
    )
}
