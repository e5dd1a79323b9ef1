//! The demo as a person meets it: the real program in a real pseudo-terminal.
#![cfg(unix)]
#![allow(missing_docs, clippy::unwrap_used)]

#[path = "terminal/terminal.rs"]
mod terminal;

use portable_pty::CommandBuilder;
use terminal::Terminal;

const WAIT: std::time::Duration = std::time::Duration::from_secs(20);

/// What a terminal is told when a program gives it back: leave the other screen, show the cursor. Source: the list of
/// control sequences of the X terminal emulator, private modes 1049 and 25.
const LEAVE: &[u8] = b"\x1b[?1049l";
const ENTER: &[u8] = b"\x1b[?1049h";
const SHOW_CURSOR: &[u8] = b"\x1b[?25h";

fn last(bytes: &[u8], sought: &[u8]) -> Option<usize> {
    bytes.windows(sought.len()).rposition(|window| window == sought)
}

/// The terminal is given back: on its own screen, with its cursor.
#[track_caller]
fn given_back(terminal: &Terminal) {
    let bytes = terminal.bytes();
    let [enter, leave, show] = [ENTER, LEAVE, SHOW_CURSOR].map(|sought| last(&bytes, sought));
    assert!(enter.is_some(), "the other screen was taken");
    assert!(leave > enter, "the other screen was left");
    assert!(show > enter, "the cursor is shown");
    terminal.look(|screen| assert!(!screen.alternate_screen() && !screen.hide_cursor()));
}

/// The program between two looks at the terminal's modes, as a shell would run it.
fn between_two_looks(words: &str, columns: u16, rows: u16) -> Terminal {
    let program = env!("CARGO_BIN_EXE_wheeltap");
    let line = format!(
        "before=$(stty -g); {program} {words}; code=$?; after=$(stty -g); \
         test \"$before\" = \"$after\" && echo modes-as-before; echo code-$code; read end"
    );
    Terminal::shell(&line, columns, rows)
}

fn demo(words: &[&str], columns: u16, rows: u16) -> Terminal {
    let mut terminal = Terminal::wheeltap(&[&["demo"], words].concat(), columns, rows);
    terminal.wait_for("FL");
    terminal
}

#[test]
fn the_rover_stands_on_screens_of_three_sizes() {
    for (columns, rows) in [(80, 24), (120, 40), (200, 60)] {
        let mut terminal = demo(&[], columns, rows);
        for word in ["FL", "FR", "RL", "RR", "Moonwagon"] {
            terminal.wait_for(word);
        }
        // The first order of the demo arrives and is shown as words.
        terminal.wait_until("a duty", WAIT, |screen| screen.contents().contains('%'));
        terminal.send("q");
        assert_eq!(terminal.wait_end().exit_code(), 0);
        given_back(&terminal);
    }
}

#[test]
fn every_page_has_a_key_and_every_key_comes_back() {
    let mut terminal = demo(&["--like", "cue-line"], 120, 40);
    for (key, words) in
        [("f", "findings"), ("l", "lines"), ("g", "legs"), ("w", "wheel details"), ("c", "cannot show"), ("?", "help")]
    {
        terminal.send(key);
        terminal.wait_until(words, WAIT, |screen| screen.rows(0, 120).next().is_some_and(|row| row.contains(words)));
        terminal.send("\x1b");
        terminal.wait_until("the overview again", WAIT, |screen| {
            screen.rows(0, 120).next().is_some_and(|row| row.contains("tap resolution"))
        });
    }
    terminal.send("q");
    assert_eq!(terminal.wait_end().exit_code(), 0);
}

#[test]
fn help_explains_what_is_in_view() {
    let mut terminal = demo(&[], 80, 24);
    terminal.send("?");
    terminal.wait_for("What is in view: overview");
    terminal.send("b");
    terminal.wait_gone("What is in view: overview");
    terminal.send("t");
    terminal.wait_for("What is in view: overview");
    terminal.send("o");
    terminal.wait_for("FL");
}

#[test]
fn a_note_is_taken_while_the_rover_drives() {
    let mut terminal = demo(&[], 120, 40);
    terminal.send("n");
    terminal.wait_for("Esc");
    // Letters that are keys elsewhere are letters here, and an escape sequence is not kept.
    terminal.send("squeals at the left, q");
    terminal.wait_for("squeals at the left, q");
    terminal.send("\x7f\x7f\x7f\r");
    terminal.send("l");
    terminal.wait_until("the page of lines with the note", WAIT, |screen| {
        let text = screen.contents();
        text.contains("  lines") && text.contains("squeals at the left") && !text.contains("left, q")
    });
    terminal.send("q");
    assert_eq!(terminal.wait_end().exit_code(), 0);
}

