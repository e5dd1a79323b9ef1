//! What a lesson says where something does not fit, and that everything can be taken back.
#![allow(missing_docs, clippy::unwrap_used)]

use wheeltap::rover::file::RoverFile;
use wheeltap::rover::mecanum::Motion;
use wheeltap::simulation::{Moonwagon, Script, Settings, Step as Act, Style, Way};
use wheeltap::teach::Step;
use wheeltap::teach::lesson::{Ending, Lesson};
use wheeltap_parsers::Wire;

const MS: i64 = 1_000_000;

/// A lesson with a clock.
struct Desk {
    lesson: Lesson,
    now: i64,
    said: Vec<String>,
}

impl Desk {
    /// At the first move: the board's start is left out.
    fn new() -> Self {
        let mut desk = Self { lesson: Lesson::new(115_200, None), now: 0, said: Vec::new() };
        desk.enter("skip");
        desk
    }

    fn hear(&mut self, bytes: &[u8]) {
        self.now += 300 * MS;
        let says = self.lesson.hear(self.now, bytes);
        self.said.extend(says);
    }

    fn press(&mut self, code: &str) {
        self.hear(format!("way,{code}\n").as_bytes());
        self.hear(b"way,rest\n");
        self.wait();
    }

    /// Two seconds pass.
    fn wait(&mut self) {
        for _ in 0..20 {
            self.now += 100 * MS;
            let says = self.lesson.pass(self.now);
            self.said.extend(says);
        }
    }

    fn enter(&mut self, line: &str) -> String {
        self.lesson.ask();
        let says = self.lesson.type_line(line);
        self.said.extend(says.clone());
        says.join("\n")
    }

    fn at(&self, motion: Motion) -> bool {
        self.lesson.step() == Some(Step::Move(motion))
    }

    fn heard(&self, words: &str) -> bool {
        self.said.iter().any(|line| line.contains(words))
    }
}

#[test]
fn two_moves_with_one_code_are_doubted_and_only_one_row_is_written() {
    let mut desk = Desk::new();
    desk.press("ahead");
    desk.enter("");
    desk.press("ahead");
    assert!(desk.heard("forward and backward both sent `ahead`"), "{:#?}", desk.said);
    assert!(desk.at(Motion::Backward), "a doubt waits for the person");
    desk.enter("");
    desk.press("port");
    desk.enter("write");
    let (text, faults) = desk.lesson.rover_file();
    assert_eq!(faults, [""; 0], "{text}");
    assert_eq!(text.matches("code = \"ahead\"").count(), 1);
    assert!(text.contains("# backward sent the same code as another move: \"ahead\""), "{text}");
}

#[test]
fn a_release_without_a_rest_is_a_danger() {
    let mut desk = Desk::new();
    desk.press("ahead");
    desk.enter("");
    desk.press("astern");
    desk.hear(b"way,port\n");
    desk.wait();
    assert!(desk.at(Motion::Left));
    let says = desk.enter("");
    assert!(says.contains("DANGER: no rest was heard after left"), "{says}");
    desk.enter("write");
    let (text, _) = desk.lesson.rover_file();
    assert!(text.starts_with("# A rover file") && text.contains("# DANGER: no rest was heard after left"), "{text}");
}

#[test]
fn a_link_without_any_rest_is_asked_for_stop_and_marked() {
    let mut desk = Desk::new();
    for code in ["a", "b", "c", "d", "e", "f", "g", "h", "i", "j"] {
        desk.hear(format!("{code}\n").as_bytes());
        desk.wait();
        desk.enter("");
    }
    assert_eq!(desk.lesson.step(), Some(Step::Stop), "{:#?}", desk.said);
    desk.enter("skip");
    desk.enter("write");
    let (text, faults) = desk.lesson.rover_file();
    assert_eq!(faults, [""; 0], "{text}");
    assert!(text.contains("# DANGER: no rest was ever heard"), "{text}");
}

