//! The order of use: which module may use which. Arrows go down only.

use super::fault::Fault;
use super::rust_text::{self, Path};

/// One module and what it may use beyond itself. The longest name that fits a file counts.
struct Row {
    module: &'static str,
    may: &'static [&'static str],
}

const fn row(module: &'static str, may: &'static [&'static str]) -> Row {
    Row { module, may }
}

/// The order, top to bottom. `parsers` is the crate of that name.
const ORDER: &[Row] = &[
    row("main", &["cli", "run"]),
    row("lib", &[]),
    // The names that may be typed: rover files that ship, link styles, faults.
    row("cli", &["run", "rover::built_in", "simulation::Style", "simulation::Fault"]),
    row(
        "run",
        &[
            "source",
            "session",
            "engine",
            "console",
            "simulation",
            "report",
            "rover",
            "diagnosis",
            "findings",
            "strength",
            "teach",
            "timing",
            "parsers",
            "compare",
            "export",
            "bundle",
        ],
    ),
    row("engine", &["parsers", "rover", "timing", "findings", "diagnosis"]),
    // A rule watches events; their types are all it may see of the engine.
    row("findings", &["rover", "timing", "parsers", "engine::event"]),
    row("diagnosis", &["rover", "parsers"]),
    row("strength", &["rover", "parsers"]),
    row("report", &["engine", "findings", "diagnosis", "strength", "rover", "timing", "parsers", "compare"]),
    row("export", &["engine", "report", "rover", "parsers"]),
    // What is overwritten is told from what the engine says of the bytes.
    row("bundle", &["engine", "parsers"]),
    row("compare", &["engine", "findings", "rover", "timing", "parsers"]),
    // A session can be read as a source: it needs the face of one and its error, nothing more.
    row("session", &["timing", "parsers", "source::Source", "source::SourceError"]),
    row("source", &["timing", "parsers", "session"]),
    row("source::simulated", &["timing", "parsers", "simulation"]),
    row("source::pseudo_port", &["timing", "parsers", "simulation"]),
    // Hardship is tried on the simulated rover.
    row("source::hardship::tests", &["timing", "parsers", "simulation"]),
    // It makes its frames by hand, so that it can witness for the decoder: of the parsers it knows time and wires.
    row("simulation", &["rover", "parsers::Nanos", "parsers::Wire"]),
    row("console", &["engine::snapshot", "findings", "rover::wheels", "parsers"]),
    row("rover", &["parsers"]),
    // A rover file from pressing buttons: bytes and times come in, a rover file comes out.
    row("teach", &["rover", "parsers"]),
    row("timing", &["parsers"]),
];

/// Things of the outside and where alone they may be used.
struct Outside {
    path: &'static str,
    only: &'static [&'static str],
    /// Whether a test beside the code may use it too.
    tests: bool,
}

const fn outside(path: &'static str, only: &'static [&'static str]) -> Outside {
    Outside { path, only, tests: false }
}

const fn clock(path: &'static str) -> Outside {
    Outside { path, only: &["run", "source", "session::record"], tests: true }
}

const CONFINED: &[Outside] = &[
    outside("crossterm", &["run", "console::keys"]),
    outside("ratatui::crossterm", &["run", "console::keys"]),
    outside("ratatui", &["console", "run"]),
    outside("chrono", &["session", "report", "run"]),
    outside("tokio", &["source", "run"]),
    outside("tokio_serial", &["source", "run"]),
    outside("rand_chacha", &["simulation", "source::hardship"]),
    clock("std::time::Instant"),
    clock("std::time::SystemTime"),
    clock("std::time::UNIX_EPOCH"),
    clock("std::time::self"),
    clock("std::time::*"),
];

/// What the crate `parsers` must do without.
const NOT_IN_PARSERS: &[&str] =
    &["wheeltap", "std::env", "std::fs", "std::io", "std::net", "std::process", "std::thread", "std::time"];

/// Every arrow of one source that runs up, and every use of the outside where it must not be.
pub fn faults(file: &str, text: &str) -> Vec<Fault> {
    let paths = rust_text::paths(text);
    if file.starts_with("parsers/src/") {
        return paths.iter().filter_map(|path| parsers_fault(file, path)).collect();
    }
    let Some(home) = home(file) else { return Vec::new() };
    let Some(row) = longest(&home) else {
        let says = format!("the module `{}` has no row in the order of use: give it one", home[0]);
        return vec![Fault::new(file, 1, says)];
    };
    paths
        .iter()
        .filter_map(|path| arrow_fault(file, &home, row, path).or_else(|| outside_fault(file, &home, path)))
        .collect()
}

/// The module of a file: `src/engine/event.rs` is `engine`, `event`.
fn home(file: &str) -> Option<Vec<String>> {
    let inner = file.strip_prefix("src/")?.strip_suffix(".rs")?;
    Some(inner.split('/').map(str::to_owned).collect())
}

fn longest(home: &[String]) -> Option<&'static Row> {
    ORDER.iter().filter(|row| covers(row.module, home)).max_by_key(|row| row.module.len())
}

