//! The drive board: obeys what it reads, keeps the deadline, answers.

use wheeltap_parsers::Nanos;

use super::frames::{self, stave_type};
use super::mixer::rounded;
use super::script::Way;
use super::timetable::Timetable;
use super::{Fault, MS, Settings, Style};
use crate::rover::wheels::Duties;

mod reader;
mod rows;

use reader::{Heard, Reader};
use rows::Rows;

/// From the end of an order to the first bit of its answer.
const ANSWER: Nanos = 2 * MS;
/// From a deadline to the first bit of the report of it.
const REPORT: Nanos = MS;
/// When it says that it has started.
const HELLO: Nanos = 250 * MS;
/// Below this the answer says volts low, millivolts.
const VOLTS_LOW: i32 = 9_500;

/// Error bits of an answer.
pub(super) mod error {
    /// The check is wrong.
    pub(in crate::simulation) const CHECK: u8 = 0x01;
    /// The line does not begin with `c`.
    pub(in crate::simulation) const START: u8 = 0x02;
    /// A field is out of its range.
    pub(in crate::simulation) const RANGE: u8 = 0x04;
    /// The verb is not known.
    pub(in crate::simulation) const VERB: u8 = 0x08;
    /// The pack is low.
    pub(in crate::simulation) const VOLTS: u8 = 0x20;
    /// More bytes came than the board could keep.
    pub(in crate::simulation) const OVERRUN: u8 = 0x40;
    /// The duties were divided to keep within full.
    pub(in crate::simulation) const SCALED: u8 = 0x80;
}

/// Something to say.
#[derive(Clone, Debug)]
enum Say {
    Hello,
    Answer { seq: u16, taken: bool, errors: u8 },
    Report { seq: u16, gear: u8 },
    Lapsed { seq: u16, gear: u8 },
}

/// The drive board.
#[derive(Clone, Debug)]
pub(super) struct DriveBoard {
    style: Style,
    talks: bool,
    reader: Reader,
    duties: Duties,
    way: Way,
    pace: u8,
    rows: Rows,
    seq: u16,
    gear: u8,
    /// When the order in force may no longer be obeyed.
    deadline: Option<Nanos>,
    due: Timetable<Say>,
}

impl DriveBoard {
    pub(super) fn new(settings: &Settings) -> Self {
        let talks = settings.style.answers() && !settings.has(Fault::AnswersCut);
        let mut board = Self {
            style: settings.style,
            talks,
            reader: Reader::new(settings.style),
            duties: [0; 4],
            way: Way::Rest,
            pace: 140,
            rows: Rows::new(settings),
            seq: 0,
            gear: 0,
            deadline: None,
            due: Timetable::new(),
        };
        if talks {
            board.due.add(HELLO, Say::Hello);
        }
        board
    }

    /// What it tells the wheels now.
    pub(super) const fn duties(&self) -> Duties {
        self.duties
    }

    /// Its table of moves.
    pub(super) const fn rows(&self) -> &Rows {
        &self.rows
    }

    /// Puts the row of a move right; new firmware starts at rest.
    pub(super) fn correct_row(&mut self, way: Way) {
        self.rows.correct(way);
        (self.way, self.duties, self.deadline) = (Way::Rest, [0; 4], None);
    }

    /// When it does something next.
    pub(super) fn next_at(&self) -> Option<Nanos> {
        [self.due.next_at(), self.deadline, self.reader.gives_up_at()].into_iter().flatten().min()
    }

    /// Bytes whose last was complete at `now`.
    pub(super) fn hear(&mut self, now: Nanos, bytes: &[u8]) {
        for heard in self.reader.push(now, bytes) {
            self.obey(now, heard);
        }
    }

