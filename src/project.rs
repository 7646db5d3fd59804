//! The project: everything that an instance keeps beside its parameters, in one document.
//!
//! - [`document`]: the document, and the form in which it is saved
//! - [`undo`]: changes of it, to be taken back and made again
//! - [`view`]: how the editor is looked at
//! - [`audio_ends`]: the links to the audio thread
//! - [`store`]: keeps the document, and hands what changed to the audio thread
//! - [`jobs`]: files read and written in the background
//! - [`default_map`]: the note map that new instances start with
//! - [`dragged`]: MIDI files that leave the window by dragging
//! - [`last_folders`]: where each kind of file was last chosen
//! - [`background`]: the threads that this takes

pub mod audio_ends;
pub mod background;
pub mod default_map;
pub mod document;
pub mod dragged;
pub mod jobs;
pub mod last_folders;
pub mod recording;
pub mod store;
pub mod undo;
pub mod view;

pub use audio_ends::AudioEnds;
pub use document::{Document, Song, SongState};
pub use jobs::{Job, JobQueue, Outcome};
pub use store::Project;
pub use view::ViewSettings;
