//! One remark of a wheel sheet as a line of text, and back. The form stands at the top of the file above.

use super::{Heading, Remark, Seen, Skip};
use crate::diagnosis::action::Action;
use crate::diagnosis::body::{Turn, Way};
use crate::diagnosis::move_table::Moves;
use crate::diagnosis::rollers::Rollers;
use crate::diagnosis::test::{Order, Spin, Test};
use crate::diagnosis::wheel_state::DutyLevel;
use crate::rover::wheels::Wheel;

/// What every remark begins with.
const BEGINS: &str = "seen ";
const ON_THE_FLOOR: &str = " on the floor";
/// Subjects that are no move.
const SUBJECTS: [&str; 7] = ["sheet", "rollers", "correction", "exchange", "skip", "doubt", "undo"];

const SPINS: [(&str, Spin); 2] = [("forward", Spin::Forward), ("backward", Spin::Backward)];
const TURNS: [(&str, Option<Turn>); 4] = [
    ("clockwise", Some(Turn::Clockwise)),
    ("counter-clockwise", Some(Turn::CounterClockwise)),
    ("none", Some(Turn::None)),
    ("not-looked", None),
];
const HANDS: [(&str, bool); 2] = [("as-drawn", false), ("other-hand", true)];
const SKIPS: [(&str, Skip); 9] = [
    ("tape", Skip::Tape),
    ("rollers", Skip::Rollers),
    ("floor", Skip::Floor),
    ("stand", Skip::Stand),
    ("one-wheel", Skip::OneWheel),
    ("low-duty", Skip::LowDuty),
    ("high-duty", Skip::HighDuty),
    ("exchange", Skip::Exchange),
    ("nothing", Skip::Nothing),
];

/// Where a rover went, each way with its word.
const WENT: [(&str, Option<Way>); 10] = [
    ("forward", Some(way(1, 0))),
    ("backward", Some(way(-1, 0))),
    ("left", Some(way(0, 1))),
    ("right", Some(way(0, -1))),
    ("forward-left", Some(way(1, 1))),
    ("forward-right", Some(way(1, -1))),
    ("backward-left", Some(way(-1, 1))),
    ("backward-right", Some(way(-1, -1))),
    ("none", Some(way(0, 0))),
    ("not-looked", None),
];

const fn way(ahead: i32, left: i32) -> Way {
    Way { ahead, left }
}

/// The remark as the text of a note. Reading it back gives the same remark.
pub fn write(remark: &Remark, moves: &Moves) -> String {
    let said = match remark {
        Remark::Begin(heading) => begin(heading),
        Remark::Wheels(order, duty, seen) => {
            let test = Test::Stand(*order, *duty);
            format!("{}: {}", subject(test, moves), each(|wheel| seen[wheel.index()].word()))
        }
        Remark::Floor(row, duty, went, turned) => {
            let test = Test::Floor(*row, *duty);
            format!("{}: went {} turned {}", subject(test, moves), word_of(&WENT, went), word_of(&TURNS, turned))
        }
        Remark::Rollers(rollers) => {
            format!("rollers: {}", each(|wheel| word_of(&HANDS, &rollers.is_wrong(wheel))))
        }
        Remark::Correction(ahead, left) => {
            format!("correction: forward {} left {}", word_of(&TURNS, ahead), word_of(&TURNS, left))
        }
        Remark::Exchange(Action::Leads(wheel)) => format!("exchange: leads {}", wheel.name()),
        Remark::Exchange(Action::Plugs(a, b)) => format!("exchange: plugs {} {}", a.name(), b.name()),
        Remark::Exchange(Action::Wheels(a, b)) => format!("exchange: wheels {} {}", a.name(), b.name()),
        Remark::Skip(Skip::Row(row)) => format!("skip: row {}", moves.code(*row)),
        Remark::Skip(skip) => format!("skip: {}", word_of(&SKIPS, skip)),
        Remark::Doubt(test) => format!("doubt: {}", subject(*test, moves)),
        Remark::Undo => "undo: last".to_owned(),
    };
    format!("{BEGINS}{said}")
}

fn begin(heading: &Heading) -> String {
    let quoted = |text: &str| format!("\"{}\"", text.replace('"', "'"));
    format!(
        "sheet: tape {}, rover {}, version {}, firmware {}, change {}",
        if heading.tape { "yes" } else { "no" },
        quoted(&heading.rover),
        quoted(&heading.version),
        quoted(&heading.firmware),
        quoted(&heading.change)
    )
}

