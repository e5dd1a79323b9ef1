//! Keys in, deeds out.
#![allow(clippy::unwrap_used)]
use super::*;

fn keys(hands: &mut Hands, keys: &str) -> Vec<Asks> {
    keys.chars().map(|key| hands.key(KeyEvent::new(KeyCode::Char(key), KeyModifiers::NONE))).collect()
}

fn deeds(hands: &mut Hands, typed: &str) -> Vec<Deed> {
    let flat = |asks| if let Asks::Do(deeds) = asks { deeds } else { Vec::new() };
    keys(hands, typed).into_iter().flat_map(flat).collect()
}

#[test]
fn a_key_presses_and_the_same_key_or_space_lets_go() {
    let mut hands = Hands::new(Style::PlainLine);
    let (press, release) = (|way| Deed::Panel(Step::Press(way)), Deed::Panel(Step::Release));
    assert_eq!(deeds(&mut hands, "22"), [press(Way::Ahead), release]);
    assert_eq!(deeds(&mut hands, "4 "), [press(Way::Port), release]);
    assert_eq!(deeds(&mut hands, "45 "), [press(Way::Port), release, press(Way::Starboard), release]);
    assert_eq!(deeds(&mut hands, " z"), []);
}

#[test]
fn pace_lamp_and_gear_keep_within_their_ends() {
    let mut hands = Hands::new(Style::PlainLine);
    let pace = |value| Deed::Panel(Step::Pace(value));
    assert_eq!(deeds(&mut hands, "+-[-]+"), [pace(160), pace(140), pace(0), pace(0), pace(255), pace(255)]);
    assert_eq!(deeds(&mut hands, "mmmg"), [120, 255, 0].map(|lamp| Deed::Panel(Step::Lamp(lamp))));
    let mut hands = Hands::new(Style::CueLine);
    assert_eq!(deeds(&mut hands, "ggm"), [3, 1].map(|gear| Deed::Panel(Step::Gear(gear))));
}

#[test]
fn a_repair_lets_go_first_and_asks_for_its_wheels() {
    let mut hands = Hands::new(Style::PlainLine);
    let done = deeds(&mut hands, "2rl4");
    assert_eq!(done[1..], [Deed::Panel(Step::Release), Deed::Work(Work::TurnLeads(Wheel::RR))]);
    assert_eq!(deeds(&mut hands, "rx112"), [Deed::Work(Work::ExchangePlugs(Wheel::FL, Wheel::FR))]);
    assert_eq!(deeds(&mut hands, "rt4"), [Deed::CorrectRow(Way::Port)]);
    let mut later = Hands::new(Style::Bead);
    assert_eq!(deeds(&mut later, "rt4"), []);
}

#[test]
fn what_was_planted_is_told_only_when_asked_twice() {
    let mut hands = Hands::new(Style::PlainLine);
    let none = Asks::Do(Vec::new());
    assert_eq!(keys(&mut hands, "vzvv"), [none.clone(), none.clone(), none, Asks::Reveal]);
}
