//! The rover from above, nose up: four tyres at the corners of a body that holds the words.

use ratatui::style::Style;

use super::{wheel, words};
use crate::console::motion;
use crate::console::pen::Pen;
use crate::console::text_fit;
use crate::engine::snapshot::Snapshot;
use crate::rover::wheels::{Twist, Wheel};

/// Where the parts lie for a pane of some size.
struct Shape {
    tyre_width: u16,
    tyre_height: u16,
    body: u16,
    height: u16,
}

impl Shape {
    const fn of(width: u16, height: u16) -> Self {
        let tyre_width = match width {
            0..60 => 5,
            60..76 => 7,
            _ => 9,
        };
        let share = height.saturating_sub(3) / 2;
        let tyre_height = if share > 11 { 11 } else { share };
        Self { tyre_width, tyre_height, body: width.saturating_sub(2 * tyre_width), height }
    }

    /// Left and top of a tyre.
    const fn tyre(&self, which: Wheel) -> (u16, u16) {
        let right = self.tyre_width + self.body;
        let bottom = self.height.saturating_sub(self.tyre_height);
        match which {
            Wheel::FL => (0, 0),
            Wheel::FR => (right, 0),
            Wheel::RL => (0, bottom),
            Wheel::RR => (right, bottom),
        }
    }
}

/// Draws the pane.
pub fn draw(pen: &mut Pen, snapshot: &Snapshot) {
    if !snapshot.words.is_empty() {
        return words::draw(pen, snapshot);
    }
    let shape = Shape::of(pen.width(), pen.height());
    draw_body(&mut pen.part(shape.tyre_width, 0, shape.body, shape.height));
    for state in &snapshot.wheels {
        let (x, y) = shape.tyre(state.wheel);
        wheel::draw_tyre(&mut pen.part(x, y, shape.tyre_width, shape.tyre_height), state);
        let half = (shape.body / 2).saturating_sub(2);
        let right = matches!(state.wheel, Wheel::FR | Wheel::RR);
        let left = if right { shape.tyre_width + shape.body - 2 - half } else { shape.tyre_width + 2 };
        let top = y + u16::from(y == 0);
        let rows = shape.tyre_height.saturating_sub(1);
        wheel::draw_words(&mut pen.part(left, top, half, rows), state, right);
    }
    let inside = shape.body.saturating_sub(2);
    let free = shape.height.saturating_sub(2 * shape.tyre_height);
    let mut middle = pen.part(shape.tyre_width + 1, shape.tyre_height, inside, free);
    draw_middle(&mut middle, snapshot);
}

fn draw_body(pen: &mut Pen) {
    let (border, faint, strong) = (pen.theme.heavy(), pen.theme.faint(), pen.theme.strong());
    pen.border(border, faint);
    let nose = pen.theme.pick(" nose ▲ ", " nose ^ ");
    pen.put_centred(0, nose, strong);
}

/// The motion of the whole rover, its numbers, and what is odd about it or how to read the borders.
fn draw_middle(pen: &mut Pen, snapshot: &Snapshot) {
    let top = pen.height().saturating_sub(3) / 2;
    let mut rows = pen.rows(top, 3);
    let Some(twist) = snapshot.twist else {
        rows.put_centred(1, "motion: no order heard yet", Style::new());
        return;
    };
    let (strong, faint) = (rows.theme.strong(), rows.theme.faint());
    let motion = motion_words(&rows, twist);
    rows.put_centred(0, &motion, strong);
    rows.put_centred(1, &motion::numbers(twist), faint);
    draw_last_row(&mut rows, snapshot);
}

fn motion_words(pen: &Pen, twist: Twist) -> String {
    let plain = format!("{} {}", motion::arrow(twist, pen.theme.ascii), motion::body(twist));
    let long = format!("meant motion: {}", plain.trim());
    if text_fit::width(&long) <= pen.width().into() { long } else { plain.trim().to_owned() }
}

fn draw_last_row(pen: &mut Pen, snapshot: &Snapshot) {
    let (alarm, faint) = (pen.theme.alarm(), pen.theme.faint());
    if snapshot.scrub != 0 {
        let text = format!("scrub {}: wheels fight", motion::duty(snapshot.scrub));
        pen.put_centred(2, &text, alarm);
        return;
    }
    let (dashed, solid, heavy) = (pen.theme.dashed().down, pen.theme.solid().down, pen.theme.heavy().down);
    let room = usize::from(pen.width());
    if snapshot.wheels.iter().any(|wheel| wheel.seen.is_some()) {
        for (gap, seen) in [("  ", "seen at the pins"), (" ", "seen at pins"), (" ", "at pins")] {
            let legend = format!("{dashed}meant{dashed}{gap}{solid}ordered{solid}{gap}{heavy}{seen}{heavy}");
            if text_fit::width(&legend) <= room {
                return pen.put_centred(2, &legend, faint);
            }
        }
        return;
    }
    for word in ["ordered, or meant and seen", "ordered, or seen"] {
        let legend = format!("{dashed}meant{dashed}  {solid}{word}{solid}");
        if text_fit::width(&legend) <= room {
            return pen.put_centred(2, &legend, faint);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::console::sample;
    use crate::console::theme::Theme;
    use ratatui::buffer::Buffer;
    use ratatui::layout::Rect;

    /// Places of `sign` in a picture of `snapshot`, leaving out the rows of the body's edge.
    fn places(snapshot: &Snapshot, sign: &str) -> Vec<(u16, u16)> {
        let area = Rect::new(0, 0, 60, 17);
        let mut buffer = Buffer::empty(area);
        draw(&mut Pen::new(&mut buffer, area, Theme::from_env(true, true)), snapshot);
        let all = (1..16).flat_map(|y| (0..60).map(move |x| (x, y)));
        all.filter(|place| buffer[*place].symbol() == sign).collect()
    }

    #[test]
    fn each_wheel_stands_at_its_corner_with_the_nose_up() {
        // ISO 8855: x forward, y left; drawn with the nose up, front is above and left is left.
        for wheel in Wheel::ALL {
            for (duty, sign) in [(1000, "^"), (-1000, "v")] {
                let mut snapshot = sample::resting();
                for state in &mut snapshot.wheels {
                    (state.ordered, state.proven) = (None, false);
                    state.meant = Some(if state.wheel == wheel { duty } else { 0 });
                }
                let [(x, y)] = places(&snapshot, sign)[..] else { panic!("{wheel:?}: not one arrow") };
                let left = matches!(wheel, Wheel::FL | Wheel::RL);
                let front = matches!(wheel, Wheel::FL | Wheel::FR);
                assert_eq!((x < 30, y < 8), (left, front), "{wheel:?}");
            }
        }
    }

    #[test]
    fn an_arrow_grows_with_the_duty() {
        let length = |duty| {
            let mut snapshot = sample::resting();
            for state in &mut snapshot.wheels {
                state.meant = Some(if state.wheel == Wheel::FL { duty } else { 0 });
                (state.ordered, state.proven) = (None, false);
            }
            places(&snapshot, "|").len() + places(&snapshot, "^").len()
        };
        assert!(length(1) == length(0) + 1 && length(500) > length(1) && length(1000) > length(500));
    }
}
