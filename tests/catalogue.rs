//! The catalogue of findings: each rule speaks where it must, is silent at what only looks alike, and says so where it
//! cannot judge. One file a rule in `tests/catalogue/`, on links made by hand from the formats, never simulated ones.
#![allow(missing_docs, clippy::unwrap_used)]

#[path = "catalogue/adapter_grid.rs"]
mod adapter_grid;
#[path = "catalogue/alternating_orders.rs"]
mod alternating_orders;
#[path = "catalogue/answer_growing.rs"]
mod answer_growing;
#[path = "catalogue/answer_late.rs"]
mod answer_late;
#[path = "catalogue/answer_missing.rs"]
mod answer_missing;
#[path = "catalogue/answer_one_second.rs"]
mod answer_one_second;
#[path = "catalogue/attribution.rs"]
mod attribution;
#[path = "timed/bench.rs"]
mod bench;
#[path = "catalogue/bunched.rs"]
mod bunched;
#[path = "catalogue/clock_beyond.rs"]
mod clock_beyond;
#[path = "catalogue/clock_off.rs"]
mod clock_off;
#[path = "catalogue/creep.rs"]
mod creep;
#[path = "catalogue/damaged_frames.rs"]
mod damaged_frames;
#[path = "catalogue/double_sends.rs"]
mod double_sends;
#[path = "catalogue/duty_flood.rs"]
mod duty_flood;
#[path = "catalogue/gap_inside.rs"]
mod gap_inside;
#[path = "catalogue/gear_after_restart.rs"]
mod gear_after_restart;
#[path = "catalogue/glued_at_start.rs"]
mod glued_at_start;
#[path = "catalogue/hand_made.rs"]
mod hand_made;
#[path = "catalogue/lapse.rs"]
mod lapse;
#[path = "catalogue/late_frames.rs"]
mod late_frames;
#[path = "catalogue/low_duty.rs"]
mod low_duty;
#[path = "catalogue/moves_at_start.rs"]
mod moves_at_start;
#[path = "catalogue/nearly_an_order.rs"]
mod nearly_an_order;
#[path = "catalogue/no_end_mark.rs"]
mod no_end_mark;
#[path = "catalogue/no_rest_between.rs"]
mod no_rest_between;
#[path = "catalogue/noise_runs.rs"]
mod noise_runs;
#[path = "catalogue/noise_with_duty.rs"]
mod noise_with_duty;
#[path = "catalogue/nothing_fits.rs"]
mod nothing_fits;
#[path = "catalogue/nothing_would_stop_it.rs"]
mod nothing_would_stop_it;
#[path = "timed/one_rover.rs"]
mod one_rover;
#[path = "catalogue/panel_gap.rs"]
mod panel_gap;
#[path = "catalogue/pins_apart.rs"]
mod pins_apart;
#[path = "catalogue/refused_intact.rs"]
mod refused_intact;
#[path = "catalogue/reports_stopped.rs"]
mod reports_stopped;
#[path = "catalogue/reset.rs"]
mod reset;
#[path = "catalogue/sends_on_change.rs"]
mod sends_on_change;
#[path = "catalogue/sequence_gap.rs"]
mod sequence_gap;
#[path = "catalogue/silent_while_moving.rs"]
mod silent_while_moving;
#[path = "catalogue/silent_wire.rs"]
mod silent_wire;
#[path = "catalogue/tap_clock.rs"]
mod tap_clock;
#[path = "catalogue/tap_lost.rs"]
mod tap_lost;
#[path = "catalogue/text_between.rs"]
mod text_between;
#[path = "catalogue/turn_correction.rs"]
mod turn_correction;
#[path = "catalogue/volts_low.rs"]
mod volts_low;
#[path = "catalogue/wrong_rate.rs"]
mod wrong_rate;

use std::collections::BTreeSet;
use std::path::Path;

use wheeltap::findings::catalogue::{PROBLEMS, tables};
use wheeltap::findings::rules;

fn text(name: &str) -> Option<String> {
    std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(name)).ok()
}

