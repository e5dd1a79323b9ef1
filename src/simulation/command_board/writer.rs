//! The command board's orders as frames of its build.

use crate::rover::wheels::{Duties, Wheel};
use crate::simulation::frames::{self, Cue, stave_type};
use crate::simulation::mixer::mix;
use crate::simulation::panel::What;
use crate::simulation::{Fault, Settings, Style};

/// Deadline written in frames, 10 ms units.
const DEADLINE: u8 = 30;

/// Writes frames and numbers them.
#[derive(Clone, Debug)]
pub(super) struct Writer {
    style: Style,
    end_mark: bool,
    cr: bool,
    sequence: u16,
}

impl Writer {
    pub(super) fn new(settings: &Settings) -> Self {
        let text = matches!(settings.style, Style::PlainLine | Style::CueLine);
        let cr = text && settings.has(Fault::CrBeforeLf);
        Self { style: settings.style, end_mark: !settings.has(Fault::NoEndMark), cr, sequence: 0 }
    }

    /// Numbers begin again.
    pub(super) fn restart(&mut self) {
        self.sequence = 0;
    }

    /// The order as a frame of this build; empty where the build has no words for it. `panel` is the counter of the
    /// panel's message.
    pub(super) fn frame(&mut self, order: What, panel: u8) -> Vec<u8> {
        let mut frame = match self.style {
            Style::PlainLine => plain_line(order),
            Style::CueLine => cue(order).map(|cue| frames::cue(self.number(999), panel, cue)).unwrap_or_default(),
            Style::Stave => self.stave(order),
            Style::Bead => frames::bead(self.number(0xFF) as u8, stick(order), DEADLINE),
            Style::Ladder => frames::ladder(duties(order)),
        };
        if self.cr && frame.last() == Some(&b'\n') {
            frame.insert(frame.len() - 1, b'\r');
        }
        if !self.end_mark && self.style != Style::Ladder {
            frame.pop();
        }
        frame
    }

    /// The number of this frame; the next one gets one more, from 0 again after `last`.
    fn number(&mut self, last: u16) -> u16 {
        let number = self.sequence;
        self.sequence = if number >= last { 0 } else { number + 1 };
        number
    }

    fn stave(&mut self, order: What) -> Vec<u8> {
        let seq = self.number(0xDF) as u8;
        if let What::Halt(gear) = order {
            frames::stave(stave_type::STOP, seq, [0; 4], 0, gear)
        } else {
            frames::stave(stave_type::DRIVE, seq, duties(order), DEADLINE * 2, gear(order))
        }
    }
}

fn plain_line(order: What) -> Vec<u8> {
    match order {
        What::Way(way) => format!("way,{}\n", way.name()).into_bytes(),
        What::Pace(pace) => format!("pace,{pace}\n").into_bytes(),
        What::Lamp(lamp) => format!("lamp,{lamp}\n").into_bytes(),
        What::Stick(..) | What::Alone(..) | What::Halt(_) => Vec::new(),
    }
}

fn cue(order: What) -> Option<Cue> {
    let (verb, [f, s, t]) = match order {
        What::Stick(stick, _) => ("drv", stick),
        What::Alone(wheel, duty, _) => ("one", [wheel.index() as i32 + 1, duty, 0]),
        What::Halt(_) => ("hlt", [0; 3]),
        What::Way(_) | What::Pace(_) | What::Lamp(_) => return None,
    };
    Some(Cue { verb, f, s, t, gear: gear(order), deadline: DEADLINE })
}

/// Forward, slide and turn of an order; zero for one that has none.
const fn stick(order: What) -> [i32; 3] {
    if let What::Stick(stick, _) = order { stick } else { [0; 3] }
}

/// The gear of an order; the lowest for one that has none.
const fn gear(order: What) -> u8 {
    match order {
        What::Stick(_, gear) | What::Alone(_, _, gear) | What::Halt(gear) => gear,
        What::Way(_) | What::Pace(_) | What::Lamp(_) => 1,
    }
}

/// What the wheels should do, for the builds that mix on the command board. A wheel alone is not geared.
fn duties(order: What) -> Duties {
    match order {
        What::Stick([f, s, t], gear) => mix(f, s, t, gear).duties,
        What::Alone(wheel, duty, _) => Wheel::ALL.map(|one| if one == wheel { duty * 10 } else { 0 }),
        What::Way(_) | What::Pace(_) | What::Lamp(_) | What::Halt(_) => [0; 4],
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_go_round_as_each_style_says() {
        for (style, last, place) in [(Style::Stave, 0xDF, 1), (Style::Bead, 0xFF, 2)] {
            let mut writer = Writer::new(&Settings::demo(style, 1));
            for _ in 0..last {
                writer.frame(What::Halt(1), 0);
            }
            // A number other than zero stands as it is, also after byte stuffing.
            assert_eq!(writer.frame(What::Halt(1), 0).get(place), Some(&last));
            assert_eq!(writer.number(u16::from(last)), 0);
        }
        let mut writer = Writer::new(&Settings::demo(Style::CueLine, 1));
        for _ in 0..999 {
            writer.frame(What::Halt(1), 0);
        }
        assert!(writer.frame(What::Halt(1), 0).starts_with(b"c999 "));
        assert!(writer.frame(What::Halt(1), 0).starts_with(b"c000 "));
    }
}