#[test]
fn stop_gives_the_rest_where_letting_go_does_not() {
    let mut desk = Desk::new();
    for code in ["a", "b", "c", "d", "e", "f", "g", "h", "i", "j"] {
        desk.hear(format!("{code}\n").as_bytes());
        desk.wait();
        desk.enter("");
    }
    desk.hear(b"x\n");
    assert!(desk.enter("").contains("Stop is `x`"), "{:#?}", desk.said);
}

#[test]
fn a_press_that_sends_nothing_is_said_and_the_step_stays() {
    let mut desk = Desk::new();
    assert!(desk.enter("").contains("ground first"), "{:#?}", desk.said);
    desk.press("ahead");
    desk.enter("");
    assert!(desk.enter("").contains("handled by the command board alone"), "{:#?}", desk.said);
    assert!(desk.at(Motion::Backward));
}

#[test]
fn a_flood_is_said_once_and_not_kept() {
    let mut desk = Desk::new();
    let block = vec![b'x'; 1 << 20];
    for _ in 0..6 {
        let says = desk.lesson.hear(0, &block);
        desk.said.extend(says);
    }
    assert_eq!(desk.said.iter().filter(|line| line.contains("nothing more is learned from")).count(), 1);
}

#[test]
fn noise_is_named_with_what_to_check() {
    let mut desk = Desk::new();
    for _ in 0..4 {
        desk.hear(b"\x80\xF3\x9C\xE0\xFF\x00\x83\xF8\xC1\xA7");
    }
    let says = desk.enter("");
    assert!(says.contains("The line rate may be wrong") && says.contains("--rate find"), "{says}");
    assert!(desk.enter("write").contains("No move is learned yet"));
}

#[test]
fn again_back_skip_and_list_do_what_they_say() {
    let mut desk = Desk::new();
    desk.press("wrong");
    desk.enter("again");
    desk.press("ahead");
    desk.enter("");
    desk.press("oops");
    assert!(desk.at(Motion::Left), "{:#?}", desk.said);
    desk.enter("back");
    assert!(desk.at(Motion::Backward));
    desk.press("astern");
    desk.enter("skip");
    let list = desk.enter("list");
    let row = |motion: &str| list.lines().find(|line| line.trim_start().starts_with(motion)).unwrap().to_owned();
    assert!(row("forward ").ends_with("ahead") && row("backward ").ends_with("astern"), "{list}");
    assert!(row("left ").ends_with('-') && row("rest ").ends_with("rest"), "{list}");
    assert!(!list.contains("oops") && !list.contains("wrong"), "{list}");
}

/// The Moonwagon's own orders, made by the simulation and not by our encoder, in the four styles whose orders state
/// wheels or directions: recognised by their checks, and each move says what it should.
#[test]
fn the_simulated_rovers_checked_links_are_recognised() {
    let ways = [Way::Ahead, Way::Astern, Way::Port, Way::Starboard, Way::SpinPort, Way::SpinStarboard];
    let motions = [Motion::Forward, Motion::Backward, Motion::Left, Motion::Right, Motion::TurnLeft, Motion::TurnRight];
    for style in Style::ALL.into_iter().filter(|style| *style != Style::PlainLine) {
        let mut desk = Desk::new();
        let mut wagon = wagon(style, &ways);
        let mut legs = 0;
        while let Some(burst) = wagon.next_burst() {
            if burst.wire != Wire::ToDrive {
                continue;
            }
            // One leg lasts four seconds, the first begins at four.
            let leg = usize::try_from((burst.begins - 3_900 * MS) / (4_000 * MS)).unwrap_or(0);
            if leg >= ways.len() {
                break;
            }
            if leg > legs {
                // A move with nothing doubtful has gone on by itself.
                if desk.at(motions[legs]) {
                    desk.enter("");
                }
                to(&mut desk, motions[leg]);
                legs = leg;
            }
            desk.said.extend(desk.lesson.hear(burst.ends, &burst.bytes));
        }
        desk.enter("write");
        assert_eq!(desk.lesson.ending(), Some(Ending::Write), "{} {:#?}", style.name(), desk.said);
        let (text, faults) = desk.lesson.rover_file();
        assert_eq!(faults, [""; 0], "{text}");
        let truth = RoverFile::load("truth", wheeltap::rover::built_in::find(style.name()).unwrap().text).unwrap();
        let taught = RoverFile::load("taught", &text).unwrap();
        let frames =
            |rover: &RoverFile| rover.profiles.clone().map(|profile| profile.map(|profile| profile.kinds.clone()));
        assert_eq!(frames(&taught), frames(&truth), "{}", style.name());
        assert_eq!(taught.meaning, truth.meaning, "{}", style.name());
        let list = desk.lesson.list().join("\n");
        for motion in motions {
            let row = format!("{:<16} {}", motion.id(), motion.id());
            assert!(list.contains(&row), "{}: {row}\n{list}", style.name());
        }
        assert!(!text.contains("DANGER") && !text.contains("DOUBT"), "{text}");
    }
}

