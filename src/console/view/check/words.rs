//! What the wheel check says: instructions, prompts, cautions. A newcomer needs no other words than these.

use crate::console::check::{CheckEntry, Part, turn};
use crate::engine::snapshot::wheel_check::{Ask, Check, CheckReport, DutyLevel, Order, Seen, Spin, Watched};
use crate::rover::wheels::Wheel;

/// Without a rover file.
pub const NO_ROVER: [(bool, &str); 3] = [
    (true, "The wheel check needs a rover file: it says what each order means for each wheel."),
    (false, "Make one by pressing buttons: wheeltap teach PORT. Or start from one that ships: wheeltap new FILE."),
    (false, "Then: wheeltap listen PORT --rover FILE"),
];

/// Before the first test.
pub const PREPARE: [(bool, &str); 11] = [
    (
        true,
        "This finds the lead, plug, wheel, roller or row that is wrong, from what you see. It sends nothing: you press \
            the buttons of your panel, look at the wheels, and say here what you saw.",
    ),
    (false, ""),
    (true, "CAUTION, before anything turns:"),
    (false, "1. Prop the rover up: all four wheels off the ground, so that it cannot run away."),
    (false, "2. Fingers, hair, sleeves and leads clear of the wheels. One hand can reach the pack's plug."),
    (
        false,
        "3. Pack: a swollen or hot pack goes out of the building and is not used. Unplug the pack before you touch any \
            terminal. Your local rules come first.",
    ),
    (
        false,
        "4. Stick one strip of tape on the rover's nose (its front) and one on its front left wheel, FL. Stand behind \
            the rover, its nose away from you: left is your left. F is front, R rear, then L left, R right: FL FR RL RR.",
    ),
    (false, "5. Look at a wheel's TOP: when the top of the tyre goes towards the nose, the wheel turns forward."),
    (false, ""),
    (true, "Press Enter when all of that is done. Press x to go on without tape (then left and right are less sure)."),
    (
        false,
        "u takes back whatever you answered last, at any time. n writes a remark of your own. Esc leaves the check.",
    ),
];

/// What to do now.
pub fn instruction(check: &Check, report: &CheckReport) -> String {
    let asked = report.next.as_ref().map(|next| next.says.as_str());
    match &check.ask {
        Ask::Order(watched) => order(check, watched),
        Ask::Wheels(watched) => watch(check, report, watched),
        Ask::Floor(watched) => format!(
            "{}`{}` was ordered on the floor. Seen from above, its nose up on this screen: where did the rover go, and \
             did it turn?",
            if report.accepted { "ACCEPTED stands; now its last proof. " } else { "" },
            name(check, watched.order)
        ),
        Ask::Rollers => {
            "Let the panel rest and pull the pack's plug. Look down on each tyre from above: which way do its \
                         top rollers run? Below: how they should run."
                .to_owned()
        }
        Ask::Mixed => format!(
            "What you ordered is a mix of moves. Let go, then order one plain move.{}",
            asked.map(|asked| format!(" Next: {asked}.")).unwrap_or_default()
        ),
        _ => nothing_more(report),
    }
}

fn nothing_more(report: &CheckReport) -> String {
    let not_seen = match report.left.join(", ") {
        none if none.is_empty() => none,
        moves => format!(" Not seen: {moves}."),
    };
    let left_out = match report.left_out.join(", ") {
        none if none.is_empty() => none,
        tests => format!(" You left out: {tests}. Press b to be asked again."),
    };
    format!("Nothing more to test with what you have.{not_seen}{left_out}")
}

fn order(check: &Check, watched: &Watched) -> String {
    let name = name(check, watched.order);
    let below = check.low_below;
    let speed = match watched.duty {
        DutyLevel::Low => format!("low speed (below {below} %)"),
        DutyLevel::High => format!("high speed ({below} % or more)"),
    };
    if watched.should == [0; 4] {
        return format!("Let go of every button, so that `{name}` is ordered. Then look: does any wheel still turn?");
    }
    if watched.floor {
        return format!(
            "Now on the FLOOR: set the rover down with two metres free all round. Press `{name}` at {speed} for one \
             second, then let go. Watch from behind."
        );
    }
    format!(
        "On the panel: rest first, then press `{name}` at {speed} and watch all four wheels. They should turn like this:"
    )
}

