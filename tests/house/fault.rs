//! What is wrong with a file, and where.

use std::fmt;

/// One fault.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    file: String,
    line: usize,
    says: String,
}

impl Fault {
    /// A fault in `line` (from 1) of `file`.
    pub fn new(file: &str, line: usize, says: impl Into<String>) -> Self {
        Self { file: file.to_owned(), line, says: says.into() }
    }
}

impl fmt::Display for Fault {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(out, "{}:{}: {}", self.file, self.line, self.says)
    }
}
