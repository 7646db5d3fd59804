//! The core, checked from outside: properties, chaos, published facts and golden regions.

#![allow(
    missing_docs,
    unreachable_pub,
    clippy::pedantic,
    reason = "a test reads better in plain words than in total functions"
)]

#[path = "../support/golden.rs"]
mod golden;
#[path = "../support/people.rs"]
mod people;
mod support;

mod as_panel;
mod basic_set_ups;
mod brute_force;
mod chaos;
mod chart;
mod chart_edit;
mod composer;
mod dynamics;
mod edits;
mod every_meter;
mod export;
mod export_parts;
mod feel;
mod fill_landings;
mod fill_shapes;
mod fills;
mod general_midi;
mod goldens;
mod goldens_chart;
mod hand_edit;
mod hands;
mod hi_hat;
mod hostile;
mod human;
mod latching;
mod locked;
mod midnam;
mod midnam_dtd;
mod midnam_hostile;
mod note_maps;
mod observed;
mod onset;
mod origins;
mod own_beats;
mod own_charts;
mod own_teaching;
mod phrases;
mod playable;
mod played;
mod played_file;
mod player;
mod preview;
mod properties;
mod published_beats;
mod resting;
mod riff;
mod riff_import;
mod riff_store;
mod rudiments;
mod score;
mod score_readers;
mod score_sheet;
mod smf;
mod smf_read;
mod smf_readers;
mod song_file;
mod song_text;
mod stabs;
mod table;
mod traces;
mod usage;
mod usage_exports;
mod usage_written;
mod variation;