fn watch(check: &Check, report: &CheckReport, watched: &Watched) -> String {
    let name = name(check, watched.order);
    let Some(ordered) = watched.ordered else {
        return format!(
            "`{name}` is ordered, nothing else: no wheel may turn. Look at each wheel and say what it does."
        );
    };
    if watched.asked_for {
        return format!("You ordered `{name}` at {ordered} %. Where did the TOP of each tyre go?");
    }
    let asked = report.next.as_ref().and_then(|next| next.order);
    let asked = asked.map_or_else(
        || "the rollers".to_owned(),
        |(order, duty, _)| format!("`{}` at {}", self::name(check, order), duty.words()),
    );
    format!("You ordered `{name}` at {ordered} %: answer for it all the same. Asked was {asked}; s skips that.")
}

/// The name of an order on this panel.
pub fn name(check: &Check, order: Order) -> String {
    match order {
        Order::Row(row) => check.moves.name(row).to_owned(),
        Order::OneWheel(wheel, Spin::Forward) => format!("{} alone, forward", wheel.name()),
        Order::OneWheel(wheel, Spin::Backward) => format!("{} alone, backward", wheel.name()),
    }
}

/// Which key says what, for the part that is due.
pub fn prompt(check: &Check, parts: &[Part]) -> String {
    let wheel = Wheel::ALL.get(parts.len()).map(|wheel| format!("{}, {}", wheel.name(), wheel.words()));
    match (&check.ask, wheel) {
        (Ask::Wheels(_), Some(wheel)) => {
            format!("{wheel}: 8 top to nose, 2 top to tail, 5 still, 0 hums, x not looked")
        }
        (Ask::Rollers, Some(wheel)) => format!("{wheel}: 1 runs as drawn, 2 runs the other way, s I cannot see them"),
        (Ask::Floor(_), _) if parts.is_empty() => "Where did it go? 1 to 9 as drawn, x not looked".to_owned(),
        (Ask::Floor(_), _) => {
            "Did it turn? 4 nose swung left, 5 did not turn, 6 nose swung right, x not looked".to_owned()
        }
        (Ask::Order(_), _) => "Answer here once it is ordered. s: I cannot order that. u: take back.".to_owned(),
        _ => String::new(),
    }
}

/// The one thing to heed now, and whatever it is about, what to heed all the time.
pub fn caution(entry: &CheckEntry, check: &Check, report: &CheckReport) -> String {
    let floor = matches!(&check.ask, Ask::Floor(_)) || matches!(&check.ask, Ask::Order(watched) if watched.floor);
    if report.hums && entry.says().is_empty() {
        return "CAUTION: a wheel hums and stands still: stop the order now, its motor and driver get hot.".to_owned();
    }
    match now(entry, check, report) {
        Some(says) if floor => format!("Keep clear of its way. {says}"),
        Some(says) => format!("Hands clear. {says}"),
        None if floor => "On the floor: keep clear of its way. Low duty. A hand at the pack's plug.".to_owned(),
        None => "Wheels off the ground. Hands clear. A hand at the pack's plug.".to_owned(),
    }
}

/// What there is to say at this moment.
fn now(entry: &CheckEntry, check: &Check, report: &CheckReport) -> Option<String> {
    if !entry.says().is_empty() {
        return Some(entry.says().to_owned());
    }
    let doubt = report.doubtful.first();
    if let (true, Some(line)) = (report.outside, doubt) {
        return Some(format!(
            "OUTSIDE THE MODEL: more answers contradict each other than slips explain. Repeat first: {line}"
        ));
    }
    if let Some((ask, given)) = entry.half_given(&check.ask) {
        return Some(half_given(check, ask, given));
    }
    match (doubt, report.refused.first()) {
        (Some(line), _) => {
            Some(format!("Does not fit the other answers: {line}. Order that move again; or t doubts it."))
        }
        (None, Some(refused)) => Some(format!("Not taken: {refused}")),
        (None, None) => None,
    }
}