/// What stands before the colon of a test's line. A rest has no duty.
fn subject(test: Test, moves: &Moves) -> String {
    match test {
        Test::Tape => "sheet".to_owned(),
        Test::Look => "rollers".to_owned(),
        Test::Correction => "correction".to_owned(),
        Test::Stand(Order::Row(row), _) if rests(row, moves) => moves.code(row).to_owned(),
        Test::Stand(order, duty) => format!("{} at {}", order_text(order, moves), duty.words()),
        Test::Floor(row, duty) => format!("{} at {}{ON_THE_FLOOR}", moves.code(row), duty.words()),
    }
}

/// Whether this row rests all wheels, under a code that is no other subject of the sheet.
fn rests(row: usize, moves: &Moves) -> bool {
    moves.signs(row) == [0; 4] && !SUBJECTS.contains(&moves.code(row))
}

fn order_text(order: Order, moves: &Moves) -> String {
    match order {
        Order::Row(row) => moves.code(row).to_owned(),
        Order::OneWheel(wheel, spin) => format!("{} alone {}", wheel.name(), word_of(&SPINS, &spin)),
    }
}

fn each(word: impl Fn(Wheel) -> &'static str) -> String {
    Wheel::ALL.map(|wheel| format!("{} {}", wheel.name(), word(wheel))).join(" ")
}

