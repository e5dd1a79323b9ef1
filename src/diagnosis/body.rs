//! What the body does on the floor when the wheels turn in a pattern: least squares with equal contacts.
//!
//! Per wheel `r*w = vx + s*vy + (s*x - y)*wz` (x forward, y left, turn positive counter-clockwise from above), where
//! `s` is the sign of the touching roller's axle and is turned where the hand is wrong. The body takes the motion that
//! fits the four wheels best; where several fit alike, the smallest. Real friction differs, so the labels beside the
//! true one are soft evidence.

use crate::diagnosis::pattern;
use crate::diagnosis::rollers::{Rollers, roller_sign};
use crate::rover::machine::Machine;
use crate::rover::mecanum::Signs;
use crate::rover::wheels::Wheel;

/// How a body motion becomes the two answers of a person.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BodyRule {
    /// Half the wheelbase; only its ratio to the half track counts.
    pub half_length: f64,
    /// Half the track.
    pub half_width: f64,
    /// A part of the motion is seen when it is at least this share of the largest part.
    pub way_share: f64,
    /// The turn is seen when it is at least this share of the largest part.
    pub turn_share: f64,
}

impl Default for BodyRule {
    fn default() -> Self {
        Self { half_length: 1.0, half_width: 0.8, way_share: 0.25, turn_share: 0.25 }
    }
}

impl BodyRule {
    /// The rule for this machine's wheelbase and track; the default ones where the file does not state them.
    pub fn of(machine: &Machine) -> Self {
        match machine.geometry {
            Some([length, width, _]) => {
                Self { half_length: length as f64, half_width: width as f64, ..Self::default() }
            }
            None => Self::default(),
        }
    }

    /// The body's motion in shares of the healthy one: forward, left, counter-clockwise.
    pub fn motion(&self, rollers: Rollers, turning: Signs) -> [f64; 3] {
        let rows = self.rows(rollers);
        let mut normal = [[0.0; 3]; 3];
        let mut right = [0.0; 3];
        for (row, turn) in rows.iter().zip(turning) {
            for a in 0..3 {
                right[a] += row[a] * f64::from(turn);
                for b in 0..3 {
                    normal[a][b] += row[a] * row[b];
                }
            }
        }
        smallest_fit(normal, right)
    }

    /// Each wheel's shares of the three parts; the third is in units of half length plus half width.
    fn rows(&self, rollers: Rollers) -> [[f64; 3]; 4] {
        let lever = self.half_length + self.half_width;
        Wheel::ALL.map(|wheel| {
            let front = if matches!(wheel, Wheel::FL | Wheel::FR) { 1.0 } else { -1.0 };
            let left = if matches!(wheel, Wheel::FL | Wheel::RL) { 1.0 } else { -1.0 };
            let wrong = if rollers.is_wrong(wheel) { -1.0 } else { 1.0 };
            let s = wrong * f64::from(roller_sign(wheel));
            [1.0, s, (s * front * self.half_length - left * self.half_width) / lever]
        })
    }

    /// What a person should answer.
    pub fn answer(&self, motion: [f64; 3]) -> BodySeen {
        let [ahead, left, turn] = motion;
        let largest = motion.iter().fold(0.0_f64, |most, part| most.max(part.abs()));
        let part = |value: f64, share: f64| {
            let seen = value.abs() > 1e-6 && value.abs() >= share * largest - 1e-9;
            if seen { value.signum() as i32 } else { 0 }
        };
        BodySeen {
            way: Way::from_parts(part(ahead, self.way_share), part(left, self.way_share)),
            turn: Turn::from_sign(part(turn, self.turn_share)),
        }
    }

    /// Whether the body's motion follows from the wheels at all: some motion meets no resistance otherwise.
    pub fn predictable(&self, rollers: Rollers) -> bool {
        let rows = self.rows(rollers);
        let mut normal = [[0.0; 3]; 3];
        for row in rows {
            for a in 0..3 {
                for b in 0..3 {
                    normal[a][b] += row[a] * row[b];
                }
            }
        }
        eigen(normal).0.iter().all(|value| *value > 1e-9)
    }

    /// The answers for every roller mask and pattern, and whether each mask's are predictable.
    pub fn table(&self) -> BodyTable {
        let mut answers = Vec::with_capacity(Rollers::COUNT * pattern::COUNT);
        for rollers in Rollers::all() {
            for number in 0..pattern::COUNT as u8 {
                answers.push(self.answer(self.motion(rollers, pattern::signs(number))).number());
            }
        }
        BodyTable { answers, predictable: Rollers::all().map(|rollers| self.predictable(rollers)) }
    }
}

/// Answers worked out beforehand.
#[derive(Clone, Debug)]
pub struct BodyTable {
    answers: Vec<u8>,
    predictable: [bool; Rollers::COUNT],
}

impl BodyTable {
    /// The number of the answer for this pattern; see [`BodySeen::number`].
    pub fn answer(&self, rollers: Rollers, number: u8) -> u8 {
        self.answers[rollers.index() * pattern::COUNT + usize::from(number)]
    }

    /// Whether the body's motion follows from the wheels with these rollers.
    pub const fn predictable(&self, rollers: Rollers) -> bool {
        self.predictable[rollers.index()]
    }
}

