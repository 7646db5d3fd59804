//! Random projects: a song with all that a section can say, a riff, a note map and beats of the songwriter's own.

use super::Rng;
use anyhow::{Result, bail};
use fourlimb::kit::Piece;
use fourlimb::kit::map_file::NamedMap;
use fourlimb::riff::Riff;
use fourlimb::riff::attacks::Attack;
use fourlimb::settings::{KickSource, RiffGrid, SectionFill, SettingId, Start, Style};
use fourlimb::song::{SongFile, Timeline};
use fourlimb::time::Ticks;
use hosting::songs::{self, Ranges};
use rand::RngExt as _;
use rand::seq::IndexedRandom as _;
use serde_json::{Map, Value, json};
use std::collections::BTreeSet;

/// A project to play.
pub(super) struct Drawn {
    pub(super) song: SongFile,
    pub(super) timeline: Timeline,
    pub(super) riff: Riff,
    pub(super) map: NamedMap,
}

/// How many songs may be refused, one after the other, before the drawing itself is at fault.
const MOST_REFUSED: u32 = 100;

/// A beat of the songwriter's own.
const OWN_BEAT: &str = r#"{"fourlimb_beat": 1, "name": "limping", "meter": "4/4", "feel": "straight",
    "hand_cymbal": "hi-hat closed", "hand_rate": "eighths", "hands": "one rides", "crash_opens": true,
    "bars": [[[1, 0, "kick", {"weight": 0.4}], [1, 720, "kick"], [2, 0, "snare"],
        [2, 720, "snare", {"rank": 0.3, "ghost": true}], [3, 480, "kick", {"rank": 0.5}], [4, 0, "snare"]]]}"#;

/// Pieces that random strokes are on.
const STRUCK: [Piece; 8] = [
    Piece::Kick,
    Piece::Snare,
    Piece::HiHatClosed,
    Piece::HiHatOpen,
    Piece::Ride,
    Piece::CrashLeft,
    Piece::China,
    Piece::RackHigh,
];

/// Draws a project. A *plain* one says everything itself, so that it is played offline as in a host.
///
/// # Errors
/// Where nearly every song that is drawn is refused.
pub(super) fn draw(rng: &mut Rng, is_plain: bool) -> Result<Drawn> {
    let mut last = String::new();
    for _ in 0..MOST_REFUSED {
        let text = song(rng, is_plain);
        // Chance writes songs that make no sense: the reader has to say so, and another is drawn.
        let read = SongFile::parse(&text).and_then(|song| Ok((Timeline::new(&song)?, song)));
        match read {
            Ok((mut timeline, song)) => {
                let riff = riff(rng, timeline.end());
                if timeline.riff().is_empty() {
                    timeline.set_riff(riff.clone());
                }
                let map = map(rng)?;
                return Ok(Drawn {
                    riff: timeline.riff().clone(),
                    song,
                    timeline,
                    map,
                });
            }
            Err(problem) => last = problem.to_string(),
        }
    }
    bail!("{MOST_REFUSED} random songs were refused, one after the other; the last: {last}")
}

fn song(rng: &mut Rng, is_plain: bool) -> String {
    let mut fields = Map::new();
    let of_section = SettingId::shown().filter(|setting| setting.is_of_section());
    let mut choices: Vec<_> = of_section
        .map(|setting| {
            let texts = if setting == SettingId::Style {
                Style::NAMES
            } else {
                setting.kind().texts()
            };
            (setting.row().id, texts)
        })
        .collect();
    choices.extend([
        ("start", Start::NAMES),
        ("fill", SectionFill::NAMES),
        ("kick_source", KickSource::NAMES),
    ]);
    if !is_plain && rng.random_ratio(1, 3) {
        choices.push(("meter", &["host"]));
    }
    // Most songs keep a tempo; others change it at every section.
    let bpm = rng.random_range(50.0..320.0);
    let to = if rng.random_ratio(1, 3) {
        rng.random_range(bpm..=320.0)
    } else {
        bpm
    };
    let ranges = Ranges {
        fields: choices,
        bars: 1..=6,
        bpm: bpm..=to,
    };
    let count = rng.random_range(1..=7);
    let sections: Vec<_> = (0..count)
        .map(|_| {
            let mut section = songs::section(rng.random(), &ranges);
            if rng.random_ratio(1, 10) {
                section["style"] = "own 1".into();
            }
            detail(rng, &mut section, is_plain);
            section
        })
        .collect();
    fields.insert("take".to_owned(), rng.random_range(1..=999).into());
    fields.insert(
        "phrase_bars".to_owned(),
        (*[2, 4, 8].choose(rng).unwrap_or(&4)).into(),
    );
    // A count-in needs a bar before the song.
    fields.insert("start_bar".to_owned(), rng.random_range(2..=3).into());
    if let Some(grid) = RiffGrid::NAMES.choose(rng) {
        fields.insert("riff_grid".to_owned(), (*grid).into());
    }
    let own: Value = serde_json::from_str(OWN_BEAT).unwrap_or_default();
    fields.insert("own_beats".to_owned(), json!({ "1": own }));
    songs::song(&Value::Object(fields), sections)
}

