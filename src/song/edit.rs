//! What people do to the sections of a song. Sections leave out what goes on from the one before; before they
//! are moved about, each is made to [say everything](SongFile::spelled_out), so that it stays as it was.

use super::file::{Level, Section, SongFile, VERSION};
use super::layout::MAX_BARS;
use crate::settings::{FillShape, Hand, HandRate, Play, Settings};
use std::collections::{BTreeMap, BTreeSet};

/// Fills in what a later section leaves out.
fn inherit<T: Clone>(held: &mut Option<T>, own: &mut Option<T>) {
    match own {
        Some(own) => *held = Some(own.clone()),
        None => own.clone_from(held),
    }
}

/// The same for a level; after a ramp it goes on as the ramp ended.
fn inherit_level(held: &mut Option<Level>, own: &mut Option<Level>) {
    inherit(held, own);
    if let Some(Level::Ramp { to, .. }) = *held {
        *held = Some(Level::Steady(to));
    }
}

impl Section {
    /// A section of so many bars that says what these settings say, in the host's meter.
    pub fn of(name: &str, bars: u32, settings: &Settings) -> Self {
        let Settings {
            bar_settings,
            stroke_settings,
            ..
        } = settings;
        Self {
            name: name.to_owned(),
            bars,
            meter: Some("host".to_owned()),
            style: Some(bar_settings.beat().name.to_owned()),
            hand: Some(Hand::name(stroke_settings.hand).to_owned()),
            hand_rate: Some(HandRate::name(bar_settings.hand_rate).to_owned()),
            intensity: Some(Level::Steady(stroke_settings.intensity)),
            density: Some(Level::Steady(stroke_settings.density)),
            accent: Some(Level::Steady(stroke_settings.accent)),
            fill_chance: Some(Level::Steady(bar_settings.fill_chance)),
            fill_shape: Some(FillShape::name(bar_settings.fill_shape).to_owned()),
            play: Some(Play::name(bar_settings.play).to_owned()),
            ..Self::default()
        }
    }
}

impl SongFile {
    /// A song of one section.
    pub fn of(title: &str, section: Section) -> Self {
        Self {
            fourlimb_song: VERSION,
            title: title.to_owned(),
            take: 1,
            phrase_bars: 4,
            start_bar: 1,
            sections: vec![section],
            automation: BTreeMap::new(),
            kick_source: None,
            riff_grid: None,
            riff: None,
        }
    }

    /// The same song with nothing left out: every section says what it has from the one before. It is
    /// played the same.
    #[must_use]
    pub fn spelled_out(&self) -> Self {
        let mut song = self.clone();
        let mut held = Section::of("", 1, &Settings::default());
        for section in &mut song.sections {
            inherit(&mut held.meter, &mut section.meter);
            inherit(&mut held.bpm, &mut section.bpm);
            inherit(&mut held.style, &mut section.style);
            inherit(&mut held.hand, &mut section.hand);
            inherit(&mut held.hand_rate, &mut section.hand_rate);
            inherit(&mut held.fill_shape, &mut section.fill_shape);
            inherit(&mut held.play, &mut section.play);
            inherit_level(&mut held.intensity, &mut section.intensity);
            inherit_level(&mut held.density, &mut section.density);
            inherit_level(&mut held.accent, &mut section.accent);
            inherit_level(&mut held.fill_chance, &mut section.fill_chance);
        }
        song
    }

    /// Freezes a section, by its place from 0, to a take (1..=999): as long as it is frozen, other sections
    /// may come, go and change, and it is played the same. A frozen one only gets the take.
    #[must_use]
    pub fn frozen(&self, place: usize, take: u32) -> Self {
        let mut song = self.spelled_out();
        let number = self.numbers().get(place).copied();
        if let Some(section) = song.sections.get_mut(place) {
            section.frozen = number;
            section.take = Some(take);
        }
        song
    }

    /// The numbers that the sections' decisions by chance go by: for each the one that it is frozen to, or its
    /// place from 1; where another section is frozen to that, one beyond every song.
    pub(super) fn numbers(&self) -> Vec<u32> {
        let taken: BTreeSet<u32> = self.sections.iter().filter_map(|s| s.frozen).collect();
        let number = |(own, section): (u32, &Section)| {
            let beyond = if taken.contains(&own) { MAX_BARS } else { 0 };
            section.frozen.unwrap_or(own + beyond)
        };
        (1..).zip(&self.sections).map(number).collect()
    }
}
