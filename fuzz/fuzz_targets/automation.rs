//! See `automation` in `src/lib.rs`.

#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| fourlimb_fuzz::automation(bytes));
