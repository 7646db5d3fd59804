//! A small VST3 host, on Linux: loads a library, makes plugins of it, runs blocks, saves and loads states, and opens
//! the window under X11. What it hands over is as odd as a test wants: buffers that are missing, streams that break
//! off, values that are no numbers.
//!
//! - [`library`]: the file, its factory and classes
//! - [`plugin`]: one plugin: buses, parameters, state. Main thread
//! - [`processing`]: its blocks, for the audio thread; `lists` are what goes in and out
//! - [`stream`]: what a state is written to and read from
//! - [`view`]: its window. Main thread

pub mod library;
pub(crate) mod lists;
pub mod plugin;
pub mod processing;
pub mod stream;
pub mod view;

use anyhow::{Result, ensure};
use vst3::Steinberg::{kResultOk, tresult};

/// Checks what a plugin answered.
///
/// # Errors
/// Where it is not `kResultOk`; `what` names the question.
fn ok(what: &str, answer: tresult) -> Result<()> {
    ensure!(answer == kResultOk, "{what} answered {answer}");
    Ok(())
}

/// The text up to the first zero.
fn utf16(text: &[u16]) -> String {
    let end = text
        .iter()
        .position(|unit| *unit == 0)
        .unwrap_or(text.len());
    String::from_utf16_lossy(&text[..end])
}

/// The text up to the first zero.
fn utf8(text: &[std::ffi::c_char]) -> String {
    let bytes = text.iter().map(|byte| byte.to_ne_bytes()[0]);
    let bytes: Vec<u8> = bytes.take_while(|byte| *byte != 0).collect();
    String::from_utf8_lossy(&bytes).into_owned()
}
