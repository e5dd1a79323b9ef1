//! A diagnosis in words and as JSON: what is likeliest, the next test, the repair.

use serde_json::{Value as Json, json};

use crate::diagnosis::Diagnosis;
use crate::diagnosis::class::Class;
use crate::diagnosis::fault;
use crate::diagnosis::move_table::Moves;
use crate::diagnosis::proposal::Proposal;
use crate::diagnosis::repair::Repair;
use crate::diagnosis::test::Available;
pub use crate::diagnosis::words::{class_words, proposal_words, test_words, why_words};

/// How many classes are shown.
pub const SHOWN: usize = 5;

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
