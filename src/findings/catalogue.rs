//! The catalogue: the twenty troubles that come first by how often, how harmful and how much a tap can settle, each with
//! the rules that look for it, or the check that a person must make; and which rule can judge on which link.
//!
//! The ranking is common practice, no source.

use crate::findings::{Need, Rule, gives, rules};
use crate::rover::built_in;
use crate::rover::file::{RoverFile, StatedCadence};
use crate::rover::meaning::Role;
use crate::timing::cadence::Rhythm;

/// One trouble.
#[derive(Clone, Copy, Debug)]
pub struct Problem {
    /// What a person sees.
    pub seen: &'static str,
    /// What is behind it.
    pub cause: &'static str,
    /// Ids of the rules that look for it; empty where it is off the tap.
    pub rules: &'static [&'static str],
    /// What a person must look at, where the tap alone does not settle it; else empty.
    pub check: &'static str,
}

/// The first twenty, in order of rank.
pub const PROBLEMS: [Problem; 20] = [
    Problem {
        seen: "the panel is lost and the rover drives on",
        cause: "the drive board obeys its last order for ever",
        rules: &["nothing-would-stop-it", "silent-while-moving"],
        check: "wheels up, half duty, pull the wire: all four stop, ten times of ten",
    },
    Problem {
        seen: "forward drifts and yaws, half of the slide works",
        cause: "one motor's leads are exchanged",
        rules: &["turn-correction"],
        check: "drive each wheel alone; `diagnose` leads it. A wheel that turns backwards has its leads or its sign wrong",
    },
    Problem {
        seen: "every order acts one second late, or only after the release",
        cause: "the reader waits for an end mark that is not sent",
        rules: &["no-end-mark", "answer-one-second", "damaged-frames"],
        check: "on links without answers: press, and count the time until a wheel moves",
    },
    Problem {
        seen: "a hard start freezes everything for seconds",
        cause: "the motors' inrush resets the command board",
        rules: &["reset"],
        check: "",
    },
    Problem {
        seen: "forward and turn work, the slide locks",
        cause: "front and rear motor plugs of one side are exchanged",
        rules: &[],
        check: "off the tap, the orders are right: drive each wheel alone; another corner turns. `diagnose` leads it",
    },
    Problem {
        seen: "drives and slides, but will not turn on the spot",
        cause: "the rollers form an O from above, not an X",
        rules: &[],
        check: "off the tap, the orders are right: each wheel alone is right on the stand; look from above at the rollers",
    },
    Problem {
        seen: "go, stop, go while the stick is kept still",
        cause: "orders are sent only on change, against a deadline",
        rules: &["sends-on-change", "lapse"],
        check: "",
    },
    Problem {
        seen: "works with the laptop attached, not on the pack alone",
        cause: "no common ground between the boards",
        rules: &[],
        check: "off the tap, whose own ground lead repairs it: measure ohms between both boards' ground with the tap unplugged",
    },
    Problem {
        seen: "responds late, then plays old moves again",
        cause: "the sender floods a reader that honours the oldest",
        rules: &["answer-growing", "duty-flood"],
        check: "on links without answers: stir the stick, let go, and count how long it goes on",
    },
    Problem {
        seen: "the first order after each start is ignored",
        cause: "start-up text without a line end stands before it",
        rules: &["glued-at-start", "text-between"],
        check: "",
    },
    Problem {
        seen: "steady garbage",
        cause: "the line rate differs",
        rules: &["wrong-rate", "nothing-fits", "noise"],
        check: "",
    },
    Problem {
        seen: "hums and stays at little duty, jumps away at more",
        cause: "the duty is below the one that starts a wheel",
        rules: &["low-duty"],
        check: "raise the duty step by step, wheels up, and note where each wheel starts",
    },
    Problem {
        seen: "the text looks right, the board ignores it",
        cause: "a CR is left before the LF",
        rules: &["damaged-frames"],
        check: "",
    },
    Problem {
        seen: "only the tool chain changed, and the link is silent",
        cause: "the UART's default pins have moved",
        rules: &["silent-wire"],
        check: "see which pins the program names",
    },
    Problem {
        seen: "control is fine until the picture opens",
        cause: "the picture's stream keeps the sender busy",
        rules: &["late", "silent-while-moving"],
        check: "open and close the picture and leave a note each time",
    },
    Problem {
        seen: "now and then a wild value or a refusal",
        cause: "the reader takes a frame before it is whole, or two as one",
        rules: &["refused-intact", "damaged-frames"],
        check: "",
    },
    Problem {
        seen: "fine in the empty room, seconds late in the full one",
        cause: "the radio band is crowded",
        rules: &["panel-gap"],
        check: "",
    },
    Problem {
        seen: "the wheels jump as power comes on",
        cause: "pins float before the program starts",
        rules: &[],
        check: "off the tap, no frame was sent: wheels up, switch on ten times; none may move before the first order",
    },
    Problem {
        seen: "frames seem to come in bunches every 16 ms",
        cause: "the tap's own adapter",
        rules: &["adapter-grid"],
        check: "",
    },
    Problem {
        seen: "a copy of the build drives backwards",
        cause: "the published pin table is not the one as built",
        rules: &[],
        check: "off the tap, pins are not in the frames: drive each wheel alone and compare with the table row by row",
    },
];

