//! What a touch makes of the song: sections added, copied, moved and removed.

use crate::song::SongFile;
use crate::song::file::{Level, Section};

/// What can be done with a section.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Edit {
    /// Another one after it, with what it says.
    Add,
    /// The same once more.
    Copy,
    /// Earlier by one.
    Up,
    /// Later by one.
    Down,
    /// Out of the song.
    Remove,
}

impl Edit {
    /// In the order of their words.
    pub(super) const LIST: [Self; 5] = [Self::Add, Self::Copy, Self::Up, Self::Down, Self::Remove];

    /// Whether it can be done with the section at a place.
    pub(super) fn can(self, song: &SongFile, place: usize) -> bool {
        match self {
            Self::Add | Self::Copy => true,
            Self::Up => place > 0,
            Self::Down => place + 1 < song.sections.len(),
            Self::Remove => song.sections.len() > 1,
        }
    }

    /// Does it with a song that is spelled out; returns the place that is chosen then.
    pub(super) fn apply(self, song: &mut SongFile, place: usize) -> usize {
        let sections = &mut song.sections;
        match self {
            Self::Add => sections.insert(place + 1, after(&sections[place])),
            Self::Copy => sections.insert(place + 1, sections[place].clone()),
            Self::Up => sections.swap(place - 1, place),
            Self::Down => sections.swap(place, place + 1),
            Self::Remove => drop(sections.remove(place)),
        }
        match self {
            Self::Up => place - 1,
            Self::Remove => place.min(sections.len() - 1),
            Self::Add | Self::Copy | Self::Down => place + 1,
        }
    }
}

/// The section that is added after another: the same, but for what is its alone.
fn after(section: &Section) -> Section {
    let steady = |level: Option<Level>| level.map(|level| Level::Steady(level.ends().1));
    Section {
        name: format!("{} +", section.name.trim_end_matches([' ', '+'])),
        intensity: steady(section.intensity),
        density: steady(section.density),
        accent: steady(section.accent),
        fill_chance: steady(section.fill_chance),
        start: None,
        fill: None,
        take: None,
        frozen: None,
        locked: None,
        ..section.clone()
    }
}

/// The border of sections that is nearest to a bar, counted from the first section's first, from 0.
pub(super) fn place_at(song: &SongFile, bar: f32) -> usize {
    let mut at = 0.0;
    for (place, section) in song.sections.iter().enumerate() {
        let bars = section.bars as f32;
        if bar < at + bars / 2.0 {
            return place;
        }
        at += bars;
    }
    song.sections.len()
}

/// Carries a section to a border; returns its new place.
pub(super) fn carry(song: &mut SongFile, from: usize, border: usize) -> usize {
    let to = if border > from { border - 1 } else { border };
    let section = song.sections.remove(from);
    let to = to.min(song.sections.len());
    song.sections.insert(to, section);
    to
}

#[cfg(test)]
mod tests {
    use super::*;

    fn song(names: &str) -> SongFile {
        let mut song = SongFile::of("T", Section::default());
        song.sections = names
            .chars()
            .map(|name| Section {
                name: name.to_string(),
                bars: 4,
                ..Section::default()
            })
            .collect();
        song
    }

    fn names(song: &SongFile) -> String {
        song.sections.iter().map(|section| &*section.name).collect()
    }

    #[test]
    fn a_section_is_carried_to_the_border_nearest_to_the_pointer() {
        for (from, bar, carried, place) in [
            (0, 0.5, "abcd", 0),
            (0, 5.0, "abcd", 0),
            (0, 7.0, "bacd", 1),
            (0, 99.0, "bcda", 3),
            (3, -2.0, "dabc", 0),
            (2, 3.0, "acbd", 1),
        ] {
            let mut song = song("abcd");
            let border = place_at(&song, bar);
            assert_eq!(carry(&mut song, from, border), place, "{from} {bar}");
            assert_eq!(names(&song), carried, "{from} {bar}");
        }
    }

    #[test]
    fn what_is_a_sections_alone_does_not_go_to_the_next() {
        let mut song = song("a");
        song.sections[0].take = Some(7);
        song.sections[0].intensity = Some(Level::Ramp { from: 0.2, to: 0.8 });
        assert_eq!(Edit::Add.apply(&mut song, 0), 1);
        assert_eq!(song.sections[1].take, None);
        assert_eq!(song.sections[1].intensity, Some(Level::Steady(0.8)));
        assert_eq!(Edit::Copy.apply(&mut song, 0), 1);
        assert_eq!(song.sections[1].take, Some(7));
        assert!(!Edit::Up.can(&song, 0) && Edit::Remove.can(&song, 0));
    }
}
