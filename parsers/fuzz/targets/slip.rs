//! Fuzz target `slip`.
#![no_main]

#[path = "../attempt.rs"]
mod attempt;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| attempt::attempt("slip", bytes));
