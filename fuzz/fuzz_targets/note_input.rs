//! See `note_input` in `src/lib.rs`.

#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| fourlimb_fuzz::note_input(bytes));
