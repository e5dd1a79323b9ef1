//! The wheel check as snapshots made by hand, for the pictures.
#![cfg(test)]

use std::sync::Arc;

use super::sample;
use crate::engine::snapshot::Snapshot;
use crate::engine::snapshot::wheel_check::{
    Action, Ask, Check, CheckReport, Diagnosed, DutyLevel, Entry, Heading, MeanTurn, Next, Order, Proof, Remark, Seen,
    Sheet, Skip, Slide, Test, Watched,
};
use crate::rover::wheels::Wheel;

const SEEN: [Seen; 4] = [Seen::Forward, Seen::Forward, Seen::Forward, Seen::Backward];

fn heading() -> Heading {
    Heading {
        tape: true,
        rover: "Moonwagon".to_owned(),
        version: "1.0".to_owned(),
        firmware: "2.1".to_owned(),
        change: String::new(),
    }
}

fn report() -> CheckReport {
    let said = vec![Entry { at: 1, remark: Remark::Wheels(Order::Row(0), DutyLevel::Low, SEEN) }];
    let mut proofs = vec![Proof::Claimed; 11];
    (proofs[0], proofs[10]) = (Proof::Otherwise(SEEN), Proof::Proven([Seen::Still; 4]));
    CheckReport {
        number: 1,
        sheet: Sheet { heading: heading(), said, ..Sheet::default() },
        lines: vec![
            "seen rest: FL still FR still RL still RR still".to_owned(),
            "seen forward at low duty: FL forward FR forward RL forward RR backward".to_owned(),
        ],
        proofs,
        ranking: [
            ("62 %", "RR reversed"),
            ("31 %", "wrong sign for RR in row `forward`"),
            ("5 %", "RR runs backward only"),
            ("2 %", "everything else together"),
        ]
        .map(|(share, words)| [share.to_owned(), words.to_owned()])
        .to_vec(),
        next: Some(Next {
            order: Some((Order::Row(2), DutyLevel::Low, false)),
            says: "wheels off the ground: order `left` at low duty and watch all four".to_owned(),
            why: "it tells most for its effort",
            skip: Skip::LowDuty,
        }),
        left: ["backward", "left", "right"].map(str::to_owned).to_vec(),
        ..CheckReport::default()
    }
}

fn with(ask: Ask, report: Option<CheckReport>) -> Snapshot {
    let corrections =
        vec![MeanTurn { name: "forward", runs: 4, mean: -75, interval: Some([-83, -67]), sign: Some(-1) }];
    let check = Check { heading: heading(), ask, report: report.map(Arc::new), corrections, ..Check::default() };
    Snapshot { check, ..sample::strafe() }
}

fn watched(row: usize, should: [i32; 4], ordered: Option<i32>) -> Watched {
    let (order, duty) = (Order::Row(row), DutyLevel::Low);
    Watched { order, duty, should, floor: false, ordered, asked_for: true, began: 5 }
}

/// Before the first test.
pub fn prepare() -> Snapshot {
    with(Ask::Prepare, None)
}

/// A slide to the left is to be ordered.
pub fn order() -> Snapshot {
    with(Ask::Order(watched(2, [-1, 1, 1, -1], None)), Some(report()))
}

/// It is ordered.
pub fn wheels() -> Snapshot {
    with(Ask::Wheels(watched(2, [-1, 1, 1, -1], Some(31))), Some(report()))
}

/// A diagonal, whose two idle wheels should stay still.
pub fn diagonal() -> Snapshot {
    with(Ask::Wheels(watched(4, [0, 1, 1, 0], Some(31))), Some(CheckReport { hums: true, ..report() }))
}

/// The same on the floor.
pub fn floor() -> Snapshot {
    let watched = Watched { floor: true, ..watched(2, [-1, 1, 1, -1], Some(31)) };
    with(Ask::Floor(watched), Some(report()))
}

/// The rollers.
pub fn rollers() -> Snapshot {
    with(Ask::Rollers, Some(report()))
}

/// Answers that contradict each other.
pub fn outside() -> Snapshot {
    let line = "seen forward at low duty: FL forward FR forward RL forward RR backward".to_owned();
    let doubt = Remark::Doubt(Test::Stand(Order::Row(0), DutyLevel::Low));
    let report = CheckReport { outside: true, doubtful: vec![line], doubt: Some(doubt), ..report() };
    with(Ask::Order(watched(0, [1; 4], None)), Some(report))
}

/// One wheel is found reversed.
pub fn diagnosed() -> Snapshot {
    let found = Diagnosed {
        wrong: "RR reversed".to_owned(),
        share: "over 99 %".to_owned(),
        look_alikes: false,
        first: "Rest the rover, pull the pack's plug, and let the drivers cool.".to_owned(),
        change: "Exchange the two motor leads of RR at Oxpair B M2.".to_owned(),
        warning: "Change one place only. Leads and sign both turned are right again by chance.".to_owned(),
        proof: "On the stand: order a move that drives RR forward, then its opposite.".to_owned(),
        then: "Test again: a second fault may have hidden behind this one.".to_owned(),
        exchange: Some((
            Action::Plugs(Wheel::RL, Wheel::RR),
            "exchange the motor plugs of RL and RR at their drivers".to_owned(),
        )),
        split: String::new(),
        rarer: vec!["wrong sign for RR in row `forward`; rows `left` and `right` exchanged".to_owned()],
        rarer_not_listed: 2,
    };
    let report = CheckReport { diagnosed: Some(found), ..report() };
    with(Ask::Order(watched(2, [-1, 1, 1, -1], None)), Some(report))
}

fn slide() -> Next {
    Next {
        order: Some((Order::Row(2), DutyLevel::Low, true)),
        says: "on the floor: order `left` at low duty, for a second".to_owned(),
        why: "the stand cannot show how the rollers grip; one slide does",
        skip: Skip::Floor,
    }
}

/// Accepted, and its slide on the floor went as meant.
pub fn slid() -> Snapshot {
    let accepted = accepted();
    let report = accepted.check.report.as_deref().cloned().unwrap_or_default();
    with(Ask::Nothing, Some(CheckReport { slide: Slide::AsMeant, next: None, ..report }))
}

/// Nothing more to test with, after something was left out.
pub fn nothing_left() -> Snapshot {
    let left_out = vec!["the look at the rollers".to_owned(), "`left`".to_owned()];
    with(Ask::Nothing, Some(CheckReport { left_out, next: None, ..report() }))
}

/// Nothing is wrong and every move was seen.
pub fn accepted() -> Snapshot {
    let found = Diagnosed { share: "over 99 %".to_owned(), ..Diagnosed::default() };
    let ranking = vec![["over 99 %".to_owned(), "nothing wrong".to_owned()]];
    let report = CheckReport {
        diagnosed: Some(found),
        accepted: true,
        next: Some(slide()),
        left: Vec::new(),
        ranking,
        ..report()
    };
    with(Ask::Nothing, Some(report))
}

/// All of them.
pub fn all() -> Vec<(&'static str, Snapshot)> {
    vec![
        ("prepare", prepare()),
        ("order", order()),
        ("wheels", wheels()),
        ("diagonal", diagonal()),
        ("floor", floor()),
        ("rollers", rollers()),
        ("outside", outside()),
        ("diagnosed", diagnosed()),
        ("accepted", accepted()),
        ("slid", slid()),
        ("nothing_left", nothing_left()),
    ]
}
