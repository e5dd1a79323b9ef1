//! The overview where there is hardly any room: the order and the worst finding first, then what else fits.

use super::deadline;
use crate::console::clock;
use crate::console::motion;
use crate::console::pen::Pen;
use crate::engine::snapshot::{Snapshot, WireHealth};
use ratatui::style::Style;

/// Draws rows of words and short wheels.
pub fn draw(pen: &mut Pen, snapshot: &Snapshot) {
    let height = pen.height();
    if height < 3 || pen.width() < 20 {
        return tiny(pen, snapshot);
    }
    draw_words(pen, snapshot);
}

/// The most important first; rows that do not fit are left out.
pub fn draw_words(pen: &mut Pen, snapshot: &Snapshot) {
    let theme = pen.theme;
    let mut rows = vec![
        (order(snapshot), theme.ordered()),
        worst(pen, snapshot),
        wheels(snapshot, 0, 2),
        wheels(snapshot, 2, 4),
        (deadline::words(snapshot), deadline::style(theme, snapshot)),
    ];
    if !snapshot.order.meant.is_empty() {
        rows.insert(2, (format!("meant {}", snapshot.order.meant), theme.meant()));
    }
    rows.extend(snapshot.wires.iter().flatten().map(|wire| (health(wire), Style::new())));
    for (y, (text, style)) in (0..).zip(rows) {
        pen.put(0, y, &text, style);
    }
}

/// A few characters a row.
fn tiny(pen: &mut Pen, snapshot: &Snapshot) {
    let rows = [
        (short_order(snapshot), pen.theme.ordered()),
        worst(pen, snapshot),
        (deadline::short(snapshot), deadline::style(pen.theme, snapshot)),
        wheels(snapshot, 0, 2),
        wheels(snapshot, 2, 4),
    ];
    for (y, (text, style)) in (0..).zip(rows) {
        pen.put(0, y, &text, style);
    }
}

fn short_order(snapshot: &Snapshot) -> String {
    if snapshot.order.at.is_none() {
        return "not heard yet".to_owned();
    }
    snapshot.order.ordered.clone()
}

fn order(snapshot: &Snapshot) -> String {
    let order = &snapshot.order;
    order.at.map_or_else(
        || "ordered: not heard yet".to_owned(),
        |at| format!("ordered {}, {}", order.ordered, clock::ago(snapshot.now, at)),
    )
}

fn worst(pen: &Pen, snapshot: &Snapshot) -> (String, Style) {
    let theme = pen.theme;
    snapshot.findings.first().map_or_else(
        || ("nothing found so far".to_owned(), theme.faint()),
        |worst| {
            let symbol = theme.symbol(worst.severity);
            let text = format!("{symbol} {} {}", worst.severity.id(), worst.says);
            (text, theme.severity(worst.severity))
        },
    )
}

fn wheels(snapshot: &Snapshot, from: usize, to: usize) -> (String, Style) {
    let one = |wheel: &crate::engine::snapshot::WheelState| {
        let meant = wheel.meant.map_or_else(|| "not heard".to_owned(), motion::duty);
        format!("{} {meant}", wheel.wheel.name())
    };
    let some = snapshot.wheels.get(from..to).unwrap_or_default();
    let text = some.iter().map(one).collect::<Vec<_>>().join("  ");
    (text, Style::new())
}

fn health(wire: &WireHealth) -> String {
    let gone = if wire.open { "" } else { "port gone, " };
    format!("{} {gone}{} bytes, {} good, {} damaged", wire.wire.symbol(), wire.bytes, wire.frames, wire.damaged)
}
