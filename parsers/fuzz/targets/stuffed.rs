//! Fuzz target `stuffed`.
#![no_main]

#[path = "../attempt.rs"]
mod attempt;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| attempt::attempt("stuffed", bytes));
