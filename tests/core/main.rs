//! The core, checked from outside: properties, chaos, published facts and golden regions.

#![allow(
    missing_docs,
    unreachable_pub,
    clippy::pedantic,
    reason = "a test reads better in plain words than in total functions"
)]

mod support;

mod chaos;
mod feel;
mod general_midi;
mod goldens;
mod latching;
mod player;
mod properties;
mod published_beats;
mod smf;
mod song_file;
mod table;
