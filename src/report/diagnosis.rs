//! A diagnosis in words and as JSON: what is likeliest, the next test, the repair.

use serde_json::{Value as Json, json};

use crate::diagnosis::Diagnosis;
use crate::diagnosis::action::Action;
use crate::diagnosis::class::Class;
use crate::diagnosis::fault;
use crate::diagnosis::move_table::Moves;
use crate::diagnosis::proposal::{Proposal, Why};
use crate::diagnosis::repair::Repair;
use crate::diagnosis::test::{Available, Test};

/// How many classes are shown.
pub const SHOWN: usize = 5;

/// An exchange in words.
pub fn exchange_words(action: Action) -> String {
    match action {
        Action::Leads(wheel) => format!("exchange the two leads of the {} motor", wheel.name()),
        Action::Plugs(a, b) => format!("exchange the motor plugs of {} and {} at their drivers", a.name(), b.name()),
        Action::Wheels(a, b) => format!("exchange the wheels at {} and {}", a.name(), b.name()),
    }
}

/// A test in words, as an instruction.
pub fn test_words(test: Test, moves: &Moves) -> String {
    match test {
        Test::Tape => "put a strip of tape on the rover's nose and one on its front left wheel".to_owned(),
        Test::Look => "look at the rollers from above, the rover at rest and its pack unplugged".to_owned(),
        Test::Stand(order, duty) => {
            format!("wheels off the ground: order {} at {} and watch all four", order.words(moves), duty.words())
        }
        Test::Floor(row, duty) => {
            format!("on the floor: order `{}` at {}, for a second", moves.name(row), duty.words())
        }
        Test::Correction => "drive forward and slide left; which way must you steer against a turn?".to_owned(),
    }
}

/// A proposal in words: the exchange before it, the test, why.
pub fn proposal_words(proposal: &Proposal, moves: &Moves) -> String {
    let exchange = proposal.exchange.map(|action| format!("{}; then ", exchange_words(action))).unwrap_or_default();
    format!("{exchange}{}", test_words(proposal.test, moves))
}

/// Why a test is proposed, in words.
pub fn why_words(why: Why) -> &'static str {
    match why {
        Why::NamesFirst => "so that left, right, front and rear mean the same to all of us",
        Why::RestFirst => "a wheel that runs at rest is a danger; that comes first",
        Why::TellsMost => "it tells most for its effort",
        Why::RowNotSeen => "each move has to be seen once before the rover is accepted",
    }
}

/// What a class says is wrong, likeliest member first. The side of the driver is left out: exchanging two plugs tells
/// it, and the repair says so. Members far less likely than the first are only counted.
pub fn class_words(class: &Class, moves: &Moves) -> String {
    let likely = class.members.iter().filter(|one| one.probability >= class.probability / 20.0);
    let mut said: Vec<String> = Vec::new();
    let mut count = 0;
    for member in likely {
        count += 1;
        let words = without_side(&fault::words(&member.hypothesis, moves));
        if !said.contains(&words) {
            said.push(words);
        }
    }
    let more = class.count.saturating_sub(count);
    let more = match more {
        0 => String::new(),
        1 => " (and one far less likely that looks the same)".to_owned(),
        more => format!(" (and {more} far less likely that look the same)"),
    };
    format!("{}{more}", said.join(", or "))
}

fn without_side(words: &str) -> String {
    words.replace(", on the motor's side of the driver", "").replace(", on the driver's side", "")
}

/// A probability as per cent that never claims certainty.
pub fn share_words(probability: f64) -> String {
    if probability > 0.999 { "over 99.9 %".to_owned() } else { format!("{:.1} %", probability * 100.0) }
}

/// The state of a diagnosis as one JSON object.
pub fn state(diagnosis: &Diagnosis, available: &Available) -> Json {
    let moves = &diagnosis.space().moves;
    let ranked = diagnosis.ranked();
    let classes: Vec<Json> = ranked.iter().take(SHOWN).map(|class| class_json(class, moves)).collect();
    let finish = diagnosis.finished();
    let next = diagnosis.next_test(available);
    let doubtful: Vec<Json> = diagnosis
        .doubtful()
        .iter()
        .map(|doubt| {
            json!({ "observation": place(diagnosis, doubt.id), "misread": doubt.misread, "overruled": doubt.overruled })
        })
        .collect();
    let left: Vec<&str> = finish.rows_left.iter().map(|row| moves.name(*row)).collect();
    json!({
        "kind": "diagnosis",
        "classes": classes,
        "next": next.map(|proposal| proposal_json(&proposal, moves)),
        "repair": ranked.first().map(|class| repair_json(&diagnosis.repair(class), moves)),
        "doubtful": doubtful,
        "outside_the_model": finish.outside_the_model.map(|id| place(diagnosis, id)),
        "diagnosed": finish.diagnosed,
        "accepted": finish.accepted,
        "moves_not_seen": left,
    })
}

/// The place of an observation among those given, from 1.
fn place(diagnosis: &Diagnosis, id: crate::diagnosis::observation::ObservationId) -> Option<usize> {
    diagnosis.evidence().all().iter().position(|kept| kept.id == id).map(|place| place + 1)
}

fn class_json(class: &Class, moves: &Moves) -> Json {
    let member = |one: &crate::diagnosis::class::Member| json!({ "wrong": fault::words(&one.hypothesis, moves), "probability": one.probability });
    json!({
        "probability": class.probability,
        "count": class.count,
        "members": class.members.iter().map(member).collect::<Vec<_>>(),
    })
}

fn proposal_json(proposal: &Proposal, moves: &Moves) -> Json {
    json!({
        "says": proposal_words(proposal, moves),
        "why": why_words(proposal.why),
        "bits": proposal.gain,
        "effort": proposal.cost,
    })
}

fn repair_json(repair: &Repair, moves: &Moves) -> Json {
    json!({
        "wrong": repair.wrong,
        "first": repair.first,
        "change": repair.change,
        "warning": repair.warning,
        "proof": repair.proof,
        "next": repair.next,
        "instead": repair.instead,
        "split": repair.split.as_ref().map(|split| proposal_words(split, moves)),
    })
}
