//! The half bridge against the driver's truth table and pulses of known width.

use super::*;

const MS: Picos = 1_000_000_000;

/// Levels of IN1, IN2, EN over time, and what was told of them.
fn told(steps: &[(Picos, [u8; 3])], end: Picos) -> Vec<Told> {
    let mut bridge = HalfBridge::new(true);
    let mut all = Vec::new();
    for (at, levels) in steps {
        for (input, level) in levels.iter().enumerate() {
            bridge.set(input, Level::of(*level).unwrap_or_default());
        }
        bridge.look(*at);
        let decided = bridge.decided_to(*at);
        all.extend(bridge.told());
        assert!(decided <= *at, "{decided} at {at}");
    }
    bridge.pass(end);
    all.extend(bridge.told());
    all
}

fn from(from: Picos, duty: i32) -> Told {
    Told { from, duty: Some(duty) }
}

/// Pulses of the enable with the direction inputs held.
fn pulses(begin: Picos, count: i64, period: Picos, on: Picos, [one, two]: [u8; 2]) -> Vec<(Picos, [u8; 3])> {
    let pulse = |n: i64| {
        let rise = begin + n * period;
        [(rise, [one, two, b'1']), (rise + on, [one, two, b'0'])]
    };
    (0..count).flat_map(pulse).collect()
}

/// ST L298 data sheet, January 2000, figure 6: EN high with IN1 high and IN2 low is forward, the other way round reverse,
/// both alike a fast stop; EN low, whatever the inputs, free running.
#[test]
fn the_truth_table_is_that_of_the_driver() {
    let rest = [0, 0];
    for (levels, duty) in [
        (*b"101", 1000),
        (*b"011", -1000),
        (*b"111", 0),
        (*b"001", 0),
        (*b"100", 0),
        (*b"010", 0),
        (*b"110", 0),
        (*b"000", 0),
    ] {
        let steps = [(0, *b"000"), (100 * MS, levels)];
        let due = if duty == 0 { vec![from(0, 0)] } else { vec![from(0, 0), from(100 * MS, duty)] };
        assert_eq!(told(&steps, 400 * MS), due, "{levels:?} {rest:?}");
    }
}

#[test]
fn a_floating_input_is_told_as_open() {
    for levels in [*b"z01", *b"1z1", *b"10z", *b"x01"] {
        let steps = [(0, *b"000"), (100 * MS, levels)];
        assert_eq!(told(&steps, 400 * MS), [from(0, 0), Told { from: 100 * MS, duty: None }], "{levels:?}");
    }
}

#[test]
fn duty_is_right_to_half_a_per_cent_at_any_pace_of_pulses() {
    for period in [50_000_000, 100_000_000, MS, 1_024_000_000, 4 * MS, 20 * MS] {
        for duty in [20, 337, 500, 710, 985] {
            // The recorder's own grid of 0.1 us.
            let on = period * duty / 1000 / 100_000 * 100_000;
            let count = (300 * MS / period).max(6);
            let mut steps = vec![(0, *b"000")];
            steps.extend(pulses(50 * MS + 7, count, period, on, *b"01"));
            let all = told(&steps, 900 * MS);
            let [rest, moving, ..] = all.as_slice() else { panic!("{period}: {all:?}") };
            assert_eq!((*rest, moving.from), (from(0, 0), 50 * MS + 7));
            let off = moving.duty.map(|found| (found + duty as i32).abs());
            assert!(off.is_some_and(|off| off <= 5), "{period} {duty}: {moving:?}");
            assert_eq!((all.len(), all[2].duty), (3, Some(0)), "{period} {duty}: {all:?}");
        }
    }
}

#[test]
fn a_step_of_duty_and_a_reversal_are_dated_by_their_own_period() {
    let mut steps = vec![(0, *b"000")];
    steps.extend(pulses(40 * MS, 20, MS, 250_000_000, *b"10"));
    steps.extend(pulses(60 * MS, 20, MS, 750_000_000, *b"10"));
    steps.extend(pulses(80 * MS, 20, MS, 750_000_000, *b"01"));
    let due = [from(0, 0), from(40 * MS, 250), from(60 * MS, 750), from(80 * MS, -750), from(99 * MS + 750_000_000, 0)];
    assert_eq!(told(&steps, 300 * MS), due);
}

/// The enable stays low from the end of a pulse; the direction inputs go low within the pause: that is the stop.
#[test]
fn a_stop_is_dated_by_the_direction_inputs() {
    let mut steps = vec![(0, *b"000")];
    steps.extend(pulses(40 * MS, 20, MS, 250_000_000, *b"10"));
    steps.push((59 * MS + 600_000_000, *b"000"));
    assert_eq!(told(&steps, 300 * MS), [from(0, 0), from(40 * MS, 250), from(59 * MS + 600_000_000, 0)]);
}

#[test]
fn pulses_on_a_direction_input_are_measured_too() {
    let mut steps = vec![(0, *b"001")];
    for n in 0..40 {
        steps.push((50 * MS + n * MS, *b"101"));
        steps.push((50 * MS + n * MS + 400_000_000, *b"001"));
    }
    let all = told(&steps, 400 * MS);
    assert_eq!(all.get(..2), Some(&[from(0, 0), from(50 * MS, 400)][..]));
}

/// Whatever comes: nothing told lies before what was called decided, and times ascend.
#[test]
fn what_was_decided_stays() {
    let mut seed = 12_345_u64;
    let mut chance = |of: u64| {
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (seed >> 33) % of
    };
    let mut bridge = HalfBridge::new(true);
    let (mut at, mut decided, mut last) = (0, 0, 0);
    for _ in 0..200_000 {
        at += [1_000, 40_000_000, 500_000_000, 3 * MS, 40 * MS][chance(5) as usize] * (1 + chance(3) as i64);
        bridge.set(
            chance(3) as usize,
            [Level::Low, Level::High, Level::Low, Level::High, Level::Floating][chance(5) as usize],
        );
        bridge.look(at);
        for told in bridge.told() {
            assert!(told.from >= decided && told.from >= last, "{told:?}, decided to {decided}, last {last}");
            last = told.from;
        }
        let now = bridge.decided_to(at);
        assert!(now >= decided && at - now < 70 * MS, "{now} at {at}");
        decided = now;
    }
}
