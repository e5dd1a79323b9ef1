//! The terminal for tests does what the tests on top of it rely on. Its programs are plain lines of shell.

#![cfg(unix)]

#[path = "terminal/terminal.rs"]
mod terminal;

use std::time::Duration;

use terminal::{Terminal, runs};

const SHORT: Duration = Duration::from_millis(200);

#[test]
fn what_a_program_prints_stands_on_the_screen_where_it_put_it() {
    let mut terminal = Terminal::shell(r"printf '\033[2J\033[3;5Hwheel \033[1;31mFL\033[0m'; read wait", 40, 10);
    let screen = terminal.wait_for("wheel FL");
    assert_eq!(screen.lines().nth(2), Some("    wheel FL"));
    terminal.look(|screen| {
        let cell = screen.cell(2, 10).expect("a cell");
        assert_eq!(cell.contents(), "F");
        assert!(cell.bold());
        assert_eq!(cell.fgcolor(), vt100::Color::Idx(1));
        assert!(!screen.cell(2, 5).expect("a cell").bold());
    });
    assert!(terminal.bytes().starts_with(b"\x1b[2J\x1b[3;5Hwheel "));
}

#[test]
fn keys_reach_the_program_and_its_exit_code_comes_back() {
    let line = r#"stty -echo; echo "TERM is $TERM"; read word; echo "heard <$word>"; exit 3"#;
    let mut terminal = Terminal::shell(line, 60, 10);
    terminal.wait_for("TERM is xterm-256color");
    terminal.send("astern\r");
    terminal.wait_for("heard <astern>");
    let exit = terminal.wait_end();
    assert_eq!((exit.exit_code(), exit.signal()), (3, None));
}

#[test]
fn a_program_knows_its_size_and_is_told_of_a_new_one() {
    let line = r#"trap 'echo "now $(stty size)"' WINCH; echo "first $(stty size)"; while :; do read wait; done"#;
    let mut terminal = Terminal::shell(line, 80, 24);
    terminal.wait_for("first 24 80");
    terminal.resize(120, 40);
    terminal.wait_for("now 40 120");
    terminal.look(|screen| assert_eq!((screen.size().0.get(), screen.size().1.get()), (40, 120)));
}

#[test]
fn a_signal_reaches_the_program() {
    let mut terminal =
        Terminal::shell(r"trap 'echo caught; exit 5' TERM; echo ready; while :; do read wait; done", 40, 5);
    terminal.wait_for("ready");
    terminal.signal("TERM");
    terminal.wait_for("caught");
    assert_eq!(terminal.wait_end().exit_code(), 5);
}

#[test]
fn a_closed_terminal_hangs_the_program_up_and_types_nothing() {
    let folder = tempfile::tempdir().expect("a folder");
    let heard = folder.path().join("heard");
    let line = format!(
        "trap 'echo hang-up >> {0}; exit 7' HUP; echo ready; while :; do read word && echo key >> {0}; done",
        heard.display()
    );
    let mut terminal = Terminal::shell(&line, 40, 5);
    terminal.wait_for("ready");
    terminal.close();
    assert_eq!(terminal.wait_end().exit_code(), 7);
    assert_eq!(std::fs::read_to_string(heard).expect("what the program heard"), "hang-up\n");
}

#[test]
fn a_text_that_never_comes_is_an_answer_with_its_reason() {
    let mut terminal = Terminal::shell("echo something; read wait", 40, 5);
    terminal.wait_for("something");
    let why = terminal.try_until(SHORT, |screen| screen.contents().contains("else"));
    assert_eq!(why, Err("not within 200ms".to_owned()));
    terminal.send("\r");
    terminal.wait_end();
    let why = terminal.try_until(SHORT, |screen| screen.contents().contains("else"));
    assert_eq!(why, Err("the program has ended".to_owned()));
}

#[test]
#[should_panic(expected = "something")]
fn a_wait_that_fails_shows_the_screen() {
    let mut terminal = Terminal::shell("echo something; read wait", 40, 5);
    terminal.wait_for("something");
    terminal.wait_for_within("else", SHORT);
}

#[test]
fn all_of_a_long_output_is_there_after_the_end() {
    let line = "i=0; while [ $i -lt 3000 ]; do echo line $i; i=$((i+1)); done; echo last";
    let mut terminal = Terminal::shell(line, 40, 5);
    assert!(terminal.wait_end().success());
    assert!(terminal.screen().ends_with("last"), "{}", terminal.screen());
    let text = String::from_utf8(terminal.bytes()).expect("text");
    assert_eq!(text.lines().count(), 3001);
}

#[test]
fn the_time_limit_ends_the_program() {
    let mut terminal = Terminal::shell("trap '' HUP TERM; echo ready $$.; while :; do sleep 1; done", 40, 5);
    let id = own_id(&terminal.wait_for("."));
    assert!(runs(id));
    terminal.limit(SHORT);
    let why = terminal.try_until(Duration::from_secs(30), |screen| screen.contents().contains("never"));
    assert_eq!(why, Err("the time limit of this terminal is over".to_owned()));
    assert!(!runs(id), "the program of id {id} still runs");
}

#[test]
fn dropping_the_terminal_leaves_no_program_behind() {
    let mut terminal = Terminal::shell("trap '' HUP TERM; echo ready $$.; while :; do sleep 1; done", 40, 5);
    let id = own_id(&terminal.wait_for("."));
    assert!(runs(id));
    drop(terminal);
    assert!(!runs(id), "the program of id {id} still runs");
}

/// The number in `ready 1234.`.
fn own_id(screen: &str) -> u32 {
    let number: String = screen.chars().filter(char::is_ascii_digit).collect();
    number.parse().expect("a number")
}