/// Whether `wanted` (such as `engine::snapshot`) is `path` or stands above it.
fn covers(wanted: &str, path: &[String]) -> bool {
    let wanted: Vec<&str> = wanted.split("::").collect();
    wanted.len() <= path.len() && wanted.iter().zip(path).all(|(a, b)| a == b)
}

fn parsers_fault(file: &str, path: &Path) -> Option<Fault> {
    let whole = imported(&path.segments);
    let bad = NOT_IN_PARSERS.iter().find(|bad| covers(bad, &whole))?;
    Some(Fault::new(file, path.line, format!("`{}` is used: the parsers know nothing of `{bad}`", whole.join("::"))))
}

fn arrow_fault(file: &str, home: &[String], row: &Row, path: &Path) -> Option<Fault> {
    let target = target(home, path)?;
    let own = target.first() == home.first();
    if own || row.may.iter().any(|may| covers(may, &target) || face_of(may, &target)) {
        return None;
    }
    let may = if row.may.is_empty() { "nothing".to_owned() } else { row.may.join(", ") };
    let says = format!("`{}` is used, but `{}` may use only: {may}", target.join("::"), row.module);
    Some(Fault::new(file, path.line, says))
}

/// A type of the parsers or of a rule is allowed by its last name too: `parsers::chunk::Nanos` is `parsers::Nanos`.
fn face_of(may: &str, target: &[String]) -> bool {
    let Some((module, name)) = may.split_once("::") else { return false };
    let is_type = name.starts_with(char::is_uppercase);
    is_type && target.first().is_some_and(|first| first == module) && target.iter().any(|segment| segment == name)
}

/// What a path points at inside the project, from the top module down; `None` when it points elsewhere.
fn target(home: &[String], path: &Path) -> Option<Vec<String>> {
    let root = matches!(home.first().map(String::as_str), Some("main" | "lib")) && home.len() == 1;
    let mut here: Vec<String> = if root { Vec::new() } else { home.to_vec() };
    here.extend(path.within.iter().cloned());
    let mut rest = path.segments.as_slice();
    match rest.first()?.as_str() {
        "wheeltap_parsers" => {
            let inner = rest.iter().skip(1).cloned();
            return Some(std::iter::once("parsers".to_owned()).chain(inner).collect());
        }
        "crate" | "wheeltap" => here.clear(),
        "self" => {}
        "super" => {
            while rest.first().is_some_and(|segment| segment == "super") {
                here.pop();
                rest = &rest[1..];
            }
            here.extend(rest.iter().cloned());
            return Some(here);
        }
        first if root && path.within.is_empty() && longest(&[first.to_owned()]).is_some() => {
            return Some(rest.to_vec());
        }
        _ => return None,
    }
    here.extend(rest.iter().skip(1).cloned());
    Some(here)
}

fn outside_fault(file: &str, home: &[String], path: &Path) -> Option<Fault> {
    let whole = imported(&path.segments);
    let kept = CONFINED.iter().filter(|kept| covers(kept.path, &whole)).max_by_key(|kept| kept.path.len())?;
    let in_test = kept.tests && path.within.iter().chain(home).any(|module| module == "tests");
    if in_test || kept.only.iter().any(|only| covers(only, home)) {
        return None;
    }
    let says = format!("`{}` is used here, but it may be used only in: {}", whole.join("::"), kept.only.join(", "));
    Some(Fault::new(file, path.line, says))
}