    /// Does what is due at `now`; the bytes it puts on the wire, in order. `pack` in millivolts.
    pub(super) fn act(&mut self, now: Nanos, pack: i32) -> Vec<Vec<u8>> {
        if let Some(heard) = self.reader.give_up(now) {
            self.obey(now, heard);
        }
        if self.deadline.is_some_and(|deadline| deadline <= now) {
            self.lapse(now);
        }
        let mut said = Vec::new();
        while let Some(what) = self.due.take(now) {
            said.push(self.say(&what, pack));
        }
        said
    }

    fn obey(&mut self, now: Nanos, heard: Heard) {
        match heard {
            Heard::Way(way) => self.way = way,
            Heard::Pace(pace) => self.pace = pace,
            Heard::Drive { seq, duties, deadline, gear, errors } => {
                (self.duties, self.seq, self.gear) = (duties, seq, gear);
                self.deadline = deadline.filter(|_| duties != [0; 4]).map(|time| now + time);
                self.answer(now, seq, true, errors);
            }
            Heard::Question { seq } => self.answer(now, seq, true, 0),
            Heard::Refused { seq, errors } => self.answer(now, seq.unwrap_or(self.seq), false, errors),
        }
        if self.style == Style::PlainLine {
            // Thousandths of full, of which the pace is a share out of 255; obeyed for ever.
            let size = rounded(i32::from(self.pace) * 1000, 255);
            self.duties = self.rows.signs(self.way).map(|sign| sign * size);
        }
    }

    fn answer(&mut self, now: Nanos, seq: u16, taken: bool, errors: u8) {
        let what = match self.style {
            _ if !self.talks => return,
            Style::CueLine => Say::Answer { seq, taken, errors },
            Style::Stave => Say::Report { seq, gear: self.gear },
            Style::PlainLine | Style::Bead | Style::Ladder => return,
        };
        self.due.add(now + ANSWER, what);
    }

    /// The deadline has run out with motion ordered.
    fn lapse(&mut self, now: Nanos) {
        self.deadline = None;
        self.duties = [0; 4];
        if self.talks {
            self.due.add(now + REPORT, Say::Lapsed { seq: self.seq, gear: self.gear });
        }
    }

    fn say(&self, what: &Say, pack: i32) -> Vec<u8> {
        let stave = self.style == Style::Stave;
        match *what {
            Say::Hello if stave => frames::stave(stave_type::HELLO, 0, [0; 4], 0, 0),
            Say::Hello => frames::up("1.3", "power"),
            Say::Answer { seq, taken, errors } => {
                let volts = if pack < VOLTS_LOW { error::VOLTS } else { 0 };
                frames::answer(seq, taken, rounded(pack, 100).clamp(0, 999) as u16, errors | volts)
            }
            Say::Lapsed { seq, .. } if !stave => frames::lapsed(seq),
            Say::Report { seq, gear } | Say::Lapsed { seq, gear } => {
                frames::stave(stave_type::REPORT, seq as u8, self.duties, 0, gear)
            }
        }
    }
}

#[cfg(test)]
mod tests {
    //! Wheel duties as listed in the wagon's format notes, in per cent; directions as in the common table of mecanum
    //! moves (rollers X from above), which Lynch and Park, Modern Robotics (2017), 13.2 also gives (recalled).
    use super::*;
    use crate::rover::wheels::per_cent;
    use crate::simulation::mixer;

    fn board(style: Style) -> DriveBoard {
        DriveBoard::new(&Settings::demo(style, 1))
    }

    fn after(style: Style, frames: &[&[u8]]) -> [i32; 4] {
        let mut board = board(style);
        for frame in frames {
            board.hear(0, frame);
        }
        board.duties().map(per_cent)
    }

