//! Sections that leave settings to the panel: their form comes from the chart, their levels from the host.

use crate::chart::from;
use fourlimb::engine::offline;
use fourlimb::settings::{SettingId, Settings};
use fourlimb::song::file::{Level, Section};
use fourlimb::song::{SongFile, Timeline};
use fourlimb::time::Ticks;
use proptest::prelude::*;

const BAR: Ticks = 3840;

fn of(sections: Vec<Section>) -> SongFile {
    let mut song = SongFile::of("T", Section::default());
    song.sections = sections;
    song
}

fn in_force(song: &SongFile, tick: Ticks, panel: &Settings) -> Settings {
    let timeline = Timeline::new(song).unwrap();
    timeline.chart().settings(tick, panel)
}

/// What a section of the panel's own is in force with.
fn is_of_panel(settings: &Settings, panel: &Settings) -> bool {
    let mut stated = SettingId::ALL.iter().filter(|s| s.is_of_section());
    stated.all(|&s| settings.get(s) == panel.get(s))
}

fn panels() -> impl Strategy<Value = Settings> {
    let levels = (0.0..=1.0_f32, 0.0..=1.0_f32, 0.0..=1.0_f32, 0.0..=1.0_f32);
    (levels, 0..33_u16, 0..10_u16).prop_map(|((a, b, c, d), style, hand)| {
        let mut panel = Settings {
            follow_chart: true,
            ..Settings::default()
        };
        for (setting, value) in [
            (SettingId::Intensity, a),
            (SettingId::Density, b),
            (SettingId::Accent, c),
            (SettingId::FillChance, d),
            (SettingId::Style, f32::from(style)),
            (SettingId::Hand, f32::from(hand)),
        ] {
            panel.set(setting, value);
        }
        panel
    })
}

proptest! {
    /// Everywhere in a song of nothing but names and lengths the panel is in force as it stands, and what is spelled
    /// out is the same.
    #[test]
    fn a_section_of_name_and_length_plays_the_panel(
        panel in panels(),
        bars in proptest::collection::vec(1..7_u32, 1..5),
    ) {
        let sections = bars.iter().map(|&bars| Section::of_panel("S", bars)).collect();
        let song = of(sections);
        prop_assert_eq!(&song.spelled_out(), &song);
        let end = i64::from(bars.iter().sum::<u32>()) * BAR;
        for tick in (0..end).step_by(960) {
            prop_assert!(is_of_panel(&in_force(&song, tick, &panel), &panel), "{}", tick);
        }
    }

    /// A song whose sections state what the panel says plays the same notes, if the panel then leaves the chart
    /// as it is.
    #[test]
    fn the_panel_or_the_sections_may_say_it(panel in panels(), bars in 1..9_u32) {
        let left = of(vec![Section::of_panel("A", bars), Section::of_panel("B", 3)]);
        let mut said = left.clone();
        for section in &mut said.sections {
            let (name, bars) = (section.name.clone(), section.bars);
            *section = Section::of(&name, bars, &panel);
        }
        let play = |song: &SongFile, panel: &Settings| {
            let mut timeline = Timeline::new(song).unwrap();
            *timeline.start_mut() = *panel;
            offline::play(&timeline)
        };
        let mut middle = panel;
        for level in [SettingId::Intensity, SettingId::Density, SettingId::Accent] {
            middle.set(level, 0.5);
        }
        let (left, said) = (play(&left, &panel), play(&said, &middle));
        prop_assert_eq!(from(&left, 0, 99 * BAR), from(&said, 0, 99 * BAR));
        prop_assert!(!left.is_empty());
    }
}

/// A section after it goes on with the panel, unless it says otherwise; what a section says itself counts as it
/// stands there.
#[test]
fn a_stated_level_counts_beside_levels_of_the_panel() {
    let mut loud = Section {
        name: "Loud".to_owned(),
        bars: 2,
        ..Section::default()
    };
    loud.set(SettingId::Intensity, Level::Steady(0.9));
    let after = Section {
        name: "After".to_owned(),
        bars: 2,
        ..Section::default()
    };
    let mut song = of(vec![Section::of_panel("Verse", 2), loud, after]);
    let mut panel = Settings {
        follow_chart: true,
        ..Settings::default()
    };
    for level in [0.2, 0.7] {
        panel.set(SettingId::Intensity, level);
        panel.set(SettingId::Density, level);
        let at = |bar: Ticks| in_force(&song, bar * BAR, &panel);
        assert_eq!(at(0).get(SettingId::Intensity), level);
        // As it stands, not moved.
        assert_eq!(at(2).get(SettingId::Intensity), 0.9);
        // What is left out goes on as before.
        assert_eq!(at(2).get(SettingId::Density), level);
        assert_eq!(at(4).get(SettingId::Intensity), 0.9);
    }
    // Left to the panel again.
    song.sections[2].leave(SettingId::Intensity);
    assert_eq!(
        in_force(&song, 4 * BAR, &panel).get(SettingId::Intensity),
        0.7
    );
    let json = serde_json::to_string(&song).unwrap();
    assert_eq!(SongFile::parse(&json).unwrap(), song);
}

/// A lane counts from its first point on, whatever the sections leave to the panel.
#[test]
fn a_lane_replaces_the_panel() {
    let json = r#"{"fourlimb_song": 1, "title": "T",
        "sections": [{"name": "A", "bars": 4, "as_panel": ["intensity"]}],
        "automation": {"intensity": [{"bar": 3, "value": 0.9}]}}"#;
    let song = SongFile::parse(json).unwrap();
    let mut panel = Settings {
        follow_chart: true,
        ..Settings::default()
    };
    panel.set(SettingId::Intensity, 0.3);
    for (bar, level) in [(0, 0.3), (1, 0.3), (2, 0.9), (3, 0.9)] {
        let settings = in_force(&song, bar * BAR, &panel);
        assert_eq!(settings.get(SettingId::Intensity), level, "{bar}");
    }
}

#[test]
fn what_a_section_can_not_leave_is_named() {
    for (fields, problem) in [
        (
            r#""as_panel": ["fill_now"]"#,
            r#"sections[0].as_panel ("A"): a section can't leave "fill_now" to the panel: use settings that a section can state"#,
        ),
        (
            r#""as_panel": ["density"], "density": 0.4"#,
            r#"sections[0].as_panel ("A"): the section also states "density": leave one of the two out"#,
        ),
    ] {
        let json = format!(
            r#"{{"fourlimb_song": 1, "title": "T", "sections": [{{"name": "A", "bars": 4, {fields}}}]}}"#
        );
        let song = SongFile::parse(&json).unwrap();
        let error = Timeline::new(&song).unwrap_err().to_string();
        assert_eq!(error, problem);
    }
    let unknown = r#"{"fourlimb_song": 1, "title": "T",
        "sections": [{"name": "A", "bars": 4, "as_panel": ["loudness"]}]}"#;
    let error = SongFile::parse(unknown).unwrap_err().to_string();
    assert!(
        error.contains("as_panel") && error.contains("loudness"),
        "{error}"
    );
}