/// An answer that waits for its question: nothing of it is lost.
fn half_given(check: &Check, ask: &Ask, given: usize) -> String {
    match ask {
        Ask::Wheels(watched) | Ask::Floor(watched) => {
            let of = if matches!(ask, Ask::Wheels(_)) { 4 } else { 2 };
            let (name, duty) = (name(check, watched.order), watched.duty.words());
            format!("Put aside: {given} of {of} answers for `{name}` at {duty}. Order it again to go on with them.")
        }
        _ => format!("Put aside: {given} of 4 answers for the rollers. They are asked again."),
    }
}

/// How far it is, in a few words; the shorter ones where `room` cells are too few.
pub fn progress(report: &CheckReport, room: usize) -> String {
    let answers = counted(report.lines.len(), "answer");
    let left = counted(report.left.len(), "move");
    let sheet = if report.number > 1 { format!("sheet {}, ", report.number) } else { String::new() };
    let found = match &report.diagnosed {
        Some(found) if found.wrong.is_empty() => "nothing wrong so far, ",
        Some(_) => "diagnosed, ",
        None => "",
    };
    let with = |to: &str| {
        let more = match report.answers_to_come {
            0 => String::new(),
            more => format!("about {more} more{to}, "),
        };
        format!("{sheet}{found}{answers}, {more}{left} not seen yet")
    };
    let long = with(" to a diagnosis");
    if long.len() > room { with("") } else { long }
}

/// `1 answer`, `2 answers`.
fn counted(count: usize, of: &str) -> String {
    format!("{count} {of}{}", if count == 1 { "" } else { "s" })
}

/// What the picture shows, in words: each wheel, what it should do and what was said of it; or the keys.
pub fn picture(ask: &Ask, parts: &[Part]) -> Vec<String> {
    let watched = match ask {
        Ask::Order(watched) | Ask::Wheels(watched) => watched,
        Ask::Floor(_) if parts.is_empty() => return vec![super::floor::in_words()],
        Ask::Rollers => return vec!["Drawn: an X, its arms FL to RR and FR to RL.".to_owned()],
        _ => return Vec::new(),
    };
    let row = |wheel: Wheel| {
        let said = seen(parts, wheel).map_or(String::new(), |seen| format!(", seen {}", seen.word()));
        let should = match watched.should[wheel.index()] {
            0 => "stand still",
            turn => &format!("turn {}", turn_word(turn)),
        };
        format!("{} should {should}{said}", wheel.name())
    };
    Wheel::ALL.map(row).to_vec()
}

/// What was said of this wheel just now.
pub fn seen(parts: &[Part], wheel: Wheel) -> Option<Seen> {
    match parts.get(wheel.index()) {
        Some(Part::Wheel(seen)) => Some(*seen),
        _ => None,
    }
}

/// `forward`, `still` or `backward`.
pub const fn turn_word(turn: i32) -> &'static str {
    match turn {
        1.. => "forward",
        0 => "still",
        _ => "backward",
    }
}

/// What the driver's corrections come to, with the key that takes them; empty when nothing is sure.
pub fn corrections(check: &Check) -> Vec<String> {
    let mut rows: Vec<String> =
        check.corrections.iter().map(|one| format!("mean turn correction, {}", one.words())).collect();
    let taken = |report: &CheckReport| report.lines.iter().any(|line| line.starts_with("seen correction"));
    let sure = turn(check, "forward").is_some() || turn(check, "left").is_some();
    if sure && !check.report.as_deref().is_some_and(taken) {
        rows.push("y takes what is sure of it as an observation: a hint, no proof".to_owned());
    }
    rows
}
