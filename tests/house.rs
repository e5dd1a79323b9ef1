//! The order of the house: arrows of use go down only, and every file keeps the project's habits.
//!
//! Each check is a function over a file's name and text, and is itself tried on planted bad samples.

#[path = "house/arrows.rs"]
mod arrows;
#[path = "house/fault.rs"]
mod fault;
#[path = "house/functions.rs"]
mod functions;
#[path = "house/habits.rs"]
mod habits;
#[path = "house/promises.rs"]
mod promises;
#[path = "house/rust_text.rs"]
mod rust_text;
#[path = "house/tree.rs"]
mod tree;

use std::path::Path;

use fault::Fault;

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// Runs `check` over every file that `wanted` lets through, and fails with all faults at once.
#[track_caller]
fn all(wanted: impl Fn(&str) -> bool, at_least: usize, check: impl Fn(&str, &str) -> Vec<Fault>) {
    let files: Vec<String> = tree::files(root()).into_iter().filter(|file| wanted(file)).collect();
    assert!(files.len() >= at_least, "only {} files were found: {files:?}", files.len());
    let faults: Vec<String> = files
        .iter()
        .filter_map(|file| Some(check(file, &tree::text(root(), file)?)))
        .flatten()
        .map(|fault| fault.to_string())
        .collect();
    assert!(faults.is_empty(), "{} faults:\n{}", faults.len(), faults.join("\n"));
}

fn is_rust(file: &str) -> bool {
    Path::new(file).extension().is_some_and(|ending| ending == "rs")
}

fn is_source(file: &str) -> bool {
    file.starts_with("src/") || file.starts_with("parsers/src/")
}

#[test]
fn arrows_of_use_go_down_only() {
    all(|file| is_rust(file) && is_source(file), 25, arrows::faults);
}

#[test]
fn functions_are_short() {
    let files = tree::files(root()).into_iter().filter(|file| is_rust(file) && is_source(file));
    let functions: Vec<_> =
        files.flat_map(|file| functions::of(&file, &tree::text(root(), &file).unwrap_or_default())).collect();
    assert!(functions.len() >= 30, "only {} functions were found", functions.len());
    let fault = functions::fault(functions);
    assert_eq!(fault, None, "{}", fault.as_deref().unwrap_or_default());
}

#[test]
fn every_source_keeps_the_habits() {
    all(is_rust, 30, habits::faults);
}

#[test]
fn the_files_speak_of_the_project_alone() {
    all(|_| true, 40, habits::foreign);
}

#[test]
fn every_file_has_its_place() {
    all(|_| true, 40, |file, _| habits::place_fault(file).into_iter().collect());
}

#[test]
fn the_parsers_are_built_on_little() {
    all(|file| file == "parsers/Cargo.toml", 1, promises::parsers_manifest_faults);
}

#[test]
fn every_direct_dependency_has_its_reason() {
    let papers = tree::text(root(), "DEVELOPERS.md").expect("text");
    let manifests = |file: &str| file == "Cargo.toml" || file == "parsers/Cargo.toml";
    all(manifests, 2, |file, text| promises::unexplained(file, text, &papers));
}

#[test]
fn the_set_up_is_two_commands_and_the_checks_run_the_second() {
    all(|file| file == "README.md", 1, |_, text| promises::set_up_faults(text));
    all(|file| file == ".ci/run", 1, |_, text| promises::script_faults(text));
}

#[test]
fn every_rover_file_that_ships_is_in_the_readme() {
    let files = tree::files(root());
    assert!(files.iter().filter(|file| file.starts_with("src/rover/files/")).count() >= 5, "{files:?}");
    all(|file| file == "README.md", 1, |_, readme| promises::unlisted_rover_files(&files, readme));
}

#[test]
fn what_a_reader_of_the_project_looks_for_is_there() {
    let files = tree::files(root());
    for file in
        ["README.md", "DEVELOPERS.md", "CHANGELOG.md", "LICENSE-MIT", "LICENSE-APACHE", ".ci/run", "logs/README.md"]
    {
        assert!(files.iter().any(|found| found == file), "{file} is missing");
    }
}
