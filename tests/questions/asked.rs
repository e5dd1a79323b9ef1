//! The questions, and where their answers stand.

use wheeltap::engine::snapshot::Snapshot;

use crate::scenes;

/// One question.
pub struct Question {
    pub number: u32,
    pub asks: &'static str,
    pub scene: fn() -> Snapshot,
    /// From the overview: at most two.
    pub keys: &'static str,
    /// Where it stands, in words.
    pub place: &'static str,
    /// What stands there.
    pub stands: &'static [&'static str],
    /// It says that something is wrong, so a sound link must not show it.
    pub accuses: bool,
}

const fn fault(
    number: u32,
    asks: &'static str,
    scene: fn() -> Snapshot,
    keys: &'static str,
    place: &'static str,
    stands: &'static [&'static str],
) -> Question {
    Question { number, asks, scene, keys, place, stands, accuses: true }
}

/// Where to look elsewhere: a sound link shows it as well.
const fn elsewhere(number: u32, asks: &'static str, stands: &'static [&'static str]) -> Question {
    Question { accuses: false, ..fault(number, asks, scenes::letter_good, "cb", "asked elsewhere", stands) }
}

pub const QUESTIONS: &[Question] = &[
    fault(1, "Which wheel is wrong?", scenes::reversed, "k", "wheel check", &["RR reversed"]),
    fault(2, "Is it wiring or rollers?", scenes::rollers, "k", "wheel check", &["rollers of the wrong hand"]),
    fault(3, "Are front and rear swapped?", scenes::exchanged, "k", "wheel check", &["plugs exchanged: FL and RL"]),
    // r FL = x - y, r FR = x + y, r RL = x + y, r RR = x - y, times 65 % for gear 2: (30 + 65) * 0.65, (30 - 65) * 0.65.
    fault(4, "What should each wheel do for this order?", scenes::one_order, "", "overview", &["+62 %", "-23 %"]),
    fault(5, "Did the drive board do what the frame said?", scenes::refused, "f", "findings", &["refused", "10"]),
    fault(6, "Why does it go, stop, go?", scenes::evening, "f", "findings", &["sends only"]),
    fault(7, "Is it the radio or my code?", scenes::evening, "f", "findings", &["37", "3"]),
    fault(
        8,
        "Why one second late?",
        scenes::a_second_late,
        "f",
        "findings",
        &["a constant second after the last byte", "with the mark that the"],
    ),
    fault(9, "Why does it replay my old moves?", scenes::growing, "f", "findings", &["further and further behind"]),
    fault(10, "Who reset?", scenes::evening, "f", "findings", &["command board"]),
    fault(11, "Would it stop if the link died now?", scenes::plain_moving, "w", "wheels", &["IT WOULD NOT STOP"]),
    elsewhere(12, "What line rate is this?", &["--rate find"]),
    fault(13, "Is it noise or a wrong setting?", scenes::same_garbage, "f", "findings", &["line rate"]),
    fault(14, "Why is the first order ignored?", scenes::glued, "f", "findings", &["glued"]),
    Question {
        accuses: false,
        ..fault(
            15,
            "Can I trust the late flags?",
            scenes::behind_an_adapter,
            "m",
            "times",
            &["resolution is", "is flagged"],
        )
    },
    elsewhere(16, "Which is the least duty that moves each?", &["step by step"]),
    fault(17, "Why does it pull left when straight?", scenes::evening, "fb", "findings", &["RR: The operator steers"]),
    elsewhere(18, "Does the picture slow the driving?", &["picture", "compare"]),
    fault(19, "Is the pack too low?", scenes::evening, "w", "wheels", &["this pack of"]),
    elsewhere(20, "Is my frame strong enough?", &["--strength"]),
    elsewhere(21, "What changed since it worked?", &["compare BEFORE AFTER"]),
    fault(22, "Does the pin table match the rover?", scenes::reversed, "kv", "wheel sheet", &["backward"]),
    fault(23, "Is it really fixed?", scenes::tries, "m", "times", &["0 bad in 20", "up to 14 %"]),
    elsewhere(24, "Can I drive the bad ten seconds again?", &["sends nothing"]),
    elsewhere(25, "What do I send to the helper?", &["bundle SESSION"]),
];
