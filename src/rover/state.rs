//! The rover's state as its orders tell it: what was ordered, what the drive board should make of it, until when.
//!
//! Nothing here is seen: a wheel may do something else. An answer revises *meant* from its own time on, never before.

use std::sync::Arc;

use wheeltap_parsers::{Interval, Nanos, Value, Wire};

use crate::rover::meaning::{KindMeaning, Meaning, Means, Obeys, Role, Verb};
use crate::rover::mecanum::{body_motion, scrub, wheel_sums};
use crate::rover::wheels::{Duties, Duty, Twist, Wheel, per_cent};

/// The fields of one frame: their values, scaled and as words.
#[derive(Clone, Copy, Debug)]
pub struct Fields<'a> {
    /// What they mean.
    pub meaning: &'a KindMeaning,
    /// The profile's fields.
    pub fields: &'a [wheeltap_parsers::Field],
    /// The values, in the same order.
    pub values: &'a [Value<'a>],
}

impl<'a> Fields<'a> {
    /// The value of the field that means this, in thousandths of its unit.
    pub fn thousandths(&self, means: Means) -> Option<i64> {
        let place = self.meaning.field(means)?;
        self.fields.get(place)?.thousandths(*self.values.get(place)?)
    }

    /// The value of the field that means this, as a whole number of its unit.
    pub fn whole(&self, means: Means) -> Option<i64> {
        self.thousandths(means).map(|value| value / 1000)
    }

    /// The word of the field that means this.
    pub fn word(&self, means: Means) -> Option<&'a str> {
        let place = self.meaning.field(means)?;
        match *self.values.get(place)? {
            Value::Word(index) => self.fields.get(place)?.words.get(index).map(String::as_str),
            Value::Text(text) => Some(text),
            Value::Int(_) | Value::Real(_) => None,
        }
    }

    /// The code of the field that means this: a word as it is, a number in decimal.
    pub fn code(&self, means: Means) -> Option<String> {
        self.word(means).map(str::to_owned).or_else(|| self.whole(means).map(|number| number.to_string()))
    }
}

/// Where the rover stands.
#[derive(Clone, Debug)]
pub struct RoverState {
    meaning: Arc<Meaning>,
    /// Duty in force for moves of the table; `None` when the link gives it with each order or nobody knows it.
    duty: Option<Duty>,
    /// Whether that duty was heard on the wire.
    duty_heard: bool,
    row: Option<usize>,
    ordered: Option<Duties>,
    meant: Option<Duties>,
    /// Duties and order in force before the last order came.
    before: (Option<Duties>, Option<Order>),
    answered: Option<bool>,
    confirmed: Option<Duties>,
    order: Option<Order>,
    lapsed: Option<Nanos>,
    pack: Option<i64>,
}

/// The order in force.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Order {
    /// When its last byte was complete.
    pub at: Interval,
    /// How long it may be obeyed.
    pub deadline: Option<Nanos>,
    /// Its sequence number.
    pub sequence: Option<i64>,
    /// The move's own name; `None` for a twist or stated wheels.
    pub name: Option<String>,
    /// The drive board said that it obeys.
    pub obeyed: bool,
}

/// What a frame did to the state.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Effect {
    /// Nothing that concerns the wheels.
    None,
    /// An order came; the wheels' duties may have changed.
    Ordered,
    /// The drive board obeyed or refused the order in force.
    Answered(bool),
    /// The drive board says that a deadline ran out.
    Lapsed,
    /// The drive board is up anew.
    DriveBoardUp,
}

impl RoverState {
    /// The state before anything was heard.
    pub fn new(meaning: Arc<Meaning>) -> Self {
        let duty = meaning.duty.at_power_up;
        Self {
            meaning,
            duty,
            duty_heard: false,
            row: None,
            ordered: None,
            meant: None,
            before: (None, None),
            answered: None,
            confirmed: None,
            order: None,
            lapsed: None,
            pack: None,
        }
    }

