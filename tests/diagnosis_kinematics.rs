//! The floor model against published kinematics. Every source below is from memory, unless it says otherwise: a person
//! with the book should confirm the pages.
#![allow(clippy::float_cmp, clippy::unwrap_used)]

use std::sync::Arc;

use wheeltap::diagnosis::body::{BodyRule, BodySeen, Turn, Way};
use wheeltap::diagnosis::model::Model;
use wheeltap::diagnosis::pattern;
use wheeltap::diagnosis::rollers::Rollers;
use wheeltap::engine::Engine;
use wheeltap::rover::built_in;
use wheeltap::rover::file::RoverFile;
use wheeltap::rover::machine::Machine;
use wheeltap::rover::mecanum::{Motion, Signs};
use wheeltap::rover::wheels::Wheel;
use wheeltap::timing::link::LinkFacts;

fn motion(turning: Signs) -> [f64; 3] {
    BodyRule::default().motion(Rollers::RIGHT, turning)
}

#[track_caller]
fn near(found: [f64; 3], expected: [f64; 3]) {
    let apart = found.iter().zip(expected).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
    assert!(apart < 1e-9, "{found:?} is not {expected:?}");
}

/// Lynch and Park, *Modern Robotics* (2017), equation 13.10: wheels 1 FL, 2 FR, 3 RR, 4 RL; twist (omega, vx, vy).
#[test]
fn inverse_of_lynch_and_park() {
    let lever = 1.8;
    let rows: [(f64, f64, f64); 4] = [(-lever, 1.0, -1.0), (lever, 1.0, 1.0), (lever, 1.0, -1.0), (-lever, 1.0, 1.0)];
    for twist in [(1.0 / lever, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)] {
        let [fl, fr, rr, rl] = rows.map(|row| (row.0 * twist.0 + row.1 * twist.1 + row.2 * twist.2).round() as i32);
        near(motion([fl, fr, rl, rr]), [twist.1, twist.2, twist.0 * lever]);
    }
}

/// Taheri, Qiao and Ghaeminezhad, Int. J. Computer Applications 113(3), 2015: forward kinematics, all 81 patterns.
#[test]
fn forward_of_taheri() {
    for number in 0..pattern::COUNT as u8 {
        let [w1, w2, w3, w4] = pattern::signs(number).map(f64::from);
        let expected = [(w1 + w2 + w3 + w4) / 4.0, (-w1 + w2 + w3 - w4) / 4.0, (-w1 + w2 - w3 + w4) / 4.0];
        near(motion(pattern::signs(number)), expected);
    }
}

/// Modern Robotics, capstone: r = 0.0475 m, l = 0.235 m, w = 0.15 m, one second at 10 rad/s in the order FL FR RR RL.
#[test]
fn capstone_figures() {
    let rule = BodyRule { half_length: 0.235, half_width: 0.15, ..BodyRule::default() };
    let run = |fl, fr, rr, rl| {
        let [x, y, turn] = rule.motion(Rollers::RIGHT, [fl, fr, rl, rr]);
        [x, y, turn / 0.385].map(|part| (part * 10.0 * 0.0475 * 1000.0).round() / 1000.0)
    };
    assert_eq!(run(1, 1, 1, 1), [0.475, 0.0, 0.0]);
    assert_eq!(run(-1, 1, -1, 1), [0.0, 0.475, 0.0]);
    assert_eq!(run(-1, 1, 1, -1), [0.0, 0.0, 1.234]);
}

/// The direction table common to both.
#[test]
fn a_sound_rover_moves_as_ordered() {
    for ordered in Motion::ALL {
        let seen = BodyRule::default().answer(motion(ordered.signs()));
        let twist = ordered.twist();
        let way = Way::from_parts(twist.vx, twist.vy);
        assert_eq!(seen, BodySeen { way, turn: Turn::from_sign(twist.wz) }, "{}", ordered.id());
        assert_eq!(BodySeen::from_number(seen.number()), seen);
    }
}

