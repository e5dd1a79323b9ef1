//! Doubts: what was heard and does not fit, said as it is.

use super::format::Format;
use super::learned::{Learned, Rest};
use super::step::Step;
use crate::rover::mecanum::Motion;

/// One doubt.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Doubt {
    /// The step it belongs to; `None` for the link as a whole.
    pub step: Option<Step>,
    /// Whether wheels may turn when they should not.
    pub danger: bool,
    /// What it is and what to do.
    pub says: String,
}

impl Doubt {
    /// With the word that says how bad it is.
    pub fn words(&self) -> String {
        format!("{}: {}", if self.danger { "DANGER" } else { "DOUBT" }, self.says)
    }
}

fn doubt(step: Option<Step>, danger: bool, says: impl Into<String>) -> Doubt {
    Doubt { step, danger, says: says.into() }
}

/// Every doubt. `loose`: bytes that fit nothing, and all bytes.
pub fn all(learned: &Learned, loose: &[u64; 2]) -> Vec<Doubt> {
    let mut doubts: Vec<Doubt> = noise(learned, loose).into_iter().collect();
    for press in &learned.presses {
        let step = Some(Step::Move(press.motion));
        doubts.extend(same_code(learned, press.motion));
        doubts.extend(other_motion(learned, press.motion));
        if !press.several.is_empty() {
            let several = press.several.join("`, `");
            let says = format!(
                "more than one code came for {}: also `{several}`. Type again to repeat it.",
                press.motion.id()
            );
            doubts.push(doubt(step, false, says));
        }
        if press.says.is_some() && press.rested.is_none() {
            let says = format!(
                "no rest was heard after {}. If the rover obeys for ever, it drives on after you let go.",
                press.motion.id()
            );
            doubts.push(doubt(step, true, says));
        }
    }
    doubts
}

/// Words for a step in which nothing at all was heard.
pub fn nothing_heard(step: Step, anything_before: bool) -> &'static [&'static str] {
    if step == Step::StartUp {
        &[
            "Nothing reached this wire.",
            "Check: ground first; adapter receive where the command board's transmit lead ends; the rover powered.",
            "Then press reset once more. Some boards print nothing on this wire: type skip, the buttons will tell.",
        ]
    } else if anything_before {
        &[
            "Nothing reached this wire. Press again; or type skip if this panel has no such button.",
            "A button that sends nothing is handled by the command board alone, or its radio is out.",
        ]
    } else {
        &[
            "Nothing reached this wire.",
            "Check: ground first; adapter receive where the command board's transmit lead ends; the rover powered.",
            "Press the command board's reset: its start-up text should appear here. If it does, the lead is right.",
        ]
    }
}

fn noise(learned: &Learned, loose: &[u64; 2]) -> Option<Doubt> {
    let [bad, all] = *loose;
    if all < 8 {
        return None;
    }
    if matches!(learned.format, Format::Unknown) {
        let says = "bytes come, but no line ends among them and no known check is right. The line rate may be wrong: \
                    type quit and try --rate find. Check ground and the 3.3 V or 5 V level. Is the rate right? Then \
                    orders of this shape (no end mark, or binary of a format that does not ship) cannot be learned: \
                    type quit, then begin a file by hand: wheeltap new FILE --like stave (or bead, ladder, cue-line).";
        return Some(doubt(None, false, says));
    }
    (bad * 5 > all).then(|| {
        let share = bad * 100 / all;
        let says = format!("{share} % of the bytes are noise. Check ground, lead length and the line rate (--rate).");
        doubt(None, false, says)
    })
}

fn same_code(learned: &Learned, motion: Motion) -> Option<Doubt> {
    if learned.rest == Rest::Stated {
        return None;
    }
    let code = learned.press(motion)?.says.as_ref()?;
    let earlier = learned.presses.iter().take_while(|press| press.motion != motion);
    let twin = earlier.into_iter().find(|press| press.says.as_ref() == Some(code))?;
    let says = format!(
        "{} and {} both sent `{code}`. A wrong button, or the sender knows only one of them. Type again to repeat it.",
        twin.motion.id(),
        motion.id()
    );
    Some(doubt(Some(Step::Move(motion)), false, says))
}

/// Where orders state wheels or directions: they must mean the move that was asked for.
fn other_motion(learned: &Learned, motion: Motion) -> Option<Doubt> {
    if learned.rest != Rest::Stated {
        return None;
    }
    let says = learned.press(motion)?.says.as_ref().filter(|says| *says != motion.id())?;
    let says = format!(
        "you were asked for {}, the orders mean {says}. A wrong button, or a sign is turned in the command board.",
        motion.id()
    );
    Some(doubt(Some(Step::Move(motion)), false, says))
}