    #[test]
    fn cue_lines_give_the_listed_duties() {
        let listed: [(&[u8], [i32; 4]); 6] = [
            (b"c042 p17 drv f+030 s-065 t+000 g2 d30 #A93D.\n", [62, -23, -23, 62]),
            (b"c043 p18 drv f+000 s+080 t+000 g2 d30 #3784.\n", [-52, 52, 52, -52]),
            (b"c044 p19 drv f+000 s+000 t+000 g2 d30 #8D82.\n", [0, 0, 0, 0]),
            (b"c045 p20 drv f+060 s+000 t+018 g2 d30 #84D3.\n", [27, 51, 27, 51]),
            (b"c046 p21 drv f+100 s+100 t+040 g3 d30 #0492.\n", [-17, 100, 67, 17]),
            (b"c047 p22 hlt f+000 s+000 t+000 g2 d30 #D49A.\n", [0, 0, 0, 0]),
        ];
        for (line, want) in listed {
            assert_eq!(after(Style::CueLine, &[line]), want, "{}", String::from_utf8_lossy(line));
        }
    }

    #[test]
    fn staves_give_the_listed_duties() {
        let listed: [([u8; 11], [i32; 4]); 5] = [
            ([0xF1, 0x2A, 0xA2, 0x4D, 0x4D, 0xA2, 0x3C, 0x02, 0x04, 0x00, 0xFE], [62, -23, -23, 62]),
            ([0xF1, 0x2B, 0x30, 0x98, 0x98, 0x30, 0x3C, 0x02, 0x0E, 0x0B, 0xFE], [-52, 52, 52, -52]),
            ([0xF1, 0x2C, 0x64, 0x64, 0x64, 0x64, 0x3C, 0x02, 0x06, 0x0B, 0xFE], [0; 4]),
            ([0xF1, 0x2D, 0x7F, 0x97, 0x7F, 0x97, 0x3C, 0x02, 0x01, 0x02, 0xFE], [27, 51, 27, 51]),
            ([0xF2, 0x30, 0x64, 0x64, 0x64, 0x64, 0x00, 0x02, 0x07, 0x04, 0xFE], [0; 4]),
        ];
        for (frame, want) in listed {
            assert_eq!(after(Style::Stave, &[&frame]), want, "{frame:02X?}");
        }
    }

    #[test]
    fn beads_and_ladders_give_the_listed_duties() {
        let move_bead = [0x05, 0x11, 0x07, 0x1E, 0xBF, 0x04, 0x1E, 0x51, 0xD5, 0x00];
        let rest_bead = [0x03, 0x11, 0x08, 0x01, 0x01, 0x04, 0x1E, 0xCB, 0x12, 0x00];
        assert_eq!(after(Style::Bead, &[&move_bead]), [95, -35, -35, 95]);
        assert_eq!(after(Style::Bead, &[&move_bead, &rest_bead]), [0; 4]);
        let move_ladder = [0xA7, 0x3C, 0x09, 0x21, 0x6C, 0x02, 0x1A, 0xFF, 0x1A, 0xFF, 0x6C, 0x02, 0x3F];
        let rest_ladder = [0xA7, 0x3C, 0x09, 0x21, 0, 0, 0, 0, 0, 0, 0, 0, 0x2D];
        assert_eq!(after(Style::Ladder, &[&move_ladder]), [62, -23, -23, 62]);
        assert_eq!(after(Style::Ladder, &[&move_ladder, &rest_ladder]), [0; 4]);
    }

    #[test]
    fn plain_lines_give_the_listed_duties() {
        assert_eq!(after(Style::PlainLine, &[b"pace,180\nway,port\n"]), [-71, 71, 71, -71]);
        assert_eq!(after(Style::PlainLine, &[b"pace,180\nway,port\nway,rest\n"]), [0; 4]);
        assert_eq!(after(Style::PlainLine, &[b"pace,180\nway,spin-port\nlamp,40\n"]), [-71, 71, -71, 71]);
        // Lenient numbers, unknown words.
        assert_eq!(after(Style::PlainLine, &[b"pace,255x\nway,ahead\nhorn,9\nway,up\n"]), [100; 4]);
        assert_eq!(after(Style::PlainLine, &[b"way,ahead\npace,x\n"]), [0; 4]);
    }

