//! The simulated rover's control panel pressed in a real terminal: what a press puts on the wire, what is seen of the
//! wheels, what a secret fault keeps to itself, and the repair of it.
#![cfg(unix)]
#![allow(missing_docs, clippy::unwrap_used)]

#[path = "terminal/terminal.rs"]
mod terminal;
#[path = "terminal/without_screen.rs"]
mod without_screen;

use std::path::Path;

use portable_pty::CommandBuilder;
use terminal::Terminal;
use without_screen::{Running, wait_for};

fn panel(folder: &Path, arguments: &[&str]) -> Terminal {
    let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_wheeltap"));
    command.cwd(folder);
    command.args(["simulate", "--link", "port"]);
    command.args(arguments);
    let mut panel = Terminal::run(command, 80, 24);
    panel.wait_for("CONTROL PANEL");
    // The command board is up once its clock has passed a second: before that nobody listens to the panel.
    panel.wait_for("0:01");
    panel
}

#[test]
fn a_press_at_the_panel_is_a_line_at_the_reader_and_a_wheel_that_turns() {
    let folder = tempfile::tempdir().unwrap();
    let mut panel = panel(folder.path(), &[]);
    let tap = ["listen", "port", "--rover", "plain-line", "--no-session", "--headless"];
    let reader = Running::wheeltap(folder.path(), &tap);
    wait_for("the open port", || reader.said().contains("Listening to"));
    panel.send("2");
    let screen = panel.wait_until("four wheels forward", std::time::Duration::from_secs(20), |screen| {
        screen.contents().matches("↑ forward").count() == 4
    });
    assert!(screen.contains("pressed: ahead"), "{screen}");
    panel.send(" ");
    panel.wait_until("four wheels still", std::time::Duration::from_secs(20), |screen| {
        screen.contents().matches("still").count() == 4
    });
    wait_for("the order and the rest", || {
        let heard = reader.written();
        let order = heard.find("way,ahead");
        order.is_some_and(|order| heard[order..].contains("way,rest"))
    });
    panel.send("q");
    assert!(panel.wait_end().success());
    assert!(!folder.path().join("port").exists(), "the port's name is gone");
}

#[test]
fn the_boards_reset_button_puts_start_up_text_on_the_wire() {
    let folder = tempfile::tempdir().unwrap();
    let mut panel = panel(folder.path(), &[]);
    let reader = Running::wheeltap(folder.path(), &["listen", "port", "--no-session", "--headless"]);
    wait_for("the open port", || reader.said().contains("Listening to"));
    panel.send("b");
    wait_for("start-up text", || reader.written().contains("rst=0x02(ext)"));
}

/// What seed 7 plants is the front right motor's leads, seen at the wheels only.
fn forward_with_seed(seed: &str) -> (String, Terminal) {
    let folder = tempfile::tempdir().unwrap();
    let mut panel = panel(folder.path(), &["--fault", "secret", "--seed", seed, "--reveal"]);
    panel.send("2");
    let screen = panel.wait_gone("nowhere, it stands");
    (screen.lines().filter(|row| row.contains('│')).collect::<Vec<_>>().join("\n"), panel)
}

#[test]
fn a_secret_is_kept_until_asked_for_is_repaired_and_is_the_same_for_the_same_seed() {
    let (first, mut panel) = forward_with_seed("7");
    let (second, _) = forward_with_seed("7");
    assert_eq!(first, second);
    assert!(first.contains("BACKWARD") && first.matches("forward").count() == 3, "{first}");
    let before = panel.screen();
    assert!(!before.contains("leads") && before.contains("one fault planted, not told"), "{before}");
    panel.send("v");
    assert!(!panel.wait_for("Press v once more").contains("leads"));
    panel.send("rl2");
    panel.wait_for("the two leads of FR's motor are turned round");
    panel.send("2");
    panel.wait_until("four wheels forward", std::time::Duration::from_secs(20), |screen| {
        screen.contents().matches("↑ forward").count() == 4
    });
    panel.send("vv");
    let told = panel.wait_for("sound now");
    assert!(told.contains("The two leads of FR's motor are exchanged"), "{told}");
    panel.send("q");
    panel.wait_for("Planted: The two leads of FR's motor");
    assert!(panel.wait_end().success());
}
