//! What people do to the sections of a song. Sections leave out what goes on from the one before; before they
//! are moved about, each is made to [say everything](SongFile::spelled_out), so that it stays as it was.

use super::file::{Section, SectionMeter, SongFile, VERSION};
use super::layout::MAX_BARS;
use crate::groove::DRUMMER;
use crate::settings::{SettingId, Settings};
use std::collections::{BTreeMap, BTreeSet};

impl Section {
    /// A section of so many bars that says what these settings say, in the host's meter.
    pub fn of(name: &str, bars: u32, settings: &Settings) -> Self {
        let mut section = Self {
            name: name.to_owned(),
            bars,
            meter: Some(SectionMeter::Host),
            ..Self::default()
        };
        section.state(settings);
        section
    }

    /// A section of so many bars that leaves everything to the panel, in the host's meter.
    pub fn of_panel(name: &str, bars: u32) -> Self {
        let mut section = Self {
            name: name.to_owned(),
            bars,
            meter: Some(SectionMeter::Host),
            ..Self::default()
        };
        let settings = SettingId::ALL.iter().copied();
        section.as_panel = settings.filter(|setting| setting.is_of_section()).collect();
        section
    }
}

impl SongFile {
    /// A song of one section.
    pub fn of(title: &str, section: Section) -> Self {
        Self {
            fourlimb_song: VERSION,
            drummer: DRUMMER,
            title: title.to_owned(),
            take: 1,
            phrase_bars: 4,
            start_bar: 1,
            sections: vec![section],
            automation: BTreeMap::new(),
            kick_source: None,
            riff_grid: None,
            riff: None,
            own_beats: std::collections::BTreeMap::new(),
        }
    }

    /// The same song with nothing left out: every section says what it has from the one before. It is
    /// played the same.
    #[must_use]
    pub fn spelled_out(&self) -> Self {
        let mut song = self.clone();
        let mut before = Section::of("", 1, &Settings::default());
        for section in &mut song.sections {
            section.inherit(&before);
            before = Section {
                locked: None,
                edits: Vec::new(),
                hits: Vec::new(),
                ..section.clone()
            };
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