    /// Duties as meant, FL FR RL RR; `None` before the first order.
    pub const fn meant(&self) -> Option<Duties> {
        self.meant
    }

    /// Duties that stood on the wire for each wheel.
    pub const fn ordered(&self) -> Option<Duties> {
        self.ordered
    }

    /// Duties that the drive board reported last.
    pub const fn confirmed(&self) -> Option<Duties> {
        self.confirmed
    }

    /// What the drive board said of the last order.
    pub const fn answered(&self) -> Option<bool> {
        self.answered
    }

    /// The order in force.
    pub const fn order(&self) -> Option<&Order> {
        self.order.as_ref()
    }

    /// When a deadline ran out with a move in force, and no order has come since.
    pub const fn lapsed(&self) -> Option<Nanos> {
        self.lapsed
    }

    /// Pack, millivolts, from the last answer that said so.
    pub const fn pack_millivolts(&self) -> Option<i64> {
        self.pack
    }

    /// Whether the duty in force was heard; `None` on links whose duty does not persist.
    pub fn duty_heard(&self) -> Option<bool> {
        self.meaning.duty.persists.then_some(self.duty_heard)
    }

    /// True when a wheel is meant to turn.
    pub fn moving(&self) -> bool {
        self.meant.is_some_and(|duties| duties != [0; 4])
    }

    /// Body motion of the meant duties.
    pub fn twist(&self) -> Option<Twist> {
        self.meant.map(body_motion)
    }

    /// Wheels fighting each other as meant, thousandths.
    pub fn scrub(&self) -> i32 {
        self.meant.map_or(0, scrub)
    }

    /// The instant at which the order in force runs out, when it has a deadline and a wheel is meant to turn.
    pub fn runs_out(&self) -> Option<Nanos> {
        let order = self.order.as_ref()?;
        order.deadline.filter(|_| self.moving()).map(|length| order.at.hi + length)
    }

    /// What is meant, in words: the motion and its duty.
    pub fn meant_words(&self) -> String {
        let Some(duties) = self.meant else {
            return match self.row.and_then(|row| self.meaning.moves.get(row)) {
                Some(row) => format!("{}, duty not heard yet", row.motion.map_or("own row", |motion| motion.id())),
                None => String::new(),
            };
        };
        if duties == [0; 4] {
            return "rest".to_owned();
        }
        let strongest = duties.iter().map(|duty| duty.abs()).max().unwrap_or(0);
        format!("{}, {} %", motion_words(body_motion(duties), scrub(duties)), per_cent(strongest))
    }

    /// Takes a good frame.
    pub fn take(&mut self, wire: Wire, frame: Fields<'_>, at: Interval) -> Effect {
        match (wire, frame.meaning.role) {
            (Wire::ToDrive, Role::Order) => self.take_order(frame, at),
            (Wire::FromDrive, Role::Answer) => self.take_answer(frame),
            (Wire::FromDrive, Role::Report) => {
                self.confirmed = self.stated_duties(frame).or_else(|| self.row_duties(frame));
                Effect::None
            }
            (Wire::FromDrive, Role::Lapse) if self.speaks_of_another(frame) => Effect::None,
            (Wire::FromDrive, Role::Lapse) => {
                self.run_out(at.hi);
                Effect::Lapsed
            }
            (Wire::FromDrive, Role::Hello) => {
                self.drive_board_started();
                Effect::DriveBoardUp
            }
            _ => Effect::None,
        }
    }

    /// What a lenient reader makes of a broken number in a frame with one number and no check: its leading digits,
    /// else 0. The result is meant, not ordered.
    pub fn take_broken_number(&mut self, means: Means, text: &[u8]) -> bool {
        if !self.meaning.reader.lenient || means != Means::Duty {
            return false;
        }
        let digits = text.iter().take_while(|byte| byte.is_ascii_digit()).take(15);
        let number = digits.fold(0_i64, |sum, digit| sum * 10 + i64::from(digit - b'0'));
        self.set_duty(number * 1000);
        true
    }