/// The five link styles of the table, by the rover files that ship.
const STYLES: [&str; 5] = ["plain-line", "cue-line", "stave", "bead", "ladder"];

/// Both tables as they stand in the papers.
pub fn tables() -> String {
    format!("{}\n{}", problems(), judged())
}

fn problems() -> String {
    let mut text = String::from(
        "| | what people see | what is behind it | rule | what a person must check |\n|---|---|---|---|---|\n",
    );
    for (rank, problem) in (1..).zip(PROBLEMS) {
        let rules: Vec<String> = problem.rules.iter().map(|id| format!("`{id}`")).collect();
        let rules = if rules.is_empty() { "off the tap".to_owned() } else { rules.join(", ") };
        text += &format!("| {rank} | {} | {} | {rules} | {} |\n", problem.seen, problem.cause, problem.check);
    }
    text
}

/// Each rule by each link style, with both wires tapped where the style has a wire back.
fn judged() -> String {
    let mut text = format!("| rule | looks for | {} |\n|---|---|{}\n", STYLES.join(" | "), "---|".repeat(STYLES.len()));
    let files: Vec<RoverFile> = STYLES.iter().filter_map(|name| load(name)).collect();
    for rule in rules() {
        let cells: Vec<String> = files.iter().map(|file| cell(rule.as_ref(), file)).collect();
        text += &format!("| `{}` | {} | {} |\n", rule.id(), rule.looks_for(), cells.join(" | "));
    }
    text
}

fn load(name: &str) -> Option<RoverFile> {
    let file = built_in::find(name)?;
    RoverFile::load(file.name, file.text).ok()
}

fn cell(rule: &dyn Rule, file: &RoverFile) -> String {
    let gives = given(file);
    let lacks: Vec<&str> = rule.needs().iter().filter(|need| !gives.contains(need)).map(|need| need.says()).collect();
    if lacks.is_empty() { "judged".to_owned() } else { format!("cannot: needs {}", lacks.join(" and ")) }
}

/// What a style gives when its rhythm has been learned and both wires that it uses are tapped.
fn given(file: &RoverFile) -> Vec<Need> {
    let rhythm = match file.cadence {
        StatedCadence::OnChange => Rhythm::OnChange,
        StatedCadence::Every(period) => Rhythm::Every(period),
        StatedCadence::WhileMoving(period) => Rhythm::WhileMoving(period),
        StatedCadence::Learn => Rhythm::Learning,
    };
    let back = file.meaning.kinds[1].iter().any(|kind| kind.role != Role::Ignored);
    let mut given = gives(Some(file), [true, back], rhythm);
    // A tap on a port knows its line rate.
    given.push(Need::LineRate);
    given
}