/// `std::time` brought in whole counts as `std::time::self`: what is taken from it later cannot be seen.
fn imported(segments: &[String]) -> Vec<String> {
    let mut whole = segments.to_vec();
    if whole == ["std", "time"] {
        whole.push("self".to_owned());
    }
    whole
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn bad(file: &str, text: &str, names: &[&str]) {
        let found = faults(file, text);
        assert_eq!(found.len(), 1, "{file}: {text}: {found:?}");
        let says = found[0].to_string();
        assert!(says.starts_with(file), "{says}");
        for name in names {
            assert!(says.contains(name), "{says} does not name {name}");
        }
    }

    #[track_caller]
    fn good(file: &str, text: &str) {
        assert_eq!(faults(file, text), [], "{file}: {text}");
    }

    #[test]
    fn an_arrow_that_runs_up_is_named_with_file_line_and_import() {
        bad("src/timing/cadence.rs", "\n\nuse crate::findings::Finding;", &[":3:", "findings::Finding", "parsers"]);
        bad("src/simulation/panel.rs", "fn f() { crate::timing::link::chunk(); }", &["timing::link::chunk"]);
        bad("src/rover/file.rs", "use crate::{timing::link};", &["timing::link"]);
        bad("src/rover/file.rs", "use super::super::timing;", &["timing"]);
        bad("src/rover.rs", "use super::timing;", &["timing"]);
        bad("src/console/view.rs", "use crate::engine::Engine;", &["engine::Engine", "engine::snapshot"]);
        bad("src/console/view.rs", "use crate::engine;", &["`engine`"]);
        bad("src/console/view.rs", "use crate::rover::file::Rover;", &["rover::file::Rover"]);
        bad("src/findings/late.rs", "use crate::engine::Engine;", &["engine::Engine"]);
        bad("src/session/read.rs", "use crate::source::serial::Reader;", &["source::serial::Reader"]);
        bad("src/source/serial.rs", "use crate::simulation::Burst;", &["simulation::Burst"]);
        bad("src/source/hardship.rs", "use crate::simulation::Burst;", &["simulation::Burst"]);
        bad("src/cli.rs", "use crate::simulation::Moonwagon;", &["simulation::Moonwagon"]);
        bad("src/cli.rs", "use crate::rover::file::load;", &["rover::file::load", "rover::built_in"]);
        bad("src/main.rs", "use wheeltap::engine::Engine;", &["engine::Engine", "cli, run"]);
        bad("src/main.rs", "fn main() { wheeltap::session::read::open() }", &["session::read::open"]);
        bad("src/lib.rs", "pub use engine::Engine;", &["engine::Engine"]);
        bad("src/simulation/wire.rs", "use wheeltap_parsers::encode::frame;", &["parsers::encode::frame"]);
        bad("src/simulation/wire.rs", "use wheeltap_parsers as p;", &["`parsers`"]);
        bad("src/simulation/wire.rs", "use wheeltap_parsers::*;", &["`parsers::*`"]);
        bad("src/engine.rs", "use crate::*;", &["`*`"]);
        bad("src/timing/link.rs", "mod tests { use crate::engine::Engine; }", &["engine::Engine"]);
        bad("src/timing/link.rs", "mod tests { use super::super::super::engine::Engine; }", &["engine::Engine"]);
    }

    #[test]
    fn a_module_without_a_row_is_named() {
        bad("src/gadget.rs", "use crate::engine;", &["gadget", "order of use"]);
    }

    #[test]
    fn the_outside_stays_where_it_may_be() {
        bad("src/console/view/rover.rs", "use crossterm::event::KeyEvent;", &["crossterm", "console::keys"]);
        bad("src/console/view.rs", "use ratatui::crossterm::event::KeyEvent;", &["ratatui::crossterm"]);
        bad("src/engine.rs", "use ratatui::Frame;", &["ratatui::Frame", "console, run"]);
        bad("src/engine.rs", "use chrono::Utc;", &["chrono::Utc"]);
        bad("src/session/read.rs", "use tokio::time::Instant;", &["tokio::time::Instant"]);
        bad("src/session/read.rs", "fn f(x: tokio_serial::Error) {}", &["tokio_serial::Error"]);
        bad("src/engine.rs", "fn f() { std::time::Instant::now(); }", &["std::time::Instant"]);
        bad("src/session/read.rs", "use std::{fs, time::{Duration, SystemTime}};", &["std::time::SystemTime"]);
        bad("src/timing/cadence.rs", "use std::time;", &["std::time::self"]);
        bad("src/timing/cadence.rs", "use std::time::{self};", &["std::time::self"]);
        bad("src/diagnosis/prior.rs", "use rand_chacha::ChaCha8Rng;", &["rand_chacha"]);
    }

    #[test]
    fn the_parsers_know_nothing_of_what_is_above() {
        bad("parsers/src/check.rs", "use wheeltap::rover;", &["wheeltap::rover"]);
        bad("parsers/src/check.rs", "use std::time::Duration;", &["std::time"]);
        bad("parsers/src/check.rs", "fn f() { std::fs::read(p); }", &["std::fs::read"]);
        good("parsers/src/check.rs", "use std::sync::Arc; use nom::IResult; use crate::chunk::Chunk;");
    }

    #[test]
    fn arrows_down_are_right() {
        good("src/main.rs", "use wheeltap::{cli, run};");
        good("src/lib.rs", "//! crate::x::y\npub mod engine;");
        good("src/run.rs", "use crate::engine::Engine; use std::time::Instant; use ratatui::Terminal;");
        good("src/engine.rs", "use crate::findings::late; use wheeltap_parsers::Decoder; use std::time::Duration;");
        good("src/findings/late.rs", "use crate::engine::event::Event; use super::Finding; use self::x::y;");
        good("src/session/read.rs", "use crate::source::{Source, SourceError};");
        good("src/source/simulated.rs", "use crate::simulation::Moonwagon; use super::Source;");
        good("src/source/hardship/tests.rs", "use crate::simulation::Style;");
        good("src/simulation/wire.rs", "use wheeltap_parsers::{Nanos, chunk::Wire}; use super::Burst;");
        good("src/session/record.rs", "use std::time::Instant; use chrono::DateTime;");
        good("src/timing/link.rs", "mod tests { use super::*; use std::time::Instant; }");
        good("src/console/keys.rs", "use crossterm::event::KeyEvent; use crate::engine::snapshot::Snapshot;");
    }
}