#[test]
fn what_is_pasted_presses_no_key() {
    let mut terminal = demo(&[], 80, 24);
    // A terminal puts what is pasted between these two. Source: the list named above, private mode 2004.
    terminal.send("\x1b[200~qlnq\x1b[201~?");
    terminal.wait_for("What is in view: overview");
    terminal.send("q");
    assert_eq!(terminal.wait_end().exit_code(), 0);
}

#[test]
fn quitting_leaves_the_terminal_as_it_was() {
    for keys in ["q", "\x03"] {
        let mut terminal = between_two_looks("demo", 100, 30);
        terminal.wait_for("FL");
        terminal.send(keys);
        terminal.wait_for("code-0");
        terminal.wait_for("modes-as-before");
        given_back(&terminal);
    }
}

#[test]
fn signals_leave_the_terminal_as_it_was() {
    for signal in ["TERM", "INT", "HUP"] {
        let mut terminal = demo(&[], 100, 30);
        terminal.signal(signal);
        assert_eq!(terminal.wait_end().exit_code(), 0, "{signal}");
        given_back(&terminal);
    }
}

#[test]
fn a_signal_from_another_terminal_gives_back_the_modes() {
    for signal in ["TERM", "INT", "HUP"] {
        let folder = tempfile::tempdir().unwrap();
        let note = folder.path().join("id");
        let program = env!("CARGO_BIN_EXE_wheeltap");
        let line = format!(
            "before=$(stty -g); trap : {signal}; sh -c 'echo $$ > {}; exec {program} demo'; code=$?; after=$(stty -g); \
             test \"$before\" = \"$after\" && echo modes-as-before; echo code-$code; read end",
            note.display()
        );
        let mut terminal = Terminal::shell(&line, 100, 30);
        terminal.wait_for("FL");
        let id = std::fs::read_to_string(note).unwrap();
        let kill = std::process::Command::new("/bin/sh").args(["-c", &format!("kill -{signal} {id}")]).status();
        assert!(kill.unwrap().success());
        terminal.wait_for("code-0");
        terminal.wait_for("modes-as-before");
        given_back(&terminal);
    }
}

#[test]
fn a_terminal_that_is_closed_ends_the_program() {
    let mut terminal = demo(&[], 80, 24);
    terminal.close();
    // Nothing is left to write to, so the code may be that of a failed device; it ends, and by itself.
    assert!(terminal.wait_end().signal().is_none());
}

#[test]
fn the_time_named_ends_it() {
    let mut terminal = between_two_looks("demo --for 1", 80, 24);
    terminal.wait_for("code-0");
    terminal.wait_for("modes-as-before");
    given_back(&terminal);
}

#[test]
fn no_colour_when_asked() {
    let colours = |no_colour: Option<&str>| {
        let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_wheeltap"));
        command.args(["demo"]);
        command.env_remove("NO_COLOR");
        if let Some(value) = no_colour {
            command.env("NO_COLOR", value);
        }
        let mut terminal = Terminal::run(command, 120, 40);
        terminal.wait_for("FL");
        terminal.wait_until("a duty", WAIT, |screen| screen.contents().contains('%'));
        terminal.look(|screen| {
            let cells = (0..40).flat_map(|row| (0..120).map(move |column| (row, column)));
            let colour = |cell: &vt100::Cell| [cell.fgcolor(), cell.bgcolor()] != [vt100::Color::Default; 2];
            cells.filter(|(row, column)| screen.cell(*row, *column).is_some_and(colour)).count()
        })
    };
    assert!(colours(None) > 0, "there are colours at all");
    assert_eq!(colours(Some("1")), 0);
    // An empty value counts as not set: no-color.org, "when present and not an empty string".
    assert!(colours(Some("")) > 0);
}

#[test]
fn ascii_when_asked() {
    let mut terminal = demo(&["--ascii"], 120, 40);
    for key in ["o", "f", "l", "g", "w", "c", "?"] {
        terminal.send(key);
    }
    terminal.wait_for("What is in view");
    let bytes = terminal.bytes();
    assert!(bytes.is_ascii(), "{:?}", String::from_utf8_lossy(&bytes).chars().find(|letter| !letter.is_ascii()));
}

#[test]
fn it_lives_through_the_smallest_screen() {
    let mut terminal = demo(&[], 80, 24);
    for (columns, rows) in [(10, 3), (1, 1), (80, 24), (200, 60), (80, 24)] {
        terminal.resize(columns, rows);
        terminal.send("f");
        terminal.send("o");
    }
    terminal.wait_for("RR");
    terminal.send("q");
    assert_eq!(terminal.wait_end().exit_code(), 0);
    given_back(&terminal);
}

#[test]
fn a_pipe_that_closes_early_is_no_fault() {
    let program = env!("CARGO_BIN_EXE_wheeltap");
    let line = format!("{{ {program} demo --headless --for 2; echo code-$? >&2; }} | head -1; read end");
    let mut terminal = Terminal::shell(&line, 100, 10);
    terminal.wait_for("code-0");
    terminal.wait_for(" > ");
}