    /// The deadline ran out at `at`: the wheels are meant to rest.
    pub fn run_out(&mut self, at: Nanos) {
        if self.moving() {
            self.lapsed = Some(at);
        }
        self.meant = self.meant.map(|_| [0; 4]);
    }

    /// The drive board started anew: rest, and the duty of power-up.
    pub fn drive_board_started(&mut self) {
        self.duty = self.meaning.duty.at_power_up;
        self.duty_heard = false;
        self.row = None;
        self.meant = self.meant.map(|_| [0; 4]);
        self.order = None;
        self.lapsed = None;
    }

    /// Nobody listens on the wire to the drive board any more: what is in force from now on is not known.
    pub fn not_heard(&mut self) {
        self.duty_heard = false;
        self.row = None;
        self.ordered = None;
        self.meant = None;
        self.order = None;
        self.lapsed = None;
    }

    /// Whether an answer names an order that is no longer in force.
    fn speaks_of_another(&self, frame: Fields<'_>) -> bool {
        let named = frame.whole(Means::AnswersSequence);
        let in_force = self.order.as_ref().and_then(|order| order.sequence);
        named.is_some() && in_force.is_some() && named != in_force
    }

    fn take_order(&mut self, frame: Fields<'_>, at: Interval) -> Effect {
        let before = self.meant;
        let name = if frame.meaning.field(Means::Move).is_some() {
            self.take_move(frame)
        } else if let Some(duties) = self.stated_duties(frame) {
            self.ordered = Some(duties);
            self.meant = Some(duties);
            None
        } else if frame.meaning.field(Means::Verb).is_some() || frame.meaning.field(Means::Ahead).is_some() {
            if !self.take_twist(frame) {
                return Effect::None;
            }
            None
        } else if let Some(value) = frame.thousandths(Means::Duty) {
            self.set_duty(value);
            return Effect::None;
        } else {
            return Effect::None;
        };
        self.before = (before, self.order.take());
        self.answered = None;
        self.lapsed = None;
        let deadline = match self.meaning.reader.obeys {
            Obeys::For(length) => Some(length),
            Obeys::DeadlineField => frame.thousandths(Means::Deadline).map(|value| value * 1000),
            Obeys::ForEver | Obeys::Unknown => None,
        };
        self.order = Some(Order { at, deadline, sequence: frame.whole(Means::Sequence), name, obeyed: false });
        Effect::Ordered
    }

    fn take_move(&mut self, frame: Fields<'_>) -> Option<String> {
        let code = frame.code(Means::Move)?;
        self.row = self.meaning.moves.iter().position(|row| row.code == code);
        if let Some(value) = frame.thousandths(Means::Duty) {
            self.duty = Some(self.meaning.duty.duty(value));
            self.duty_heard = true;
        }
        self.apply_row();
        self.row.and_then(|row| self.meaning.moves.get(row)).map(|row| row.name.clone())
    }

    fn apply_row(&mut self) {
        let Some(row) = self.row.and_then(|row| self.meaning.moves.get(row)) else { return };
        self.meant =
            if row.signs == [0; 4] { Some([0; 4]) } else { self.duty.map(|duty| row.signs.map(|sign| sign * duty)) };
    }

    fn set_duty(&mut self, thousandths: i64) {
        self.duty = Some(self.meaning.duty.duty(thousandths));
        self.duty_heard = true;
        if self.row.is_some() && self.lapsed.is_none() {
            self.apply_row();
        }
    }

    fn stated_duties(&self, frame: Fields<'_>) -> Option<Duties> {
        let mut duties = [0; 4];
        for wheel in Wheel::ALL {
            duties[wheel.index()] = self.meaning.duty.duty(frame.thousandths(Means::WheelDuty(wheel))?);
        }
        Some(duties)
    }

