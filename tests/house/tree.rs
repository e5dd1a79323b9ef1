//! The project's own files.

use std::path::{Path, PathBuf};
use std::process::Command;
use std::{fs, io};

/// Every file of the project below `root`, with `/` between folders, in order: what git keeps or would keep; without
/// git, what stands there beyond build output.
pub fn files(root: &Path) -> Vec<String> {
    let mut found = kept_by_git(root).unwrap_or_else(|| walked(root));
    found.retain(|file| root.join(file).is_file());
    found.sort();
    found.dedup();
    found
}

fn kept_by_git(root: &Path) -> Option<Vec<String>> {
    let asked = ["ls-files", "-z", "--cached", "--others", "--exclude-standard"];
    let out = Command::new("git").arg("-C").arg(root).args(asked).output().ok()?;
    if !out.status.success() || !root.join(".git").exists() {
        return None;
    }
    let text = String::from_utf8(out.stdout).ok()?;
    Some(text.split('\0').filter(|file| !file.is_empty()).map(str::to_owned).collect())
}

/// All files below `root`, without `.git` and folders named `target`.
pub fn walked(root: &Path) -> Vec<String> {
    let mut found = Vec::new();
    let mut folders = vec![PathBuf::new()];
    while let Some(folder) = folders.pop() {
        for name in names(&root.join(&folder)).unwrap_or_default() {
            let inner = folder.join(&name);
            if root.join(&inner).is_dir() {
                folders.extend((name != ".git" && name != "target").then_some(inner));
            } else {
                found.push(inner.to_string_lossy().replace('\\', "/"));
            }
        }
    }
    found
}

fn names(folder: &Path) -> io::Result<Vec<String>> {
    fs::read_dir(folder)?.map(|entry| Ok(entry?.file_name().to_string_lossy().into_owned())).collect()
}

/// The text of a file; `None` when it is not text.
pub fn text(root: &Path, file: &str) -> Option<String> {
    String::from_utf8(fs::read(root.join(file)).expect(file)).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_walk_finds_files_and_leaves_build_output_out() {
        let root = tempfile::tempdir().unwrap();
        for file in ["a.rs", "src/b/c.rs", "target/d.rs", ".git/e", ".ci/run", "parsers/target/f"] {
            let path = root.path().join(file);
            fs::create_dir_all(path.parent().unwrap()).unwrap();
            fs::write(path, "x").unwrap();
        }
        let mut found = walked(root.path());
        found.sort();
        assert_eq!(found, [".ci/run", "a.rs", "src/b/c.rs"]);
        // This folder is no clone, so the answer must be the walk's.
        assert_eq!(files(root.path()).len(), if kept_by_git(root.path()).is_none() { 3 } else { 0 });
    }
}
