//! Asking at a plain terminal: one test at a time, answered in a few letters, each answer can be taken back.

use std::io::{self, BufRead};

use super::{doubts, in_words, ranking, repair};
use crate::diagnosis::Diagnosis;
use crate::diagnosis::action::Action;
use crate::diagnosis::body::{Turn, Way};
use crate::diagnosis::observation::{Observation, ObservationId};
use crate::diagnosis::proposal::Proposal;
use crate::diagnosis::rollers::Rollers;
use crate::diagnosis::test::{Available, Test};
use crate::report::diagnosis::{proposal_words, why_words};
use crate::report::observations::{WENT, went_ways};
use crate::rover::wheels::Wheel;
use crate::run::headless::Out;
use crate::run::{Failure, Outcome};

/// What is said when every wheel hums: no lead or row does that to all four.
const HUMS: &str = "CAUTION: stop the order now; a motor that hums and stands still gets hot, and its driver too. All four \
    hum: the orders arrive, but the duty or the supply is too low to start them, or the wheels are blocked. Put that \
    right first, then answer this again; `skip` goes on without.";

/// Whether all four wheels hum.
fn hums(words: &str, test: Test) -> bool {
    let letters: String = words.split_whitespace().collect();
    matches!(test, Test::Stand(..)) && letters == "hhhh"
}

/// What is said at the beginning.
const BEGIN: [&str; 6] = [
    "This finds which lead, plug, wheel, roller or row is wrong, from what you see. It drives nothing: you do.",
    "CAUTION: wheels off the ground, fingers and sleeves clear, one hand at the pack plug. Unplug the pack before you",
    "touch any terminal. A swollen or hot pack goes out of the building. Local codes come first.",
    "Left and right are the rover's own, seen from above with its nose away from you. A wheel turns forward when the",
    "top of its tyre moves towards the nose.",
    "At any question: `undo` takes the last answer or skip back, `list` shows what fits, `skip` asks something else, `quit` ends.",
];

/// Asks until the person has seen enough.
pub fn run(mut diagnosis: Diagnosis, available: Available, out: &mut Out) -> Result<Outcome, Failure> {
    for line in BEGIN {
        out.line(line)?;
    }
    let mut steps: Vec<Step> = Vec::new();
    let mut lines = io::stdin().lock().lines();
    let mut told = false;
    while let Some(next) = next(&diagnosis, available, &skipped(&steps)) {
        out.line("")?;
        say(&next, &diagnosis, out)?;
        if !out.flush()? {
            break;
        }
        let Some(answer) = lines.next().transpose().map_err(|error| unreadable(&error))? else { break };
        match answer.trim() {
            "quit" => break,
            "list" => ranking(&diagnosis, out)?,
            "skip" => steps.push(Step::Skipped(next.test)),
            "undo" => {
                out.line(undo(&mut diagnosis, steps.pop()))?;
            }
            words if hums(words, next.test) => {
                out.line(HUMS)?;
            }
            words => match understood(words, next.test) {
                Ok(seen) => {
                    if let Some(action) = next.exchange {
                        diagnosis.exchange(action);
                    }
                    match diagnosis.observe(seen) {
                        Ok(id) => steps.push(Step::Answered(id, next.exchange)),
                        Err(fault) => {
                            out.line(&fault.to_string())?;
                        }
                    }
                    ranking(&diagnosis, out)?;
                    doubts(&diagnosis, out)?;
                    told = diagnosed(&diagnosis, told, out)?;
                }
                Err(why) => {
                    out.line(&why)?;
                }
            },
        }
    }
    out.line("")?;
    in_words(&diagnosis, available, out)?;
    out.flush()?;
    Ok(Outcome::Fine)
}

/// One step of the person, to be taken back.
#[derive(Clone, Copy, Debug)]
enum Step {
    /// An answer, and the exchange that was made for it.
    Answered(ObservationId, Option<Action>),
    /// A test left out.
    Skipped(Test),
}

fn skipped(steps: &[Step]) -> Vec<Test> {
    steps.iter().filter_map(|step| if let Step::Skipped(test) = step { Some(*test) } else { None }).collect()
}

/// Takes a step back; what to say of it.
fn undo(diagnosis: &mut Diagnosis, step: Option<Step>) -> &'static str {
    match step {
        None => "There is no answer to take back.",
        Some(Step::Skipped(_)) => "Taken back: it will be asked again.",
        Some(Step::Answered(id, exchange)) => {
            diagnosis.take_back(id);
            let Some(action) = exchange else { return "Taken back." };
            // The same exchange once more is none.
            diagnosis.exchange(action);
            "Taken back. What was exchanged for it counts as put back: put it back now, pack unplugged."
        }
    }
}

fn unreadable(error: &io::Error) -> Failure {
    Failure::device(format!("the answer cannot be read ({error})."))
}