/// The files of the rules, as the list of rules names them: `Box::<lapse::Lapse>::default()` is `lapse`.
fn files_of_rules() -> Vec<String> {
    let source = text("src/findings.rs").unwrap();
    let named = source.split("Box::<").skip(1).filter_map(|rest| rest.split_once("::"));
    named
        .map(|(file, _)| file.to_owned())
        .filter(|file| file.bytes().all(|b| b.is_ascii_lowercase() || b == b'_'))
        .collect()
}

/// Which of the three tests a text lacks.
fn lacking(text: &str) -> Vec<&'static str> {
    let there = |name: &&str| {
        !text.contains(&format!("#[test]\n    fn {name}()")) && !text.contains(&format!("#[test]\nfn {name}()"))
    };
    ["positive", "look_alike", "cannot_judge"].into_iter().filter(there).collect()
}

/// The module of this name inside a file of tests.
fn module(text: &str, name: &str) -> Option<String> {
    let (_, rest) = text.split_once(&format!("\nmod {name} {{\n"))?;
    rest.split("\n}\n").next().map(str::to_owned)
}

#[test]
fn each_rule_has_its_three_tests() {
    let files = files_of_rules();
    assert_eq!(files.len(), rules().len(), "{files:?}");
    let here = text("tests/catalogue.rs").unwrap();
    for file in files {
        let own = text(&format!("src/findings/{file}.rs")).unwrap();
        let apart = text(&format!("tests/catalogue/{file}.rs")).filter(|_| here.contains(&format!("\nmod {file};\n")));
        let timed = text("tests/timed_rules.rs").and_then(|text| module(&text, &file)).unwrap_or_default();
        let tests = own + &apart.unwrap_or_default() + &timed;
        assert_eq!(lacking(&tests), Vec::<&str>::new(), "rule in src/findings/{file}.rs");
    }
}

#[test]
fn a_rule_that_lacks_a_test_is_found_out() {
    let whole = "#[test]\nfn positive() {}\n#[test]\nfn look_alike() {}\n#[test]\nfn cannot_judge() {}\n";
    assert_eq!(lacking(whole), Vec::<&str>::new());
    assert_eq!(lacking(&whole.replace("fn look_alike", "fn other")), ["look_alike"]);
    assert_eq!(lacking(&whole.replacen("#[test]\n", "", 1)), ["positive"]);
}

#[test]
fn ids_are_told_apart_and_each_trouble_has_a_rule_or_a_check() {
    let ids: BTreeSet<&str> = rules().iter().map(|rule| rule.id()).collect();
    assert_eq!(ids.len(), rules().len());
    for (rank, problem) in (1..).zip(PROBLEMS) {
        for id in problem.rules {
            assert!(ids.contains(id), "trouble {rank} names the rule {id}, which is not there");
        }
        let off = problem.check.starts_with("off the tap");
        assert_eq!(
            problem.rules.is_empty(),
            off,
            "trouble {rank}: a rule, or why it is off the tap and what a person checks"
        );
    }
}

const BEGIN: &str = "<!-- The catalogue, made from the code -->\n";
const END: &str = "<!-- End of the catalogue -->";

/// The papers hold the tables as the code makes them. With `WHEELTAP_WRITE_TABLES` set they are written.
#[test]
fn the_papers_hold_the_tables_of_the_code() {
    let papers = text("DEVELOPERS.md").unwrap();
    let (before, rest) = papers.split_once(BEGIN).expect("DEVELOPERS.md has the mark at which the catalogue begins");
    let (there, after) = rest.split_once(END).expect("DEVELOPERS.md has the mark at which the catalogue ends");
    if std::env::var_os("WHEELTAP_WRITE_TABLES").is_some() {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("DEVELOPERS.md");
        std::fs::write(path, format!("{before}{BEGIN}{}{END}{after}", tables())).unwrap();
        return;
    }
    assert!(there == tables(), "set WHEELTAP_WRITE_TABLES and run this test once; the tables would be:\n{}", tables());
}
