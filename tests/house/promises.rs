//! What manifests and papers promise each other: few crates below, a reason for each, one test command.

use super::fault::Fault;

/// What the crate `parsers` may be built on; everything else in its manifest is a fault.
pub fn parsers_manifest_faults(file: &str, text: &str) -> Vec<Fault> {
    let manifest: toml::Table = match text.parse() {
        Ok(manifest) => manifest,
        Err(error) => return vec![Fault::new(file, 1, error.to_string())],
    };
    let Some(built_on) = manifest.get("dependencies").and_then(toml::Value::as_table) else {
        return vec![Fault::new(file, 1, "no table of dependencies was found")];
    };
    let others = built_on.keys().filter(|name| !["memchr", "nom"].contains(&name.as_str()));
    others
        .map(|name| Fault::new(file, 1, format!("the parsers are built on `{name}`, beyond memchr and nom")))
        .collect()
}

/// Direct dependencies of `manifest` that `papers` (the text of `DEVELOPERS.md`) gives no row with a reason.
pub fn unexplained(file: &str, manifest: &str, papers: &str) -> Vec<Fault> {
    let manifest: toml::Table = match manifest.parse() {
        Ok(manifest) => manifest,
        Err(error) => return vec![Fault::new(file, 1, error.to_string())],
    };
    let kinds = ["dependencies", "dev-dependencies", "build-dependencies"];
    let tables = kinds.iter().filter_map(|kind| manifest.get(*kind)?.as_table());
    let names: Vec<&String> = tables.flat_map(toml::Table::keys).collect();
    if names.is_empty() {
        return vec![Fault::new(file, 1, "no dependency was found")];
    }
    let rows: Vec<&str> =
        papers.lines().filter(|line| line.starts_with("| `") && line.matches('|').count() >= 4).collect();
    let bare = names.into_iter().filter(|name| {
        let quoted = format!("`{name}`");
        !rows.iter().any(|row| row.split('|').nth(1).is_some_and(|cell| cell.contains(&quoted)))
    });
    bare.map(|name| Fault::new(file, 1, format!("`{name}` has no row with its reason in DEVELOPERS.md"))).collect()
}

/// The two commands that a bare Rust machine needs.
const SET_UP: [&str; 2] = ["cargo run --release -- demo", "cargo test --workspace"];

/// What is wrong with the set-up in the text of `README.md`.
pub fn set_up_faults(readme: &str) -> Vec<Fault> {
    let commands: Vec<&str> = readme
        .split_once("## Set up")
        .and_then(|(_, rest)| rest.split("\n## ").next())
        .map(|part| part.split("```").skip(1).step_by(2).flat_map(str::lines).filter(|line| !line.is_empty()).collect())
        .unwrap_or_default();
    if commands == SET_UP {
        return Vec::new();
    }
    vec![Fault::new("README.md", 1, format!("the set-up is {commands:?} and must be just {SET_UP:?}"))]
}

/// Rover files among `files` that the text of `README.md` gives no row.
pub fn unlisted_rover_files(files: &[String], readme: &str) -> Vec<Fault> {
    let names = files.iter().filter_map(|file| {
        let name = file.strip_prefix("src/rover/files/")?.strip_suffix(".toml")?;
        (!readme.contains(&format!("| `{name}` |"))).then_some((file, name))
    });
    names.map(|(file, name)| Fault::new(file, 1, format!("`{name}` has no row in README.md"))).collect()
}

/// Whether the check script runs the very test command of the set-up, before its other checks.
pub fn script_faults(script: &str) -> Vec<Fault> {
    let steps: Vec<&str> =
        script.lines().filter(|line| line.starts_with("step ") && line.contains(" cargo ")).collect();
    match steps.first() {
        Some(first) if first.ends_with(SET_UP[1]) => Vec::new(),
        first => vec![Fault::new(".ci/run", 1, format!("the first check is {first:?} and must be `{}`", SET_UP[1]))],
    }
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
    fn parsers_built_on_too_much() {
        one(&parsers_manifest_faults("parsers/Cargo.toml", "[dependencies]\nnom = \"8\"\nserde = \"1\"\n"), "`serde`");
        one(&parsers_manifest_faults("parsers/Cargo.toml", "[package]\n"), "no table");
        one(&parsers_manifest_faults("parsers/Cargo.toml", "[dep"), "parsers/Cargo.toml:1");
        assert_eq!(parsers_manifest_faults("parsers/Cargo.toml", "[dependencies]\nnom = \"8\"\nmemchr = \"2\"\n"), []);
    }

    #[test]
    fn a_dependency_without_a_reason() {
        let manifest = "[dependencies]\nnom = \"8\"\nserde = \"1\"\n[dev-dependencies]\ninsta = \"1\"\n";
        let papers =
            "| `nom` | leaves | by hand |\n| `serde`, `serde_json` | json | by hand |\nand `insta` in passing\n";
        one(&unexplained("Cargo.toml", manifest, papers), "`insta`");
        one(&unexplained("Cargo.toml", "[dependencies]\n", papers), "no dependency");
        one(&unexplained("Cargo.toml", "[dependencies", papers), "Cargo.toml:1");
        let whole = format!("{papers}| `insta` (tests) | screens | text |\n");
        assert_eq!(unexplained("Cargo.toml", manifest, &whole), []);
    }

    #[test]
    fn a_set_up_of_more_or_other_commands() {
        let right = "# x\n## Set up\n```\ncargo run --release -- demo\n```\n\n```\ncargo test --workspace\n```\n## Next\n```\nx\n```\n";
        assert_eq!(set_up_faults(right), []);
        one(&set_up_faults(&right.replace("--workspace", "--all")), "--all");
        one(&set_up_faults(&right.replace("demo\n", "demo\nmake extra\n")), "make extra");
        one(&set_up_faults("# x\n"), "[]");
    }

    #[test]
    fn a_rover_file_that_nobody_is_told_of() {
        let files = ["src/rover/files/bead.toml", "src/rover/files/stave.toml", "src/rover.rs"].map(str::to_owned);
        one(&unlisted_rover_files(&files, "| `stave` | markers |"), "`bead`");
        assert_eq!(unlisted_rover_files(&files, "| `stave` | markers |\n| `bead` | COBS |"), []);
    }

    #[test]
    fn a_script_that_checks_something_else_first() {
        let right = "step tools tools\nstep test cargo test --workspace\nstep lint cargo clippy\n";
        assert_eq!(script_faults(right), []);
        one(&script_faults("step lint cargo clippy\nstep test cargo test --workspace\n"), "cargo clippy");
        one(&script_faults("step test cargo test\n"), "cargo test");
        one(&script_faults("# step test cargo test --workspace\n"), "None");
    }
}
