//! Tests, exchanges and classes in words for a person.

use crate::diagnosis::action::Action;
use crate::diagnosis::class::{Class, Member};
use crate::diagnosis::fault;
use crate::diagnosis::hypothesis::Hypothesis;
use crate::diagnosis::move_table::Moves;
use crate::diagnosis::proposal::{Proposal, Why};
use crate::diagnosis::test::{Order, Test};

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
        Test::Stand(Order::Row(row), _) if moves.signs(row) == [0; 4] => {
            format!("wheels off the ground: order `{}` and watch all four; none may turn", moves.name(row))
        }
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
    let test = test_words(proposal.test, moves);
    match proposal.exchange {
        Some(action) => {
            format!("rest, pull the pack's plug, {}, plug the pack in; then {test}", exchange_words(action))
        }
        None => test,
    }
}

/// Why a test is proposed, in words.
pub fn why_words(why: Why) -> &'static str {
    match why {
        Why::NamesFirst => "so that left, right, front and rear mean the same to all of us",
        Why::RestFirst => "a wheel that runs at rest is a danger; that comes first",
        Why::TellsMost => "it tells most for its effort",
        Why::RowNotSeen => "each move has to be seen once before the rover is accepted",
        Why::DoesNotFit => "your answer to it does not fit the others; look once more",
        Why::ProofOnTheFloor => "the stand cannot show how the rollers grip; one slide does",
    }
}

/// What a class says is wrong, likeliest member first. The side of the driver is left out: exchanging two plugs tells
/// it, and the repair says so. Members far less likely than the first are told by [`rarer_words`].
pub fn class_words(class: &Class, moves: &Moves) -> String {
    let listed = members(class).map(|member| member.probability).sum::<f64>();
    let rest = ((1.0 - listed / class.probability.max(f64::MIN_POSITIVE)) * 100.0).round();
    let words = likely(class, moves).join(", or ");
    // What the tests left out cannot tell apart is not what stands first.
    if rest >= 1.0 { format!("{words}, or ({rest} %) something rarer that looks the same") } else { words }
}

/// The likely members of a class.
fn members(class: &Class) -> impl Iterator<Item = &Member> {
    class.members.iter().filter(|one| one.probability >= class.probability / 20.0)
}

/// So much less likely than its class, a member is ruled out by answers already given: a second fault beside the first is
/// some hundred times less likely by the table of guesses, one that an answer contradicts some ten thousand times.
const RULED_OUT: f64 = 1e-5;

/// Members of a class that are far less likely than the first and look the same, each once, likeliest first; only
/// those listed in the class.
pub fn rarer_words(class: &Class, moves: &Moves) -> Vec<String> {
    let likely = likely(class, moves);
    let mut said: Vec<String> = Vec::new();
    // What the answers rule out is not what looks the same, though the tests left would not tell it apart.
    for member in class.members.iter().filter(|one| one.probability >= class.probability * RULED_OUT) {
        let words = without_side(&fault::words(&member.hypothesis, moves));
        if !likely.contains(&words) && !said.contains(&words) {
            said.push(words);
        }
    }
    said
}

/// Whether a class has members that are put right in different places and are not far less likely than the first.
pub fn has_look_alikes(class: &Class, moves: &Moves) -> bool {
    likely(class, moves).len() > 1
}

/// The likely members in words, each once.
fn likely(class: &Class, moves: &Moves) -> Vec<String> {
    likely_words(class, |hypothesis| without_side(&fault::words(hypothesis, moves)))
}

/// The likely members of a class in these words, each once, likeliest first.
pub fn likely_words(class: &Class, words: impl Fn(&Hypothesis) -> String) -> Vec<String> {
    let mut said: Vec<String> = Vec::new();
    for member in members(class) {
        let words = words(&member.hypothesis);
        if !said.contains(&words) {
            said.push(words);
        }
    }
    said
}

fn without_side(words: &str) -> String {
    words.replace(", on the motor's side of the driver", "").replace(", on the driver's side", "")
}
