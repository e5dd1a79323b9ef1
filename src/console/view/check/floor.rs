//! Where the rover went on the floor: nine ways as they lie on a number pad, its nose up.

use ratatui::style::Style;

use crate::console::check::Part;
use crate::console::motion;
use crate::console::pen::Pen;
use crate::engine::snapshot::wheel_check::Watched;
use crate::rover::wheels::Twist;

const WAYS: [[&str; 3]; 3] = [
    ["7 forward left", "8 forward", "9 forward right"],
    ["4 left", "5 nowhere", "6 right"],
    ["1 backward left", "2 backward", "3 backward right"],
];

/// Rows of the picture.
pub const ROWS: u16 = 9;

/// Draws them; gives the rows used.
pub fn draw(pen: &mut Pen, watched: &Watched, parts: &[Part]) -> u16 {
    let (meant, strong, seen) = (pen.theme.meant(), pen.theme.strong(), pen.theme.seen());
    pen.put(0, 0, &format!("should: {}", motion::body(should(watched.should))), meant);
    let step = pen.width().min(90) / 3;
    let nose = pen.theme.pick("nose ▲", "nose ^");
    pen.put(step + 2, 1, nose, Style::new());
    for (y, row) in (2..).step_by(2).zip(WAYS) {
        for (x, words) in (0..).step_by(step.into()).zip(row) {
            pen.put(x + 2, y, words, strong);
        }
    }
    if let Some(Part::Went(went)) = parts.first() {
        let words = went.map_or("not looked", crate::engine::snapshot::wheel_check::Way::words);
        pen.put(0, 7, &format!("seen: went {words}; and did it turn?"), seen);
    }
    ROWS
}

/// The nine keys in one line of words.
pub fn in_words() -> String {
    WAYS.concat().join(", ")
}

/// The body's motion when the wheels turn so: the sums of the wheel equations of X rollers, each a quarter.
fn should([fl, fr, rl, rr]: [i32; 4]) -> Twist {
    Twist { vx: 250 * (fl + fr + rl + rr), vy: 250 * (-fl + fr + rl - rr), wz: 250 * (-fl + fr - rl + rr) }
}