/// Where the body went.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Way {
    /// -1 backward, +1 forward.
    pub ahead: i32,
    /// -1 right, +1 left.
    pub left: i32,
}

impl Way {
    /// How many answers: eight directions or none.
    pub const COUNT: usize = 9;

    /// Nowhere.
    pub const NONE: Self = Self { ahead: 0, left: 0 };

    /// From signs of the two parts.
    pub const fn from_parts(ahead: i32, left: i32) -> Self {
        Self { ahead: ahead.signum(), left: left.signum() }
    }

    /// Place in arrays of nine.
    pub const fn index(self) -> usize {
        ((self.ahead + 1) * 3 + self.left + 1) as usize
    }

    /// In words.
    pub const fn words(self) -> &'static str {
        match (self.ahead, self.left) {
            (1, 0) => "forward",
            (1, 1) => "forward left",
            (0, 1) => "left",
            (-1, 1) => "backward left",
            (-1, 0) => "backward",
            (-1, -1) => "backward right",
            (0, -1) => "right",
            (1, -1) => "forward right",
            _ => "nowhere",
        }
    }
}

/// Whether and which way the body turned, seen from above.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Turn {
    /// Clockwise.
    Clockwise,
    /// Not at all.
    None,
    /// Counter-clockwise.
    CounterClockwise,
}

impl Turn {
    /// How many answers.
    pub const COUNT: usize = 3;

    /// Positive is counter-clockwise.
    pub const fn from_sign(sign: i32) -> Self {
        match sign.signum() {
            1 => Self::CounterClockwise,
            -1 => Self::Clockwise,
            _ => Self::None,
        }
    }

    /// +1 counter-clockwise, -1 clockwise.
    pub const fn sign(self) -> i32 {
        self as i32 - 1
    }

    /// Place in arrays of three.
    pub const fn index(self) -> usize {
        self as usize
    }
}

/// Both answers of the floor test.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct BodySeen {
    /// Where it went.
    pub way: Way,
    /// Whether it turned.
    pub turn: Turn,
}

impl BodySeen {
    /// How many pairs of answers.
    pub const COUNT: usize = Way::COUNT * Turn::COUNT;

    /// 0 to 26.
    pub const fn number(self) -> u8 {
        (self.way.index() * Turn::COUNT + self.turn.index()) as u8
    }

    /// The pair with this number.
    pub const fn from_number(number: u8) -> Self {
        let way = number as i32 / 3;
        Self { way: Way { ahead: way / 3 - 1, left: way % 3 - 1 }, turn: Turn::from_sign(number as i32 % 3 - 1) }
    }

    /// One label of twelve: 0 to 8 a way without a turn (4 is rest), 9 and 10 a turn on the spot, 11 both at once.
    pub const fn one_label(self) -> u8 {
        match (self.way, self.turn) {
            (way, Turn::None) => way.index() as u8,
            (Way::NONE, Turn::Clockwise) => 9,
            (Way::NONE, Turn::CounterClockwise) => 10,
            _ => 11,
        }
    }
}

/// The least-squares motion of smallest size, from the normal equations.
fn smallest_fit(normal: [[f64; 3]; 3], right: [f64; 3]) -> [f64; 3] {
    let (values, vectors) = eigen(normal);
    let mut fit = [0.0; 3];
    for (value, vector) in values.iter().zip(vectors) {
        if *value > 1e-9 {
            let along: f64 = vector.iter().zip(right).map(|(a, b)| a * b).sum::<f64>() / value;
            for (part, share) in fit.iter_mut().zip(vector) {
                *part += along * share;
            }
        }
    }
    fit
}

/// Eigenvalues and eigenvectors of a symmetric 3 by 3 matrix, by plane rotations (Jacobi).
fn eigen(mut matrix: [[f64; 3]; 3]) -> ([f64; 3], [[f64; 3]; 3]) {
    let mut vectors = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]];
    for _ in 0..40 {
        for (p, q) in [(0, 1), (0, 2), (1, 2)] {
            if matrix[p][q].abs() > 1e-15 {
                rotate(&mut matrix, &mut vectors, p, q);
            }
        }
    }
    ([matrix[0][0], matrix[1][1], matrix[2][2]], vectors)
}

/// One plane rotation that makes element (p, q) zero; `vectors` holds one vector a row.
fn rotate(matrix: &mut [[f64; 3]; 3], vectors: &mut [[f64; 3]; 3], p: usize, q: usize) {
    let theta = (matrix[q][q] - matrix[p][p]) / (2.0 * matrix[p][q]);
    let tangent = theta.signum() / (theta.abs() + theta.hypot(1.0));
    let cosine = 1.0 / tangent.hypot(1.0);
    let sine = tangent * cosine;
    for row in matrix.iter_mut() {
        (row[p], row[q]) = (cosine * row[p] - sine * row[q], sine * row[p] + cosine * row[q]);
    }
    for k in 0..3 {
        (matrix[p][k], matrix[q][k]) =
            (cosine * matrix[p][k] - sine * matrix[q][k], sine * matrix[p][k] + cosine * matrix[q][k]);
        (vectors[p][k], vectors[q][k]) =
            (cosine * vectors[p][k] - sine * vectors[q][k], sine * vectors[p][k] + cosine * vectors[q][k]);
    }
}