    fn row_duties(&self, frame: Fields<'_>) -> Option<Duties> {
        let code = frame.code(Means::Move)?;
        let row = self.meaning.moves.iter().find(|row| row.code == code)?;
        let duty = self.meaning.duty.duty(frame.thousandths(Means::Duty)?);
        Some(row.signs.map(|sign| sign * duty))
    }

    /// False when the verb moves no wheel.
    fn take_twist(&mut self, frame: Fields<'_>) -> bool {
        let verb = frame.word(Means::Verb).map(|word| {
            let known = self.meaning.verbs.iter().find(|(name, _)| name == word);
            known.map_or(Verb::Ask, |(_, verb)| *verb)
        });
        let part = |means| frame.thousandths(means).unwrap_or(0);
        let (x, y, w) = (part(Means::Ahead), part(Means::Left), part(Means::Turn));
        let duties = match verb.unwrap_or(Verb::Drive) {
            Verb::Ask => return false,
            Verb::Rest => [0; 4],
            Verb::Drive => {
                let sums = wheel_sums(Twist { vx: x as i32, vy: y as i32, wz: w as i32 }).map(i64::from);
                self.meaning.mixer.duties(sums, frame.whole(Means::Gear))
            }
            Verb::OneWheel => {
                let mut duties = [0; 4];
                if let Some(place) = usize::try_from(x / 1000 - 1).ok().and_then(|place| duties.get_mut(place)) {
                    *place = self.meaning.duty.duty(y);
                }
                duties
            }
        };
        self.meant = Some(duties);
        true
    }

    fn take_answer(&mut self, frame: Fields<'_>) -> Effect {
        if let Some(volts) = frame.thousandths(Means::Volts) {
            self.pack = Some(volts);
        }
        let Some(word) = frame.word(Means::Answer) else { return Effect::None };
        let [obeyed, refused] = &self.meaning.answers;
        let said = if obeyed.iter().any(|known| known == word) {
            true
        } else if refused.iter().any(|known| known == word) {
            false
        } else {
            return Effect::None;
        };
        let to_this = self.order.as_ref().is_some_and(|order| order.sequence == frame.whole(Means::AnswersSequence));
        // What the drive board has said it obeys it cannot refuse: such a refusal is of something that was hit on the
        // way, and names the last number that was read.
        let obeyed = self.order.as_ref().is_some_and(|order| order.obeyed);
        if to_this && (said || !obeyed) {
            self.answered = Some(said);
            if said {
                self.confirmed = self.meant;
                self.order.iter_mut().for_each(|order| order.obeyed = true);
            } else {
                (self.meant, self.order) = self.before.clone();
            }
        }
        Effect::Answered(said)
    }
}

/// A body motion in words: its main directions, and *wheels fight* when most of it is scrub.
pub fn motion_words(twist: Twist, scrub: i32) -> &'static str {
    let Twist { vx, vy, wz } = twist;
    let most = vx.abs().max(vy.abs()).max(wz.abs());
    if scrub.abs() > most {
        return "wheels fight";
    }
    if most == 0 {
        return "rest";
    }
    let part = |value: i32| if value.abs() * 100 >= most * 42 { value.signum() } else { 0 };
    match (part(vx), part(vy), part(wz)) {
        (1, 0, 0) => "forward",
        (-1, 0, 0) => "backward",
        (0, 1, 0) => "left",
        (0, -1, 0) => "right",
        (1, 1, 0) => "forward-left",
        (1, -1, 0) => "forward-right",
        (-1, 1, 0) => "backward-left",
        (-1, -1, 0) => "backward-right",
        (0, 0, 1) => "turn-left",
        (0, 0, -1) => "turn-right",
        (1, _, 1) => "forward, turning left",
        (1, _, -1) => "forward, turning right",
        (-1, _, 1) => "backward, turning left",
        (-1, _, -1) => "backward, turning right",
        (0, 1, _) => "left, turning",
        _ => "right, turning",
    }
}
