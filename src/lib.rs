//! # Fourlimb
//!
//! Plays drums for songs of heavy music, like a person with two hands and two feet.
//!
//! The way of the data is one direction:
//!
//! | room | what it does |
//! | --- | --- |
//! | [`time`] | ticks, meters, tempi: pure arithmetic |
//! | [`kit`] | the pieces of the kit and their note map |
//! | [`groove`] | the drummer: settings and a bar in, strokes out |
//! | [`riff`] | the guitar's attacks: heard, captured, kept for the kick to follow |
//! | [`song`] | a whole song: sections, automation lanes, the file they are kept in |
//! | [`preview`] | the built-in sound |
//! | [`output`] | strokes to timed notes: the clock, note-offs, MIDI files, text charts |
//! | `files` | files written whole or not at all, for the commands and the plugin |
//! | `plugin` | the shell: parameters, transport, process, state |
//! | `editor` | the picture |
//! | `cli` | the program's commands |
//!
//! Everything above `files` is the core: no framework, no host, no threads, no clock on the wall.
//! `cargo check --lib --no-default-features` builds it alone.

#[macro_use]
pub mod choice;

pub mod check;
pub mod engine;
pub mod export;
pub mod groove;
pub mod kit;
pub mod midi;
pub mod preview;
pub mod recorder;
pub mod riff;
pub mod settings;
pub mod song;
pub mod time;
pub mod transport;

#[cfg(feature = "files")]
pub mod files;

#[cfg(feature = "cli")]
pub mod cli;

#[cfg(feature = "plugin")]
pub mod bridge;
#[cfg(feature = "plugin")]
pub mod editor;
#[cfg(feature = "plugin")]
pub mod params;
#[cfg(feature = "plugin")]
pub mod plugin;
#[cfg(feature = "plugin")]
pub mod project;

#[cfg(feature = "plugin")]
#[doc(hidden)]
pub mod entry {
    // What the framework's macros expand to is theirs to answer for.
    #![allow(unreachable_pub, clippy::pedantic, clippy::undocumented_unsafe_blocks)]
    use crate::plugin::Fourlimb;
    use nice_plug::prelude::*;

    #[cfg(feature = "empty")]
    use crate::plugin::empty::Empty;

    #[cfg(not(feature = "empty"))]
    nice_export_clap!(Fourlimb);
    #[cfg(feature = "empty")]
    nice_export_clap!(Fourlimb, Empty);
    nice_export_vst3!(Fourlimb);
}