/// One reversed wheel gives half of each part, one dead wheel three quarters and a quarter (worked out by hand from the
/// forward kinematics above).
#[test]
fn one_wheel_wrong_while_driving_forward() {
    let signs = [[1.0, 1.0, 1.0], [1.0, -1.0, -1.0], [1.0, -1.0, 1.0], [1.0, 1.0, -1.0]];
    for (wheel, [x, y, turn]) in signs.into_iter().enumerate() {
        let mut turning = [1; 4];
        turning[wheel] = -1;
        near(motion(turning), [x / 2.0, y / 2.0, turn / 2.0]);
        turning[wheel] = 0;
        near(motion(turning), [0.75 * x, 0.25 * y, 0.25 * turn]);
    }
}

/// Rollers of the wrong hand: which sets leave a motion without resistance. With equal levers all four wrong too.
/// Worked out by hand: the three columns of the rows (1, s, s x - y).
#[test]
fn rollers_that_leave_the_motion_open() {
    use Wheel::{FL, FR, RL, RR};
    let rule = BodyRule::default();
    for parallel in [[FL, RR], [FR, RL]] {
        assert!(!rule.predictable(Rollers::wrong_at(&parallel)), "{parallel:?}");
    }
    for other in [[FL, FR], [RL, RR], [FL, RL], [FR, RR]] {
        assert!(rule.predictable(Rollers::wrong_at(&other)), "{other:?}");
    }
    assert!(rule.predictable(Rollers::wrong_at(&Wheel::ALL)));
    let square = BodyRule { half_length: 1.0, half_width: 1.0, ..rule };
    assert!(!square.predictable(Rollers::wrong_at(&Wheel::ALL)));
}

/// All four wrong: slides mirrored, forward right. Front pair exchanged: turn left becomes a slide to the right.
#[test]
fn rollers_of_the_wrong_hand() {
    let rule = BodyRule::default();
    let all = Rollers::wrong_at(&Wheel::ALL);
    near(rule.motion(all, Motion::Forward.signs()), [1.0, 0.0, 0.0]);
    near(rule.motion(all, Motion::Left.signs()), [0.0, -1.0, 0.0]);
    let front = Rollers::wrong_at(&[Wheel::FL, Wheel::FR]);
    near(rule.motion(front, Motion::TurnLeft.signs()), [0.0, -1.0, 0.0]);
    let left_side = Rollers::wrong_at(&[Wheel::FL, Wheel::RL]);
    let slide = rule.answer(rule.motion(left_side, Motion::Left.signs()));
    assert_eq!(slide.way, Way::NONE, "one side's wheels exchanged: a slide locks");
}

/// Rollers all of the wrong hand leave the lever half length less half width: a rover longer than wide turns the wrong
/// way, one wider than long the right way (worked out by hand from the rows (1, s, s x - y)). The plain line's rover is
/// wider than long, and its rover file says so.
#[test]
fn the_rover_files_own_wheelbase_and_track_count() {
    let file = built_in::find("plain-line").unwrap();
    let rover = RoverFile::load(file.name, file.text).unwrap();
    let turns = |machine: &Machine| {
        let body = Model::of_rover(&rover.guesses, machine).body;
        body.answer(body.motion(Rollers::wrong_at(&Wheel::ALL), Motion::TurnLeft.signs())).turn
    };
    assert_eq!(turns(&rover.machine), Turn::CounterClockwise);
    let longer = Machine {
        geometry: rover.machine.geometry.map(|[length, width, r]| [width, length, r]),
        ..rover.machine.clone()
    };
    assert_eq!(turns(&longer), Turn::Clockwise);
    let engine = Engine::new(LinkFacts::default(), Some(Arc::new(rover.clone())));
    assert_eq!(engine.check().start().model().body, BodyRule::of(&rover.machine), "the guided check uses it");
}
