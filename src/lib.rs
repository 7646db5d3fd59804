//! # Fourlimb
//!
//! Plays drums for songs of heavy music, like a person with two hands and two feet.
//!
//! Data flows in one direction:
//!
//! | module | what it does |
//! | --- | --- |
//! | [`choice`] | what a choice is made of: its names, its texts, its parser |
//! | [`time`] | ticks, meters, tempi, the observed tempo map: pure arithmetic |
//! | [`kit`] | the pieces of the kit and their keys |
//! | [`midi`] | Standard MIDI Files, note-offs |
//! | [`settings`] | every setting: its range, default, texts and place |
//! | [`riff`] | the guitar's attacks: heard, captured, kept for the kick to follow |
//! | [`groove`] | the drummer: settings and a bar in, strokes out |
//! | [`check`] | whether a person can play a file |
//! | [`song`] | a whole song: sections, automation lanes, the file they are kept in |
//! | [`transport`] | the host's time: clock and bar lines |
//! | [`engine`] | what is played when: live, offline, in the picture |
//! | [`recorder`] | what was played |
//! | [`export`] | songs and recordings as files |
//! | [`preview`] | the built-in sound |
//! | `files` | files written whole or not at all |
//! | `project` | the document, its undo, its jobs |
//! | `params` | the host's parameters |
//! | `bridge` | what the plugin and its window say to each other |
//! | `editor` | the window |
//! | `plugin` | the shell: process, state |
//! | `cli` | the program's commands |
//!
//! Everything above `files` is the core: no framework, no host, no threads, no wall clock.
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
    // Exempts the code that the framework's macros generate.
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
