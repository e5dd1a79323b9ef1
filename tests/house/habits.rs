//! Habits of each file: its first line, its length, its name, the words it must not hold.

use super::fault::Fault;
use super::rust_text;

/// Longer files need a line that says why.
const MOST_LINES: usize = 500;

/// Names that gather what belongs nowhere.
const CATCH_ALL: &[&str] = &["util", "utils", "helper", "helpers", "common", "misc", "commands", "strings", "shared"];

/// What may stand at the top of the project, beside hidden folders and files.
const TOP: &[&str] = &[
    "Cargo.toml",
    "Cargo.lock",
    "README.md",
    "DEVELOPERS.md",
    "CHANGELOG.md",
    "LICENSE-MIT",
    "LICENSE-APACHE",
    "clippy.toml",
    "rustfmt.toml",
    "src",
    "parsers",
    "tests",
    "benches",
    "logs",
];

/// Text that speaks of a machine or of papers outside the project. In pieces, so that this file passes its own check.
const FOREIGN: &[(&str, &str)] = &[
    (concat!("/wo", "rk/"), "a path of one machine"),
    (concat!("/tm", "p/"), "a path of one machine"),
    (concat!("/ho", "me/"), "a path of one machine"),
    (concat!("/ro", "ot/"), "a path of one machine"),
    (concat!("/Us", "ers/"), "a path of one machine"),
    (concat!("issue", " #"), "a number of a tracker"),
    (concat!("../sh", "ared"), "a folder outside the project"),
    (concat!("../.lib", "rary"), "a folder outside the project"),
    (concat!("index.crates", ".io"), "the host of a registry"),
    (concat!("static.crates", ".io"), "the host of a registry"),
    (concat!("registry+", "https"), "the host of a registry"),
    (concat!("sparse+", "http"), "the host of a registry"),
    (concat!("FACTS", ".md"), "a paper outside the project"),
    (concat!("FIELD", ".md"), "a paper outside the project"),
    (concat!("JOBS", ".md"), "a paper outside the project"),
    (concat!("TIMING", ".md"), "a paper outside the project"),
    (concat!("WHEELS", ".md"), "a paper outside the project"),
    (concat!("VECTORS", ".json"), "a paper outside the project"),
];

/// Whole words that name such papers.
const FOREIGN_WORDS: &[&str] = &[
    concat!("DES", "IGN"),
    concat!("SCEN", "ARIO"),
    concat!("TA", "STE"),
    concat!("LESS", "ONS"),
    concat!("KINE", "MATICS"),
];

/// Ways to leave a test or a function undone, as tokens of code.
const UNDONE: &[(&[&str], &str)] = &[
    (&["todo", "!"], "a stub"),
    (&["unimplemented", "!"], "a stub"),
    (&["#", "[", "ignore"], "a test that does not run"),
    (&["assert", "!", "(", "true", ")"], "a test that asserts nothing"),
];

/// Calls that would send or move a control line.
const SENDS: &[&str] = &[
    "AsyncWrite",
    "AsyncWriteExt",
    "Write",
    "write",
    "write_all",
    "try_write",
    "write_vectored",
    "set_break",
    "write_request_to_send",
    "write_data_terminal_ready",
];

/// Every fault of a Rust source: first line, length, name, stubs, sending.
pub fn faults(file: &str, text: &str) -> Vec<Fault> {
    let code = rust_text::tokens(&rust_text::code_only(text));
    let words: Vec<&str> = code.iter().map(|token| token.text.as_str()).collect();
    let mut found = Vec::new();
    if !text.starts_with("//!") {
        found.push(Fault::new(file, 1, "the file does not open with `//!` and what it is"));
    }
    let lines = text.lines().count();
    if lines > MOST_LINES && !says_why(text) {
        found.push(Fault::new(
            file,
            lines,
            format!("{lines} lines, over {MOST_LINES}, and no line `// long because: ...`"),
        ));
    }
    found.extend(name_fault(file));
    for (tokens, what) in UNDONE {
        let places = words.windows(tokens.len()).enumerate().filter(|(_, window)| window == tokens);
        found.extend(places.map(|(at, _)| Fault::new(file, code[at].line, *what)));
    }
    if is_listener(file) {
        let sends = code.iter().filter(|token| SENDS.contains(&token.text.as_str()));
        found.extend(sends.map(|token| Fault::new(file, token.line, format!("`{}`: a tap never sends", token.text))));
    }
    found
}

fn says_why(text: &str) -> bool {
    text.lines()
        .any(|line| line.trim_start().strip_prefix("// long because:").is_some_and(|why| !why.trim().is_empty()))
}

/// The files that hold an open port.
fn is_listener(file: &str) -> bool {
    file == "src/source/serial.rs" || file.starts_with("src/source/serial/")
}

fn name_fault(file: &str) -> Option<Fault> {
    let stem = file.strip_suffix(".rs").unwrap_or(file);
    if stem.split('/').next_back() == Some("mod") {
        return Some(Fault::new(file, 1, "use `name.rs` beside `name/` in place of `mod.rs`"));
    }
    let catch_all = stem.split('/').find(|part| CATCH_ALL.contains(part))?;
    Some(Fault::new(file, 1, format!("`{catch_all}` is no noun of the trade: name what the file holds")))
}

