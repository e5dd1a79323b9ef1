//! Which lead of the adapter goes where, drawn; how to be sure of it; what to conclude from nothing or garbage.

use ratatui::style::Style;

use crate::console::pen::Pen;
use crate::console::scroll::Scroll;
use crate::console::sheet::Sheet;

/// The tap on the wire to the drive board. ASCII alone, 72 cells wide.
const DRAWING: &str = r"
 command board                              drive board
+-------------+                            +-------------+   motor screws:
|    transmit o------------ > ---------+---o receive     |   never a lead
|             |                        |   |             |   of the tap
|     receive o------------ < ---------:---o transmit    |
|      ground o------------------------:-+-o ground      |
+-------------+                        | | +-------------+
                                      1k |
                        adapter        | |
                       +----------+    | |
      laptop, on       |  receive o----+ |
      its battery =====|   ground o------+
            USB        | transmit o  left off
                       |   supply o  left off
                       +----------+";

/// A heading and its paragraphs.
type Part = (&'static str, &'static [&'static str]);

const PARTS: [Part; 5] = [
    ("In this order", &ORDER),
    ("Is it right?", &RIGHT),
    ("It is not: then", &WRONG),
    ("A spare controller board as adapter", &SPARE),
    ("Take care", &CARE),
];

const ORDER: [&str; 5] = [
    "1. Ground first, and off last: adapter ground to the ground of the DRIVE board. Never to a motor screw: there the \
     driver switches, and it is not ground.",
    "2. Receive, through about 1 kilohm, to where the command board's transmit lead ENDS: the receive pin of the drive \
     board. There you hear what it hears, bad joints included.",
    "3. Transmit and supply of the adapter stay off. So the tap cannot send, and cannot feed a board.",
    "4. Levels: the adapter must stand the level of the wire. A 3.3 V adapter on a 5 V wire needs a divider or an input \
     that bears 5 V; the 1 kilohm does not change levels. A plug of nine pins carries RS-232 levels: never.",
    "5. The laptop runs on its battery: mains earth through a charger makes a second ground path.",
];

const RIGHT: [&str; 2] = [
    "Press the command board's reset. Text must appear on the page lines (key l). It proves lead, ground and polarity \
     in one go, without radio or panel.",
    "Start-up text has a rate of its own, mostly 115200 baud, whatever rate the link has: listen there once with \
     --rate 115200. Some boards print it on another pin, or are told by a boot pin to print none.",
];

const WRONG: [&str; 5] = [
    "Nothing at all, and orders do not come either: the lead is on the wrong pin (often transmit and receive are \
     swapped: try the other one), the ground is missing, or another port is open (wheeltap ports --watch).",
    "No start-up text, but orders come: the lead is right; this board prints elsewhere or not at all.",
    "Start-up text reads well, orders are garbage: lead, ground and polarity are right; the link has another rate. \
     Run `wheeltap listen PORT --rate find` and keep tapping a button.",
    "Garbage at every rate, about as many bytes as were sent: the levels are turned round (a level changer that inverts).",
    "Bytes while nothing is pressed, more when motors run or a hand comes near: the ground is missing.",
];

const SPARE: [&str; 4] = [
    "A controller board has an adapter of its own beside its chip. Hold the chip in reset: join its reset (or EN) pin to \
     ground on that board. Only then is its adapter free.",
    "The pin marked TX (TX0, D1) listens: it is the chip's transmit, so the board's adapter receives there. Lead with \
     1 kilohm to it. The pin marked RX is driven by the adapter: leave it off. (From memory: check with the board's drawing.)",
    "5 V DANGER: on a 5 V board those pins carry 5 V. Measure between the pin and ground with nothing else joined: \
     above 3.6 V it must not touch a wire of 3.3 V.",
    "Its supply pins stay off; it is fed by its USB plug alone. Join ground to ground as above.",
];

const CARE: [&str; 3] = [
    "All four wheels off the ground, a hand at the pack plug: orders can start the wheels at any moment.",
    "Fuse near the pack; never two 5 V sources on one board; small regulators can burn.",
    "These are reminders. Local codes and people licensed for batteries and electrical work come first.",
];

/// Draws the page.
pub fn draw(pen: &mut Pen, scroll: &mut Scroll) {
    let mut sheet = Sheet::new(pen.width());
    sheet.drawing(DRAWING.trim_start_matches('\n'), pen.theme.ordered());
    for (title, texts) in PARTS {
        sheet.gap();
        sheet.text(0, title, pen.theme.heading());
        for text in texts {
            sheet.text(1, text, Style::new());
        }
    }
    sheet.draw(pen, scroll);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_drawing_fits_eighty_cells_in_plain_ascii() {
        assert!(DRAWING.is_ascii());
        assert!(DRAWING.lines().all(|row| row.len() <= 78), "{DRAWING}");
        assert!(DRAWING.lines().count() <= 17);
    }
}
