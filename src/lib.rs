//! # Fourlimb
//!
//! Plays drums for songs of heavy music, like a person with two hands and two feet.
//!
//! Data flows in one direction:
//!
//! | module | what it does |
//! | --- | --- |
//! | [`time`] | ticks, meters, tempi: pure arithmetic |
//! | [`settings`] | what the songwriter sets |
//! | [`kit`] | the pieces of the kit and their note map |
//! | [`groove`] | the drummer: settings and a bar in, strokes out |
//! | [`riff`] | the guitar's attacks: detected, captured, kept for the kick to follow |
//! | [`song`] | a whole song: sections, automation lanes, the song file |
//! | [`transport`] | the host's time as steady spans of ticks, and the bar lines |
//! | [`engine`] | the sequencer, live and offline: what is in force, and the hits |
//! | [`midi`] | notes with their note-offs, Standard MIDI Files |
//! | [`recorder`] | live playing, kept for a while |
//! | [`export`] | songs as MIDI files and text charts, sections edited by hand |
//! | [`check`] | whether two hands and two feet can play some strokes |
//! | [`preview`] | the built-in sound |
//! | `files` | atomic file writes, for the commands and the plugin |
//! | `bridge` | snapshots from the audio thread to the editor |
//! | `params` | the host's parameters |
//! | `project` | the document that a project saves, undo, background jobs |
//! | `plugin` | the plugin's entry points, audio thread and state |
//! | `editor` | the graphical interface |
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
