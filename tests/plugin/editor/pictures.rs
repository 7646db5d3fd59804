//! Golden pictures of the phrase: what the lanes show of every bar, as text. They are written as those of the
//! core are: `UPDATE_GOLDENS=1 cargo test --test plugin pictures`.

use super::*;
use crate::golden::{all, compare};
use fourlimb::project::Project;
use fourlimb::riff::{Attack, Riff};
use fourlimb::settings::{KickSource, Player};
use fourlimb::song::SongFile;
use std::fmt::Write as _;
use std::sync::Arc;

const FOLDER: &str = "plugin/pictures";

/// A bar as it is shown: what holds in it, its fill in ticks of the bar, and its strokes, with `ghost` behind
/// those that are ghost notes. Strokes beyond the player stand last, after a minus.
fn described(picture: &Picture) -> String {
    let bar = picture.bar().unwrap();
    let played = picture.played();
    let settings = played.settings();
    let riding = played.riding().map_or("nothing", Piece::name);
    let mut lines = format!(
        "{} {} at {}: {} intensity {:.3} density {:.3} riding {riding}, {} thinned, {}\n",
        bar.meter,
        settings.bar_settings.beat().name(),
        bar.start,
        settings.bar_settings.play.name(),
        settings.stroke_settings.intensity,
        settings.stroke_settings.density,
        played.thinned(),
        if played.follows_riff() {
            "follows the riff"
        } else {
            "follows no riff"
        },
    );
    if let Some(fill) = played.fill() {
        let (from, to) = (fill.start - bar.start, fill.end - bar.start);
        let _ = writeln!(lines, "  fill {from} to {to}: {fill}");
    }
    let stroke = |hit: &Hit, mark: &str| {
        let (limb, piece) = (hit.limb.name(), hit.piece.name());
        let (tick, grid) = (hit.tick - bar.start, hit.grid - bar.start);
        let grace = if hit.grace { " grace" } else { "" };
        let rings = if hit.ring == fourlimb::kit::Ring::On {
            " rings"
        } else {
            ""
        };
        format!(
            "{tick:>5} {grid:>5} {limb} {piece} {}{grace}{rings}{mark}",
            hit.velocity
        )
    };
    for hit in played.hits() {
        let mark = if hit.ghost { " ghost" } else { "" };
        let _ = writeln!(lines, "  {}", stroke(hit, mark));
    }
    for hit in played.dropped() {
        let _ = writeln!(lines, "- {}", stroke(hit, ""));
    }
    lines
}

/// The bars of a song as they are shown with these values, whether they follow its chart or not. `values` is
/// asked for each bar.
fn pictures(song: SongFile, riff: Riff, call: Call, values: impl Fn(usize, &mut Values)) -> String {
    let keeper = Project::default();
    keeper.change_song(song, None).unwrap();
    let song = keeper.song().unwrap();
    let riff = Arc::new(riff);
    let mut picture = Picture::default();
    let mut lines = String::new();
    for (i, &bar) in song.timeline.bars().iter().enumerate() {
        let mut here = Values {
            settings: song.timeline.start_settings(),
            ..Values::default()
        };
        values(i, &mut here);
        let mut snapshot = Snapshot::new(here, &Playhead::default()).with_project(&keeper);
        snapshot.attacks = riff.clone();
        snapshot.bpm = song.timeline.tempo().bpm_at(bar.start);
        snapshot.call = call;
        picture.compose(bar, &snapshot);
        let _ = write!(lines, "{} {}", i + 1, described(&picture));
    }
    lines
}

fn demo() -> SongFile {
    SongFile::parse(SongFile::DEMO).unwrap()
}

/// A guitar that plays dotted eighths through the first 40 bars.
fn riff() -> Riff {
    let attacks = (0..213).map(|i| Attack {
        tick: i * 720,
        strength: if i % 3 == 0 { 1.0 } else { 0.6 },
    });
    Riff::new(attacks, 0, 40 * 3840)
}

#[test]
fn pictures_of_the_demo_song_are_what_they_were() {
    let shown = pictures(demo(), Riff::default(), Call::default(), |_, values| {
        values.settings.bar_settings.player = Player::Everyday;
    });
    all([compare(FOLDER, "chart", &shown)]);
}

/// Every beat in turn, in the demo song's bars and tempi, for a player whom some of them are too much for.
#[test]
fn pictures_of_the_panel_are_what_they_were() {
    let shown = pictures(demo(), Riff::default(), Call::default(), |bar, values| {
        values.set(SettingId::Style, (bar % VOCABULARY.len()) as f32);
        let settings = &mut values.settings;
        settings.follow_chart = false;
        settings.bar_settings.player = Player::Everyday;
        settings.bar_settings.fill_chance = 1.0;
        settings.stroke_settings.intensity = (bar % 11) as f32 / 10.0;
        settings.stroke_settings.density = 1.0;
    });
    all([compare(FOLDER, "panel", &shown)]);
}

/// Feet that follow a riff, some bars of which are not known, and a fill that is called.
#[test]
fn pictures_of_riff_and_called_fill_are_what_they_were() {
    let mut song = demo();
    song.sections.truncate(7);
    song.automation.clear();
    let call = Call {
        fill: Some((1920, 2880)),
        lands: true,
    };
    let sources = [KickSource::Riff, KickSource::Both];
    all(sources.map(|source| {
        let shown = pictures(song.clone(), riff(), call, |_, values| {
            values.settings.bar_settings.kick_source = source;
        });
        compare(FOLDER, &format!("{} with a call", source.name()), &shown)
    }));
}

#[test]
fn pictures_of_locked_sections_are_what_they_were() {
    let song = SongFile::parse(include_str!("../../support/locked.json")).unwrap();
    let shown = pictures(song, Riff::default(), Call::default(), |_, _| {});
    all([compare(FOLDER, "locked", &shown)]);
}