/// Gives a section what a person adds by hand: hits, edits, or all of its strokes.
fn detail(rng: &mut Rng, section: &mut Value, is_plain: bool) {
    let sixteenths = section["bars"].as_i64().unwrap_or(1) * 12;
    let places = |rng: &mut Rng, most: usize| -> BTreeSet<Ticks> {
        let count = rng.random_range(1..=most);
        (0..count)
            .map(|_| rng.random_range(0..sixteenths) * 240)
            .collect()
    };
    let piece = |rng: &mut Rng| STRUCK.choose(rng).unwrap_or(&Piece::Kick).name();
    match rng.random_range(0..8) {
        0 => {
            let hits = places(rng, 6).into_iter();
            let hits = hits.map(|at| json!([at, if at % 960 == 0 { "long" } else { "short" }]));
            section["hits"] = hits.collect();
        }
        1 => {
            let edits = places(rng, 12).into_iter().map(|at| {
                let piece = piece(rng);
                match rng.random_range(0..4) {
                    0 => json!([at, "leave out", "snare"]),
                    1 => json!([at, "change", "hand", "louder 10"]),
                    2 => json!([at, "change", "kick", format!("to {}", at + 120)]),
                    _ => json!([at, "add", piece, "velocity 101"]),
                }
            });
            section["edits"] = edits.collect();
        }
        2 => {
            let locked = places(rng, 40).into_iter();
            let locked = locked.map(|at| json!([at, piece(rng), rng.random_range(1..=127)]));
            section["locked"] = locked.collect();
        }
        3 if !is_plain => section["as_panel"] = json!(["intensity", "density"]),
        _ => {}
    }
    for part in ["start", "fill", "kick_source", "crashes", "play"] {
        // Not every section says everything.
        if rng.random_ratio(2, 3)
            && let Some(section) = section.as_object_mut()
        {
            section.remove(part);
        }
    }
}

/// A guitar that knows a part of the song.
fn riff(rng: &mut Rng, end: Ticks) -> Riff {
    if rng.random_ratio(1, 3) {
        return Riff::default();
    }
    let grid = *[240, 320, 160].choose(rng).unwrap_or(&240);
    let places = end / grid;
    let mut attacks = Vec::new();
    for place in 0..places {
        if rng.random_ratio(2, 5) {
            attacks.push(Attack {
                tick: place * grid + rng.random_range(-20..20),
                strength: rng.random(),
            });
        }
    }
    // A project saves strengths in steps.
    Riff::load(&Riff::new(attacks, 0, end).save()).unwrap_or_default()
}

/// General MIDI, or a map of keys by chance.
fn map(rng: &mut Rng) -> Result<NamedMap> {
    if rng.random_ratio(1, 3) {
        return Ok(NamedMap::default());
    }
    let mut keys: Vec<u8> = (24..100).collect();
    let mut pieces = Map::new();
    for piece in Piece::ALL {
        if rng.random_ratio(1, 8) {
            // The sampler lacks it: something else plays in its place.
            continue;
        }
        let mut key = || {
            let at = rng.random_range(0..keys.len());
            keys.swap_remove(at)
        };
        let notes = if piece == Piece::Snare {
            json!({"notes": [key(), key()], "alternates": "by hand"})
        } else {
            json!({"notes": [key()]})
        };
        let mut row = notes;
        if matches!(
            piece,
            Piece::CrashLeft | Piece::CrashRight | Piece::China | Piece::Splash
        ) {
            match rng.random_range(0..4) {
                0 => row["length"] = "until the next".into(),
                1 => row["length"] = "as it rings".into(),
                _ => {}
            }
        }
        if rng.random_ratio(1, 6) {
            row["velocity"] = json!({"floor": 12, "ceiling": 120, "bend": 20});
        }
        pieces.insert(piece.name().to_owned(), row);
    }
    let mut map = json!({"fourlimb_map": 1, "name": "By chance", "channel": rng.random_range(1..=16), "pieces": pieces});
    if rng.random_ratio(1, 3) {
        map["hi_hat"] =
            json!({"controller": 4, "channel": 10, "closed": 127, "open": 0, "lead_ms": 10});
    }
    Ok(NamedMap::parse(&map.to_string())?)
}