/// The next test that the person has not skipped.
fn next(diagnosis: &Diagnosis, available: Available, skipped: &[Test]) -> Option<Proposal> {
    if let Some(again) = diagnosis.again().filter(|again| !skipped.contains(&again.test)) {
        return Some(again);
    }
    let next = diagnosis.next_test(&available)?;
    if !skipped.contains(&next.test) {
        return Some(next);
    }
    // What was skipped is left out by kind: tape, look, floor; a row on the stand is asked on the floor instead.
    let without = Available {
        tape: available.tape && !skipped.contains(&Test::Tape),
        look: available.look && !skipped.contains(&Test::Look),
        floor: available.floor && !skipped.iter().any(|test| matches!(test, Test::Floor(..))),
        stand: available.stand && !skipped.iter().any(|test| matches!(test, Test::Stand(..))),
        ..available
    };
    diagnosis.next_test(&without).filter(|next| !skipped.contains(&next.test))
}

/// Says once that the diagnosis is made, with its repair.
fn diagnosed(diagnosis: &Diagnosis, told: bool, out: &mut Out) -> Result<bool, Failure> {
    let finish = diagnosis.finished();
    if !finish.diagnosed || finish.outside_the_model.is_some() {
        return Ok(false);
    }
    if !told {
        out.line("")?;
        out.line("Diagnosed:")?;
        repair(diagnosis, out)?;
        out.line("Go on to see every move once (then the rover is accepted), or `quit`.")?;
    }
    Ok(true)
}

fn say(next: &Proposal, diagnosis: &Diagnosis, out: &mut Out) -> Result<(), Failure> {
    let words = proposal_words(next, &diagnosis.space().moves);
    out.line(&format!("Now: {words} ({}).", why_words(next.why)))?;
    let how = match next.test {
        Test::Tape => "Answer `done`.",
        Test::Look => "Answer four letters for FL FR RL RR: x as drawn, o other hand. Drawn is an X seen from above.",
        Test::Stand(..) => {
            "Answer four letters for FL FR RL RR: f forward, b backward, s still, h hums, - not looked. Such as: f f b f"
        }
        Test::Floor(..) => {
            "Answer where it went and whether it turned, seen from above: forward, backward, left, right, forward-left, \
             ..., none; then cw, ccw or no. Such as: forward-left ccw"
        }
        Test::Correction => {
            "Answer two words: your steering while driving forward, and while sliding left: cw, ccw, no or -."
        }
    };
    out.line(how)?;
    Ok(())
}

/// The person's words as an observation; the error says what was due.
fn understood(words: &str, test: Test) -> Result<Observation, String> {
    let letters: Vec<char> = words.chars().filter(|letter| !letter.is_whitespace()).collect();
    match test {
        Test::Tape if words == "done" => Ok(Observation::Tape),
        Test::Tape => Err("Answer `done` when the tape is on, or `skip`.".to_owned()),
        Test::Look => {
            let four = four(&letters, |letter| match letter {
                'x' => Some(false),
                'o' => Some(true),
                _ => None,
            });
            let wrong = four.ok_or("Four letters are due, x or o, such as: x x x x")?;
            let corners: Vec<Wheel> = Wheel::ALL.into_iter().filter(|wheel| wrong[wheel.index()]).collect();
            Ok(Observation::Look(Rollers::wrong_at(&corners)))
        }
        Test::Stand(order, duty) => {
            let seen = four(&letters, |letter| match letter {
                'f' => Some(Some(1)),
                'b' => Some(Some(-1)),
                's' | 'h' => Some(Some(0)),
                '-' => Some(None),
                _ => None,
            });
            let seen = seen.ok_or("Four letters are due, f b s h or -, such as: f f b f")?;
            Ok(Observation::Stand(order, duty, seen))
        }
        Test::Floor(row, duty) => {
            let (way, turn) = words.split_once(char::is_whitespace).ok_or("Two words are due, such as: left no")?;
            Ok(Observation::Floor(row, duty, went(way)?, turned(turn.trim())?))
        }
        Test::Correction => {
            let (ahead, left) = words.split_once(char::is_whitespace).ok_or("Two words are due, such as: cw ccw")?;
            Ok(Observation::Correction(turned(ahead)?, turned(left.trim())?))
        }
    }
}

fn four<T: Copy>(letters: &[char], each: impl Fn(char) -> Option<T>) -> Option<[T; 4]> {
    let [a, b, c, d] = letters else { return None };
    Some([each(*a)?, each(*b)?, each(*c)?, each(*d)?])
}

fn went(word: &str) -> Result<Option<Way>, String> {
    let place = WENT.iter().position(|known| *known == word || (word == "-" && *known == "not-looked"));
    let ways = went_ways();
    place
        .and_then(|place| ways.get(place).copied())
        .ok_or_else(|| format!("`{word}` is not known here; allowed: {}", WENT.join(", ")))
}

fn turned(word: &str) -> Result<Option<Turn>, String> {
    match word {
        "cw" => Ok(Some(Turn::Clockwise)),
        "ccw" => Ok(Some(Turn::CounterClockwise)),
        "no" => Ok(Some(Turn::None)),
        "-" => Ok(None),
        _ => Err(format!("`{word}` is not known here; allowed: cw, ccw, no, -")),
    }
}
