//! The program `wheeltap`.

use std::process::ExitCode;

fn main() -> ExitCode {
    wheeltap::cli::main()
}