/// Every place in a text file that speaks of something outside the project.
pub fn foreign(file: &str, text: &str) -> Vec<Fault> {
    // The lock file is made by cargo and names where each crate comes from.
    if file == "Cargo.lock" {
        return Vec::new();
    }
    let mut found = Vec::new();
    for (index, line) in text.lines().enumerate() {
        let lower = line.to_lowercase();
        let hits = FOREIGN.iter().filter(|(bad, _)| lower.contains(&bad.to_lowercase()));
        found.extend(hits.map(|(bad, what)| Fault::new(file, index + 1, format!("`{bad}`: {what}"))));
        let words = line.split(|c: char| !c.is_alphanumeric() && c != '_');
        let papers = words.filter(|word| FOREIGN_WORDS.contains(word));
        found.extend(papers.map(|word| Fault::new(file, index + 1, format!("`{word}`: a paper outside the project"))));
    }
    found
}

/// Whether a file stands at a place the project has.
pub fn place_fault(file: &str) -> Option<Fault> {
    let top = file.split('/').next().unwrap_or(file);
    if top.starts_with('.') || TOP.contains(&top) {
        return None;
    }
    Some(Fault::new(file, 1, format!("`{top}` is not one of the project's top-level names: {}", TOP.join(", "))))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn one(found: &[Fault], words: &str) {
        assert_eq!(found.len(), 1, "{found:?}");
        assert!(found[0].to_string().contains(words), "{}", found[0]);
    }

    #[test]
    fn a_good_file_has_no_fault() {
        let text = "//! A wheel.\n// todo!() in a remark\nconst X: &str = \"#[ignore]\";\n";
        assert_eq!(faults("src/rover/wheel.rs", text), []);
        assert_eq!(foreign("src/rover/wheel.rs", text), []);
        assert_eq!(place_fault("src/rover/wheel.rs"), None);
        assert_eq!(place_fault(".ci/run"), None);
    }

    #[test]
    fn a_file_that_does_not_say_what_it_is() {
        one(&faults("src/wheel.rs", "use x;\n//! A wheel."), "`//!`");
        one(&faults("src/wheel.rs", ""), "`//!`");
    }

    #[test]
    fn a_long_file_needs_a_reason() {
        let long = format!("//! Long.\n{}", "// line\n".repeat(MOST_LINES));
        one(&faults("src/wheel.rs", &long), "501 lines");
        one(&faults("src/wheel.rs", &format!("{long}// long because:\n")), "502 lines");
        assert_eq!(faults("src/wheel.rs", &format!("{long}// long because: one table\n")), []);
        let just = format!("//! Long.\n{}", "// line\n".repeat(MOST_LINES - 1));
        assert_eq!(faults("src/wheel.rs", &just), []);
    }

    #[test]
    fn a_catch_all_name() {
        for file in ["src/utils.rs", "src/rover/helpers.rs", "src/common/wheel.rs", "parsers/src/strings.rs"] {
            one(&faults(file, "//! X."), "noun of the trade");
        }
        one(&faults("src/rover/mod.rs", "//! X."), "mod.rs");
        assert_eq!(faults("src/model.rs", "//! X."), []);
    }

    #[test]
    fn a_stub_or_an_idle_test() {
        one(&faults("src/wheel.rs", "//! X.\nfn f() { todo!() }"), ":2: a stub");
        one(&faults("src/wheel.rs", "//! X.\nfn f() { unimplemented!(\"x\") }"), "a stub");
        one(&faults("src/wheel.rs", "//! X.\n#[ignore = \"slow\"]\nfn f() {}"), "does not run");
        one(&faults("src/wheel.rs", "//! X.\nfn f() { assert!(true) }"), "asserts nothing");
    }

    #[test]
    fn a_listener_that_sends() {
        one(&faults("src/source/serial.rs", "//! X.\nfn f() { port.write_all(b\"x\") }"), "never sends");
        one(&faults("src/source/serial/reader.rs", "//! X.\nuse tokio::io::AsyncWriteExt;"), "never sends");
        assert_eq!(faults("src/source/pseudo_port.rs", "//! X.\nfn f() { port.write_all(b\"x\") }"), []);
    }

    #[test]
    fn words_of_outside_the_project() {
        for (bad, what) in FOREIGN {
            one(&foreign("README.md", &format!("first\nsee {bad}x\n")), &format!(":2: `{bad}`: {what}"));
        }
        for bad in FOREIGN_WORDS {
            one(&foreign("src/wheel.rs", &format!("// see {bad} 3\n")), "a paper outside");
        }
        one(&foreign("README.md", concat!("Issue", " #7")), "tracker");
        assert_eq!(foreign("Cargo.lock", FOREIGN[10].0), []);
        assert_eq!(foreign("README.md", "redesigned tastes; a designer's lesson; target/work; temp/x"), []);
    }

    #[test]
    fn a_file_at_a_wrong_place() {
        assert!(place_fault("notes.md").is_some_and(|fault| fault.to_string().contains("`notes.md`")));
        assert!(place_fault("docs/index.md").is_some_and(|fault| fault.to_string().contains("`docs`")));
    }
}