    #[test]
    fn each_way_has_the_signs_of_the_common_table() {
        let table = [
            (Way::Ahead, [1, 1, 1, 1]),
            (Way::Astern, [-1, -1, -1, -1]),
            (Way::Port, [-1, 1, 1, -1]),
            (Way::Starboard, [1, -1, -1, 1]),
            (Way::AheadPort, [0, 1, 1, 0]),
            (Way::AsternStarboard, [0, -1, -1, 0]),
            (Way::AheadStarboard, [1, 0, 0, 1]),
            (Way::AsternPort, [-1, 0, 0, -1]),
            (Way::SpinPort, [-1, 1, -1, 1]),
            (Way::SpinStarboard, [1, -1, 1, -1]),
            (Way::Rest, [0, 0, 0, 0]),
        ];
        assert_eq!(table.len(), Way::ALL.len());
        for (way, signs) in table {
            let line = format!("way,{}\n", way.name());
            assert_eq!(after(Style::PlainLine, &[line.as_bytes()]).map(i32::signum), signs, "{}", way.name());
            let [f, s, t] = way.signs();
            assert_eq!(mixer::mix(f * 40, s * 40, t * 40, 2).duties.map(i32::signum), signs, "{}", way.name());
        }
    }

    #[test]
    fn answers_come_two_milliseconds_after_the_cue_and_the_lapse_after_its_deadline() {
        let mut board = board(Style::CueLine);
        assert_eq!(board.act(HELLO, 11_900), [frames::up("1.3", "power")]);
        board.hear(1000 * MS, b"c042 p17 drv f+030 s-065 t+000 g2 d30 #A93D.\n");
        assert_eq!(board.next_at(), Some(1002 * MS));
        assert_eq!(board.act(1002 * MS, 11_090), [b"a042 got v111 e00 #E253.\n"]);
        assert_eq!(board.next_at(), Some(1300 * MS));
        assert!(board.act(1300 * MS, 11_100).is_empty());
        assert_eq!(board.duties(), [0; 4]);
        assert_eq!(board.act(1301 * MS, 11_100), [frames::lapsed(42)]);
        assert_eq!(board.next_at(), None);
    }

    #[test]
    fn refusals_as_listed_and_by_their_bits() {
        let mut board = board(Style::CueLine);
        board.act(HELLO, 11_900);
        board.hear(0, b"eye ok heap 91k net up c000 p00 drv f+000 s+000 t+000 g3 d30 #0770.\n");
        assert_eq!(board.act(2 * MS, 11_200), [b"a000 nay v112 e02 #F2F5.\n"]);
        // The check does not hold; a verb nobody knows; a gear out of range; all four divided.
        board.hear(0, b"c042 p17 drv f+031 s-065 t+000 g2 d30 #A93D.\n");
        assert_eq!(board.act(2 * MS, 11_200), [frames::answer(42, false, 112, error::CHECK)]);
        board.hear(0, &frames::cue(43, 1, frames::Cue { verb: "hop", f: 0, s: 0, t: 0, gear: 1, deadline: 0 }));
        assert_eq!(board.act(2 * MS, 11_200), [frames::answer(43, false, 112, error::VERB)]);
        board.hear(0, &frames::cue(44, 1, frames::Cue { verb: "drv", f: 0, s: 0, t: 0, gear: 4, deadline: 0 }));
        assert_eq!(board.act(2 * MS, 11_200), [frames::answer(44, false, 112, error::RANGE)]);
        board.hear(0, b"c046 p21 drv f+100 s+100 t+040 g3 d30 #0492.\n");
        assert_eq!(board.act(2 * MS, 9_400), [frames::answer(46, true, 94, error::SCALED | error::VOLTS)]);
        // Lines that do not end as a cue does are passed over.
        board
            .hear(0, b"c334 p68 drv f+00\x00\xF8GC2 rom 1.4 rst=0x0F(sag) strap=0b10110\r\nload @3F40 len 6144 ok\r\n");
        assert!(board.act(2 * MS, 11_200).is_empty());
    }
}