fn word_of<T: PartialEq>(words: &[(&'static str, T)], wanted: &T) -> &'static str {
    words.iter().find(|(_, value)| value == wanted).map_or("", |(word, _)| word)
}

/// The remark in a note; `None` for a note of another kind. The error says what was found and what is allowed.
pub fn read(text: &str, moves: &Moves) -> Option<Result<Remark, String>> {
    let said = text.strip_prefix(BEGINS)?;
    // A code may hold a colon itself, the answer's first word tells where it ends.
    let end = [": FL ", ": went "].iter().find_map(|begin| said.find(begin)).or_else(|| said.find(": "))?;
    let (head, answer) = (said.get(..end)?, said.get(end + 2..)?);
    Some(remark(head, answer, moves))
}

fn remark(head: &str, answer: &str, moves: &Moves) -> Result<Remark, String> {
    match head {
        "sheet" => heading(answer).map(Remark::Begin),
        "rollers" => rollers(answer).map(Remark::Rollers),
        "correction" => {
            let [ahead, left] = pairs(answer, ["forward", "left"])?;
            Ok(Remark::Correction(known(&TURNS, ahead)?, known(&TURNS, left)?))
        }
        "exchange" => exchange(answer).map(Remark::Exchange),
        "skip" => skip(answer, moves).map(Remark::Skip),
        "doubt" => doubted(answer, moves).map(Remark::Doubt),
        "undo" if answer == "last" => Ok(Remark::Undo),
        _ => watched(head, answer, moves),
    }
}

fn doubted(answer: &str, moves: &Moves) -> Result<Test, String> {
    match answer {
        "rollers" => Ok(Test::Look),
        "correction" => Ok(Test::Correction),
        _ => match move_named(answer, moves)? {
            (Order::Row(row), duty, true) => Ok(Test::Floor(row, duty)),
            (order, duty, _) => Ok(Test::Stand(order, duty)),
        },
    }
}

/// What was ordered, at which duty, and whether on the floor.
fn move_named(head: &str, moves: &Moves) -> Result<(Order, DutyLevel, bool), String> {
    let (order, floor) = head.strip_suffix(ON_THE_FLOOR).map_or((head, false), |order| (order, true));
    let level = |duty: DutyLevel| Some((order.strip_suffix(duty.words())?.strip_suffix(" at ")?, duty));
    let rest = || moves.row_named(head).filter(|row| rests(*row, moves)).map(|_| (head, DutyLevel::High));
    let found = DutyLevel::ALL.into_iter().find_map(level).or_else(rest);
    let (order, duty) = found.ok_or_else(|| {
        format!("`{head}` is no subject of the wheel sheet; allowed: a rest, another move `at low duty` or `at high duty`, sheet, rollers, correction, exchange, skip, doubt, undo")
    })?;
    let order = if floor { Order::Row(row(order, moves)?) } else { order_named(order, moves)? };
    Ok((order, duty, floor))
}

/// A move watched on the stand or on the floor.
fn watched(head: &str, answer: &str, moves: &Moves) -> Result<Remark, String> {
    let (order, duty, floor) = move_named(head, moves)?;
    if let (Order::Row(row), true) = (order, floor) {
        let [went, turned] = pairs(answer, ["went", "turned"])?;
        return Ok(Remark::Floor(row, duty, known(&WENT, went)?, known(&TURNS, turned)?));
    }
    let seen = wheels(answer)?.map(|word| known(&Seen::WORDS, word));
    let [fl, fr, rl, rr] = seen;
    Ok(Remark::Wheels(order, duty, [fl?, fr?, rl?, rr?]))
}

fn order_named(text: &str, moves: &Moves) -> Result<Order, String> {
    let alone = text.split_once(" alone ").and_then(|(wheel, spin)| {
        let spin = SPINS.iter().find(|(word, _)| *word == spin)?.1;
        Some(Order::OneWheel(wheel_named(wheel)?, spin))
    });
    alone.map_or_else(|| row(text, moves).map(Order::Row), Ok)
}

fn row(word: &str, moves: &Moves) -> Result<usize, String> {
    moves.row_named(word).ok_or_else(|| {
        let known: Vec<&str> = (0..moves.count()).map(|row| moves.code(row)).collect();
        format!("the move table has no `{word}`; known: {}", known.join(", "))
    })
}

fn wheel_named(word: &str) -> Option<Wheel> {
    Wheel::ALL.into_iter().find(|wheel| wheel.name() == word)
}

fn known<T: Copy>(words: &[(&str, T)], word: &str) -> Result<T, String> {
    words.iter().find(|(known, _)| *known == word).map(|(_, value)| *value).ok_or_else(|| {
        let all: Vec<&str> = words.iter().map(|(known, _)| *known).collect();
        format!("`{word}` is not known here; allowed: {}", all.join(", "))
    })
}

/// The words after these names, each name followed by one word.
fn pairs<'a, const N: usize>(answer: &'a str, names: [&str; N]) -> Result<[&'a str; N], String> {
    let words: Vec<&str> = answer.split_whitespace().collect();
    let fits = words.len() == 2 * N && names.iter().enumerate().all(|(place, name)| words.get(2 * place) == Some(name));
    if !fits {
        return Err(format!("`{answer}` stands where `{} ...` is due", names.join(" ... ")));
    }
    Ok(std::array::from_fn(|place| words.get(2 * place + 1).copied().unwrap_or_default()))
}

fn wheels(answer: &str) -> Result<[&str; 4], String> {
    pairs(answer, Wheel::ALL.map(Wheel::name))
}

fn rollers(answer: &str) -> Result<Rollers, String> {
    let mut wrong = Vec::new();
    for (wheel, word) in Wheel::ALL.into_iter().zip(wheels(answer)?) {
        if known(&HANDS, word)? {
            wrong.push(wheel);
        }
    }
    Ok(Rollers::wrong_at(&wrong))
}

fn exchange(answer: &str) -> Result<Action, String> {
    let mut words = answer.split_whitespace();
    let what = words.next();
    let named: Option<Vec<Wheel>> = words.map(wheel_named).collect();
    match (what, named.as_deref()) {
        (Some("leads"), Some([one])) => Ok(Action::Leads(*one)),
        (Some("plugs"), Some([one, other])) if one < other => Ok(Action::Plugs(*one, *other)),
        (Some("wheels"), Some([one, other])) if one < other => Ok(Action::Wheels(*one, *other)),
        _ => Err(format!(
            "`{answer}` is no exchange; allowed: `leads` with one wheel, `plugs` or `wheels` with two in the order FL FR \
             RL RR"
        )),
    }
}

fn skip(answer: &str, moves: &Moves) -> Result<Skip, String> {
    match answer.strip_prefix("row ") {
        Some(code) => row(code, moves).map(Skip::Row),
        None => known(&SKIPS, answer),
    }
}

fn heading(answer: &str) -> Result<Heading, String> {
    let parts: Vec<&str> = answer.split('"').collect();
    let [tape, rover, ", version ", version, ", firmware ", firmware, ", change ", change, ""] = parts[..] else {
        return Err(format!("`{answer}` does not name tape, rover, version, firmware and change in quotes"));
    };
    let tape = match tape {
        "tape yes, rover " => true,
        "tape no, rover " => false,
        _ => return Err(format!("`{tape}` stands where `tape yes, rover` or `tape no, rover` is due")),
    };
    let [rover, version, firmware, change] = [rover, version, firmware, change].map(str::to_owned);
    Ok(Heading { tape, rover, version, firmware, change })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use proptest::prelude::*;

    /// One remark of every sort, written out by hand from the form's description.
    #[test]
    fn every_sort_of_line() {
        use Seen::{Backward, Forward, Hums, NotLooked, Still};
        let moves = Moves::default();
        let heading = Heading { tape: true, rover: "Moonwagon, plain line".into(), ..Heading::default() };
        let all = [
            (
                "seen sheet: tape yes, rover \"Moonwagon, plain line\", version \"\", firmware \"\", change \"\"",
                Remark::Begin(heading),
            ),
            (
                "seen forward at low duty: FL forward FR backward RL hums RR not-looked",
                Remark::Wheels(Order::Row(0), DutyLevel::Low, [Forward, Backward, Hums, NotLooked]),
            ),
            (
                "seen RL alone backward at high duty: FL still FR still RL backward RR still",
                Remark::Wheels(
                    Order::OneWheel(Wheel::RL, Spin::Backward),
                    DutyLevel::High,
                    [Still, Still, Backward, Still],
                ),
            ),
            (
                "seen left at high duty on the floor: went forward-left turned counter-clockwise",
                Remark::Floor(2, DutyLevel::High, Some(way(1, 1)), Some(Turn::CounterClockwise)),
            ),
            (
                "seen rollers: FL as-drawn FR as-drawn RL as-drawn RR other-hand",
                Remark::Rollers(Rollers::wrong_at(&[Wheel::RR])),
            ),
            ("seen correction: forward clockwise left not-looked", Remark::Correction(Some(Turn::Clockwise), None)),
            ("seen exchange: plugs FL RR", Remark::Exchange(Action::Plugs(Wheel::FL, Wheel::RR))),
            ("seen exchange: leads RL", Remark::Exchange(Action::Leads(Wheel::RL))),
            ("seen skip: low-duty", Remark::Skip(Skip::LowDuty)),
            ("seen skip: row turn-left", Remark::Skip(Skip::Row(8))),
            ("seen skip: nothing", Remark::Skip(Skip::Nothing)),
            ("seen doubt: left at low duty on the floor", Remark::Doubt(Test::Floor(2, DutyLevel::Low))),
            (
                "seen doubt: RL alone backward at high duty",
                Remark::Doubt(Test::Stand(Order::OneWheel(Wheel::RL, Spin::Backward), DutyLevel::High)),
            ),
            ("seen doubt: rest", Remark::Doubt(Test::Stand(Order::Row(10), DutyLevel::High))),
            ("seen doubt: rollers", Remark::Doubt(Test::Look)),
            (
                "seen rest: FL still FR still RL hums RR still",
                Remark::Wheels(Order::Row(10), DutyLevel::High, [Still, Still, Hums, Still]),
            ),
            ("seen undo: last", Remark::Undo),
        ];
        for (text, remark) in all {
            assert_eq!(write(&remark, &moves), text);
            assert_eq!(read(text, &moves), Some(Ok(remark)), "{text}");
        }
    }

    #[test]
    fn other_notes_are_left_alone_and_broken_lines_say_why() {
        let moves = Moves::default();
        for other in ["seen it wobble", "the front left hums", "", "Seen rest: x"] {
            assert_eq!(read(other, &moves), None, "{other}");
        }
        let broken = [
            ("seen up at low duty: FL still FR still RL still RR still", "known: forward"),
            ("seen forward: FL still FR still RL still RR still", "at low duty"),
            ("seen forward at low duty: FL fast FR still RL still RR still", "allowed: forward, backward"),
            ("seen forward at low duty: FL still FR still RL still", "FL ... FR ... RL ... RR"),
            ("seen exchange: plugs RR FL", "in the order"),
            ("seen skip: lunch", "allowed: tape"),
            ("seen sheet: tape yes", "in quotes"),
        ];
        for (text, why) in broken {
            let said = read(text, &moves).unwrap().unwrap_err();
            assert!(said.contains(why), "{text}: {said}");
        }
    }

    proptest! {
        #[test]
        fn a_heading_comes_back_and_no_note_breaks_the_reader(name in "[^\"\n]{0,40}", any in any::<String>()) {
            let moves = Moves::default();
            let heading = Heading { rover: name.clone(), change: name, ..Heading::default() };
            let text = write(&Remark::Begin(heading.clone()), &moves);
            prop_assert_eq!(read(&text, &moves), Some(Ok(Remark::Begin(heading))));
            drop(read(&format!("seen {any}"), &moves));
        }
    }
}
