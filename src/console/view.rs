//! The screen: a title row, the page, and a foot with message, recorder, replay and keys. One pane a file.

mod brief;
mod check;
mod deadline;
mod findings;
mod foot;
mod help;
mod hints;
mod large_blocks;
mod large_digits;
mod leads;
mod legs;
mod lines;
mod link;
mod motor_limits;
mod not_judged;
mod note_entry;
mod order;
mod overview;
mod recorder;
mod replay;
mod rover;
mod session;
mod teach;
mod times;
mod title;
mod wheel;
mod wheel_details;
mod words;

use foot::Foot;

use super::Console;
use super::page::Page;
use super::pen::Pen;
use super::status::Status;
use crate::engine::snapshot::Snapshot;

/// Below this the page gets all rows.
const TITLE_FROM_HEIGHT: u16 = 8;

/// Draws the whole screen.
pub fn draw(console: &mut Console, mut pen: Pen, snapshot: &Snapshot, status: &Status) {
    let (width, height) = (pen.width(), pen.height());
    let title = u16::from(height >= TITLE_FROM_HEIGHT);
    let foot = Foot::new(console, status, width, height).height().min(height);
    let page = height.saturating_sub(title + foot);
    if title == 1 {
        title::draw(&mut pen.rows(0, 1), console.page, snapshot, status);
    }
    draw_page(console, &mut pen.rows(title, page), snapshot, status);
    Foot::new(console, status, width, height).draw(&mut pen.rows(title + page, foot), status);
}

fn draw_page(console: &mut Console, pen: &mut Pen, snapshot: &Snapshot, status: &Status) {
    match console.page {
        Page::Overview => overview::draw(pen, snapshot),
        Page::Findings => findings::draw_page(console, pen, snapshot),
        Page::Lines => lines::draw_page(console, pen, snapshot),
        Page::Legs => legs::draw_page(console, pen, snapshot),
        Page::Wheels => wheel_details::draw(pen, snapshot, &mut console.scroll),
        Page::Session => session::draw(console, pen, status),
        Page::Check => check::draw(console, pen, snapshot),
        Page::Teach => teach::draw(pen, status, Some(&console.answer)),
        Page::Leads => leads::draw(pen, &mut console.scroll),
        Page::Times => times::draw(pen, snapshot, &mut console.scroll),
        Page::CannotShow => not_judged::draw(pen, snapshot, &mut console.scroll),
        Page::Help => help::draw(pen, console.before_help, &mut console.scroll),
    }
}
