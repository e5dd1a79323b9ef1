//! Fuzz target `rover_file`.
#![no_main]

#[path = "../attempt.rs"]
mod attempt;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| attempt::attempt("rover_file", bytes));
