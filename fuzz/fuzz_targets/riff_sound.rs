//! See `riff_sound` in `src/lib.rs`.

#![no_main]

use std::sync::Once;

static QUIET: Once = Once::new();

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
    // The fuzzer ends at the first panic, but those of the decoder are caught. One that is not caught can't
    // leave this closure, and ends the program all the same.
    QUIET.call_once(|| std::panic::set_hook(Box::new(|_| {})));
    fourlimb_fuzz::riff_sound(bytes);
});
