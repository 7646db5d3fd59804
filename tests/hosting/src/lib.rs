//! What the tests, the benches and the developers' commands share. Nothing here depends on the plugin: the host
//! takes any CLAP plugin, and a song is the text of a song file.
//!
//! - [`host`]: a CLAP host; [`blocks`] are its audio thread, [`window`] its main one
//! - `vst3`: a VST3 host, on Linux
//! - [`state`]: the plugin's saved state
//! - [`guitar`]: a guitar that is synthesised
//! - [`sound`]: recorded sound and how loud it is
//! - [`figures`]: what ears would notice in it
//! - [`songs`]: random song files

pub mod blocks;
mod dialects;
pub mod figures;
pub mod guitar;
mod handlers;
pub mod host;
mod sent;
pub mod songs;
pub mod sound;
pub mod state;
#[cfg(target_os = "linux")]
pub mod vst3;
pub mod window;
