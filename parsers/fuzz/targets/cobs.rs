//! Fuzz target `cobs`.
#![no_main]

#[path = "../attempt.rs"]
mod attempt;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| attempt::attempt("cobs", bytes));