fn wagon(style: Style, ways: &[Way]) -> Moonwagon {
    let legs =
        ways.iter().flat_map(|way| [Act::Press(*way), Act::Wait(2_000 * MS), Act::Release, Act::Wait(2_000 * MS)]);
    let steps = std::iter::once(Act::Wait(4_000 * MS)).chain(legs).collect();
    Moonwagon::new(&Settings { style, seed: 5, faults: Vec::new(), script: Script::from_list(steps) })
}

/// Goes on to the step of this move.
fn to(desk: &mut Desk, motion: Motion) {
    while !desk.at(motion) && desk.lesson.step().is_some() {
        desk.enter("skip");
    }
}

#[test]
fn start_up_text_proves_the_lead_and_is_never_a_move() {
    let mut desk = Desk { lesson: Lesson::new(115_200, None), now: 0, said: Vec::new() };
    assert_eq!(desk.lesson.step(), Some(Step::StartUp));
    assert!(desk.enter("").contains("Some boards print nothing"), "{:#?}", desk.said);
    assert_eq!(desk.lesson.step(), Some(Step::StartUp), "nothing came, so it stays");
    desk.hear(b"\x00\xF8GC2 rom 1.4 rst=0x02(ext) strap=0b10110\r\nload @3F40 len 6144 ok\r\n");
    desk.hear(b"eye ok heap 91k net up\r\nway,rest\n");
    desk.wait();
    assert!(desk.heard("heard     eye ok heap 91k net up"), "{:#?}", desk.said);
    assert!(desk.enter("").contains("lead, ground and line rate are right"), "{:#?}", desk.said);
    for code in ["ahead", "astern", "port"] {
        // The supply sags at each start: the text comes again and again.
        desk.hear(b"load @3F40 len 6144 ok\r\neye ok heap 88k net up\r\n");
        desk.press(code);
        if code == "ahead" {
            desk.enter("");
        }
    }
    assert!(!desk.heard("DOUBT"), "{:#?}", desk.said);
    desk.enter("write");
    let (text, faults) = desk.lesson.rover_file();
    assert_eq!(faults, [""; 0], "{text}");
    let rover = RoverFile::load("mine", &text).unwrap();
    assert_eq!(rover.meaning.moves.len(), 4, "{text}");
}

#[test]
fn text_that_nobody_announced_is_doubted_before_it_is_a_move() {
    let mut desk = Desk::new();
    desk.hear(b"load @3F40 len 6144 ok\r\neye ok heap 91k net up\r\n");
    desk.wait();
    assert!(desk.enter("").contains("reads like start-up text"), "{:#?}", desk.said);
    assert!(desk.at(Motion::Forward), "a doubt waits for the person");
    desk.enter("again");
    desk.press("ahead");
    assert!(desk.enter("").contains("forward is `ahead`"), "{:#?}", desk.said);
}

#[test]
fn orders_without_line_ends_or_known_check_are_said_at_once_with_what_to_do() {
    let mut desk = Desk::new();
    for count in 0..20_u8 {
        desk.hear(&[0x55, 0x02, count, 0x80, 0x81]);
    }
    assert!(desk.heard("cannot be learned") && desk.heard("wheeltap new FILE --like"), "{:#?}", desk.said);
    let said = desk.said.iter().filter(|line| line.contains("cannot be learned")).count();
    assert_eq!(said, 1, "once, before anybody types");
}
